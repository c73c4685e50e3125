import {execFileSync, spawnSync} from "node:child_process";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {loadGeos} from "../../src/geo/geos.ts";
import {chainedFaces, joinFaces} from "../../src/geo/label-faces.ts";
import {dissolve, partition} from "../../src/geo/partition.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {softenLines} from "../../src/geo/soften-lines.ts";
import {labelRegions} from "../../src/grid/label-regions.ts";
import {traceArcs} from "../../src/grid/trace-arcs.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {drawZones} from "../../src/zones/draw-zones.ts";
import {systemPython} from "../reference/gdal.ts";
import {box, fieldFrom, randomLayer} from "../zones/fields.ts";

// Labels to simplified polygons, here and by GDAL with GEOS: the same 800 × 800 cells, in CPU time, best of many runs.
// GDAL's polygons keep no common borders once simplified; ours do, and are smoothed as well.

const SIDE = 800;
const BLOCKS = 161;
const RUNS = 20;

export async function timePolygons(): Promise<string> {
  await loadGeos();
  const {field, grid} = fieldFrom(box(0, 0, SIDE, SIDE), 1);
  const labels = blockLabels();
  const outlines = (): (readonly XY[])[] =>
    softenLines(
      traceArcs(grid, labels).map(({points}) => points),
      1,
    );
  // The faces are the same and in the same order, so what each is need be looked up once only.
  const ownLabels = partition(field.outline, outlines()).inside.map(
    ({x, y}) => labels[Math.floor(SIDE - y) * SIDE + Math.floor(x)] as number,
  );
  const lines = best(() => {
    const division = chainedFaces(field.outline, outlines());
    if (!division) throw new Error("these lines are plain");
    return joinFaces(division, ownLabels);
  });
  const byGeos = best(() => dissolve(partition(field.outline, outlines()), ownLabels));
  const zones = best(() => drawZones(field.outline, grid, labels, 0));
  const patches = labelRegions(grid, labels).labels.length;
  const head = `${SIDE} × ${SIDE} labels in ${patches} patches to simplified polygons, CPU time, best of ${RUNS}:`;
  const own = [
    head,
    `  here: lines, faces and parts ${ms(lines)}, with faces by GEOS ${ms(byGeos)}; as zones, with the cells relabelled, ${ms(zones)}`,
  ];
  if (spawnSync(systemPython(), ["-c", "from osgeo import gdal"]).status !== 0) {
    return [...own, "  GDAL for Python not installed"].join("\n");
  }
  const gdal = timeGdal(labels);
  return [
    ...own,
    `  GDAL ${gdal.version}: polygonize ${ms(gdal.polygonize)} and GEOS simplification ${ms(gdal.simplify)} within a process, ${ms(gdal.process)} with its start`,
    `  GDAL's time over ours, its start included: lines ${ratio(gdal.process, lines)}, zones ${ratio(gdal.process, zones)}; within a process: lines ${ratio(gdal.polygonize + gdal.simplify, lines)}`,
  ].join("\n");
}

/** Five classes of a wavy, noisy surface on 161 × 161 blocks, spread over the finer cells. */
function blockLabels(): Uint8Array {
  const {grid} = fieldFrom(box(0, 0, BLOCKS * 5, BLOCKS * 5), 5);
  const {values} = randomLayer(grid, "surface", seededRandom(5, "bench/polygons"), 90, 0.13);
  const sorted = values.slice().sort();
  const limits = [0.2, 0.4, 0.6, 0.8].map((share) => sorted[Math.floor(share * sorted.length)] as number);
  const block = (cell: number): number => Math.floor((cell * BLOCKS) / SIDE);
  return Uint8Array.from({length: SIDE * SIDE}, (_, i) => {
    const value = values[block(Math.floor(i / SIDE)) * BLOCKS + block(i % SIDE)] as number;
    return 1 + limits.filter((limit) => value >= limit).length;
  });
}

function best(work: () => unknown): number {
  let least = Infinity;
  for (let run = 0; run < RUNS; run++) {
    const before = process.cpuUsage();
    work();
    const {user, system} = process.cpuUsage(before);
    least = Math.min(least, (user + system) / 1000);
  }
  return least;
}

interface GdalTimes {
  readonly version: string;
  /** Milliseconds of CPU; `process` is one run with the start of Python and GDAL. */
  readonly polygonize: number;
  readonly simplify: number;
  readonly process: number;
}

function timeGdal(labels: Uint8Array): GdalTimes {
  const folder = mkdtempSync(join(tmpdir(), "bench-"));
  try {
    const [script, data] = [join(folder, "polygons.py"), join(folder, "labels.raw")];
    writeFileSync(data, labels);
    writeFileSync(script, SCRIPT);
    const run = (times: number): GdalTimes =>
      JSON.parse(
        execFileSync(systemPython(), [script, data, String(SIDE), String(times)], {encoding: "utf8"}),
      ) as GdalTimes;
    const starts = Array.from({length: 5}, () => run(1).process);
    return {...run(RUNS), process: Math.min(...starts)};
  } finally {
    rmSync(folder, {recursive: true});
  }
}

/** Process time counts from the start of Python, imports included. */
const SCRIPT = `
import json, sys, time
from osgeo import gdal, ogr
gdal.UseExceptions()
path, side, runs = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
source = gdal.GetDriverByName("MEM").Create("", side, side, 1, gdal.GDT_Byte)
source.SetGeoTransform([0, 1, 0, side, 0, -1])
band = source.GetRasterBand(1)
band.WriteRaster(0, 0, side, side, open(path, "rb").read())
polygonize = simplify = 1e9
for _ in range(runs):
    target = ogr.GetDriverByName("Memory").CreateDataSource("")
    layer = target.CreateLayer("zones", geom_type=ogr.wkbPolygon)
    layer.CreateField(ogr.FieldDefn("zone", ogr.OFTInteger))
    start = time.process_time()
    gdal.Polygonize(band, None, layer, 0)
    polygonize = min(polygonize, time.process_time() - start)
    start = time.process_time()
    shapes = [feature.GetGeometryRef().SimplifyPreserveTopology(1.0) for feature in layer]
    simplify = min(simplify, time.process_time() - start)
print(json.dumps({"version": gdal.__version__, "polygonize": polygonize * 1000, "simplify": simplify * 1000,
                  "process": time.process_time() * 1000}))
`;

const ms = (value: number): string => `${value.toFixed(0)} ms`;
const ratio = (theirs: number, ours: number): string => `${(theirs / ours).toFixed(2)}×`;
