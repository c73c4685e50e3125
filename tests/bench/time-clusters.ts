import {execFileSync} from "node:child_process";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {nodeHost} from "../../src/cli/node-host.ts";
import {makeLayers} from "../../src/pipeline/make-layers.ts";
import {readField} from "../../src/pipeline/read-inputs.ts";
import {type Points, sortRows} from "../../src/stats/cluster-points.ts";
import {kMeans} from "../../src/stats/kmeans.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {featureMatrix} from "../../src/zones/feature-matrix.ts";
import {completeRows} from "../../src/zones/theme-components.ts";
import {systemPython} from "../reference/gdal.ts";
import type {BenchField} from "./quarter-section.ts";

const COUNTS = [2, 3, 4, 5, 6, 7, 8];
const RESTARTS = 10;
const RUNS = 5;

/**
 * k-means of 2 to 8 clusters with ten starts each by this program and by scikit-learn on one thread: the same numbers,
 * each timed in its own process by the processor time it took, shortest of five.
 */
export function timeClusters(name: string, points: Points): string {
  let seconds = Infinity;
  let inertias: number[] = [];
  for (let run = 0; run < RUNS; run++) {
    const start = process.cpuUsage();
    const {points: sorted} = sortRows(points);
    inertias = COUNTS.map((count) => kMeans(sorted, count, {seed: 1, restarts: RESTARTS}).inertia);
    const {user, system} = process.cpuUsage(start);
    seconds = Math.min(seconds, (user + system) / 1e6);
  }
  const rows = points.values.length / points.dims;
  const head = `k-means of 2 to 8 clusters, 10 starts, ${name}, ${rows.toLocaleString("en-US")} × ${points.dims}: here ${seconds.toFixed(2)} s`;
  const other = byScikitLearn(points);
  if (!other) return `${head}; scikit-learn not installed`;
  const {version, usual, settled} = other;
  const against = ({seconds: theirs, inertias: sums}: Timed): string => {
    const ratios = inertias.map((inertia, i) => (inertia / (sums[i] as number) - 1) * 1e6);
    const [low, high] = [Math.min(...ratios), Math.max(...ratios)].map((r) => r.toFixed(0));
    return `${theirs.toFixed(2)} s, ratio ${(seconds / theirs).toFixed(2)}, our sums of squares ${low} to ${high} millionths above theirs`;
  };
  return [
    `${head};`,
    `scikit-learn ${version} as it comes ${against(usual)};`,
    `to labels that stand still, as here, ${against(settled)}.`,
  ].join("\n");
}

/** 161 × 161 cells of five layers that hang together: waves of their own, waves in common, and noise. */
export function correlatedField(): Points {
  const side = 161;
  const dims = 5;
  const random = seededRandom(1, "bench/correlated field");
  const waves = Array.from({length: dims + 2}, () =>
    Array.from({length: 12}, () => {
      const heading = 2 * Math.PI * random.next();
      const rate = (2 * Math.PI) / (120 * (1 + 4 * random.next()));
      return {
        x: rate * Math.cos(heading),
        y: rate * Math.sin(heading),
        phase: 7 * random.next(),
        height: random.normal(),
      };
    }),
  );
  const height = (set: number, x: number, y: number): number =>
    (waves[set] ?? []).reduce((sum, w) => sum + w.height * Math.sin(w.x * x + w.y * y + w.phase), 0);
  const values = new Float64Array(side * side * dims);
  for (let i = 0; i < side * side; i++) {
    const [x, y] = [5 * (i % side), 5 * Math.floor(i / side)];
    const common = [0.6 * height(dims, x, y), 0.4 * height(dims + 1, x, y)] as const;
    for (let c = 0; c < dims; c++) {
      const tilt = c % 2 === 0 ? -1 : 1;
      values[i * dims + c] = 0.7 * height(c, x, y) + tilt * common[0] + common[1] + 0.6 * random.normal();
    }
  }
  return standardised({values, dims});
}

/** What zones of a field are clustered from. */
export async function matrixOf({job, files}: BenchField): Promise<Points> {
  const host = nodeHost(true);
  const field = await readField(job, files, []);
  const {grid, features} = await makeLayers(job, field, files, host, []);
  host.done();
  const matrix = featureMatrix(field, grid, features);
  const {dims} = matrix;
  const rows = completeRows(matrix);
  const values = new Float64Array(rows.length * dims);
  rows.forEach((row, i) => {
    values.set(matrix.values.subarray(row * dims, (row + 1) * dims), i * dims);
  });
  return {values, dims};
}

interface Timed {
  readonly seconds: number;
  readonly inertias: readonly number[];
}

function byScikitLearn({values, dims}: Points): {version: string; usual: Timed; settled: Timed} | undefined {
  const folder = mkdtempSync(join(tmpdir(), "bench-"));
  try {
    const [script, data] = [join(folder, "time.py"), join(folder, "points.bin")];
    writeFileSync(data, new Uint8Array(values.buffer, values.byteOffset, values.byteLength));
    writeFileSync(
      script,
      `
import json, sys, time
import numpy as np
try:
    import sklearn
    from sklearn.cluster import KMeans
except ImportError:
    print("null"); sys.exit()
X = np.fromfile(sys.argv[1]).reshape(-1, ${dims})
def timed(tol):
    best = float("inf")
    for run in range(${RUNS}):
        start = time.process_time()
        inertias = [KMeans(k, n_init=${RESTARTS}, random_state=1, tol=tol, max_iter=300).fit(X).inertia_ for k in (${COUNTS.join(",")})]
        best = min(best, time.process_time() - start)
    return {"seconds": best, "inertias": inertias}
print(json.dumps({"version": sklearn.__version__, "usual": timed(1e-4), "settled": timed(0)}))
`,
    );
    // Left to itself OpenBLAS takes the kernel that suits the machine.
    const env = {...process.env, OMP_NUM_THREADS: "1", OPENBLAS_NUM_THREADS: "1", OPENBLAS_CORETYPE: undefined};
    return (
      JSON.parse(execFileSync(systemPython(), ["-W", "ignore", script, data], {encoding: "utf8", env})) ?? undefined
    );
  } finally {
    rmSync(folder, {recursive: true});
  }
}

function standardised({values, dims}: Points): Points {
  const rows = values.length / dims;
  const out = values.slice();
  for (let c = 0; c < dims; c++) {
    let mean = 0;
    for (let p = c; p < out.length; p += dims) mean += (out[p] as number) / rows;
    let squares = 0;
    for (let p = c; p < out.length; p += dims) squares += ((out[p] as number) - mean) ** 2;
    const sd = Math.sqrt(squares / rows);
    for (let p = c; p < out.length; p += dims) out[p] = ((out[p] as number) - mean) / sd;
  }
  return {values: out, dims};
}
