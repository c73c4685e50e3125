import {execFileSync, spawnSync} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {readGeoTiff} from "../../src/formats/read-geotiff.ts";
import {systemPython} from "../reference/gdal.ts";

// Slope by Horn, edges too, of one GeoTIFF by this program as built and by GDAL: the same work on both sides, in CPU
// time, which the load of the machine changes least, best of many runs.

const ROOT = new URL("../..", import.meta.url);
const IN_PROCESS = 40;
const PROCESSES = 9;

interface Times {
  /** Milliseconds of CPU. */
  readonly memory: number;
  readonly file: number;
}

/** Times of both and their ratio, and how far the two results lie apart. */
export async function timeSlope(bytes: Uint8Array): Promise<string> {
  // It prints its version and then complains of missing arguments; only the words count.
  const version = /GDAL [\d.]+/.exec(spawnSync("gdaldem", ["--version"], {encoding: "utf8"}).stdout ?? "")?.[0];
  if (version === undefined) return "gdaldem not installed";
  execFileSync("npx", ["tsc", "-p", "src/cli/tsconfig.json"], {cwd: ROOT});
  const folder = mkdtempSync(join(tmpdir(), "bench-"));
  try {
    const file = (name: string): string => join(folder, name);
    const [from, ours, theirs] = [file("elevation.tif"), file("ours.tif"), file("theirs.tif")];
    writeFileSync(from, bytes);
    writeFileSync(file("ours.mjs"), ourScript());
    writeFileSync(file("theirs.py"), THEIR_SCRIPT);
    const own = [file("ours.mjs"), from, ours];
    const other = [file("theirs.py"), from, theirs];
    const mine = timesOf(process.execPath, [...own, String(IN_PROCESS)]) as Times &
      Record<"read" | "slope" | "write", number>;
    const gdal = timesOf(systemPython(), [...other, String(IN_PROCESS)]) as Times;
    const start = cpuOf("node", [process.execPath, "-e", "0"]);
    const fresh = cpuOf("ours", [process.execPath, ...own, "1"]);
    const gdaldem = cpuOf("gdaldem", ["gdaldem", "slope", "-q", "-compute_edges", from, theirs]);
    const {value: raster} = await readGeoTiff(new Uint8Array(readFileSync(ours)), ours);
    return [
      `Slope of ${raster.cols} × ${raster.rows} cells by Horn's weights against ${version}, CPU time, best of ${IN_PROCESS} runs (${PROCESSES} processes):`,
      row("heights in memory to slopes in memory, within a process", mine.memory, gdal.memory),
      row("file to file, within a process", mine.file, gdal.file),
      `    of ours: reading ${ms(mine.read)}, slope ${ms(mine.slope)}, writing ${ms(mine.write)}`,
      row("file to file, each its own process", fresh, gdaldem),
      `    of ours: ${ms(start)} is the bare start of Node`,
      `Largest difference of inner cells: ${(await apart(ours, theirs)).toExponential(1)} degrees (gdaldem works in Float32).`,
    ].join("\n");
  } finally {
    rmSync(folder, {recursive: true});
  }
}

const ms = (value: number): string => `${value.toFixed(1)} ms`;

function row(what: string, mine: number, gdal: number): string {
  const ratio = gdal / mine;
  const words = ratio >= 1 ? `${ratio.toFixed(2)} times as fast` : `${(1 / ratio).toFixed(2)} times as long`;
  return `  ${what}: here ${ms(mine)}, GDAL ${ms(gdal)}: ${words}`;
}

/** Reads, works and writes as a user of the built program would, and prints the shortest CPU times of each part. */
function ourScript(): string {
  const built = (path: string): string => JSON.stringify(new URL(`dist/${path}`, ROOT).href);
  return `
import {readFileSync, writeFileSync} from "node:fs";
import {readGeoTiff} from ${built("formats/read-geotiff.js")};
import {writeGeoTiff} from ${built("formats/write-geotiff.js")};
import {slopeDegrees} from ${built("grid/slope.js")};
const [, , from, to, runs] = process.argv;
const best = {read: Infinity, slope: Infinity, write: Infinity, memory: Infinity, file: Infinity};
const since = (start) => { const {user, system} = process.cpuUsage(start); return (user + system) / 1000; };
for (let run = 0; run < Number(runs); run++) {
  const start = process.cpuUsage();
  const {value: raster} = await readGeoTiff(new Uint8Array(readFileSync(from)), from);
  const read = since(start);
  const values = slopeDegrees(raster.values, raster.cols, raster.cellWidth);
  const slope = since(start) - read;
  writeFileSync(to, writeGeoTiff({...raster, values}));
  const file = since(start);
  const now = {read, slope, write: file - slope - read, memory: slope, file};
  for (const part of Object.keys(best)) best[part] = Math.min(best[part], now[part]);
}
console.log(JSON.stringify(best));
`;
}

const THEIR_SCRIPT = `
import json, sys, time
from osgeo import gdal
gdal.UseExceptions()
source, target, runs = sys.argv[1], sys.argv[2], int(sys.argv[3])
def best(work):
    shortest = float("inf")
    for _ in range(runs):
        start = time.process_time()
        work()
        shortest = min(shortest, (time.process_time() - start) * 1000)
    return shortest
heights = gdal.GetDriverByName("MEM").CreateCopy("", gdal.Open(source))
def memory():
    gdal.DEMProcessing("", heights, "slope", format="MEM", computeEdges=True).FlushCache()
def file():
    gdal.DEMProcessing(target, source, "slope", computeEdges=True).FlushCache()
print(json.dumps({"memory": best(memory), "file": best(file)}))
`;

function timesOf(program: string, args: readonly string[]): unknown {
  return JSON.parse(execFileSync(program, args, {encoding: "utf8"}));
}

/** CPU of a whole process, milliseconds, the least of several. */
function cpuOf(name: string, command: readonly string[]): number {
  let least = Infinity;
  for (let run = 0; run < PROCESSES; run++) {
    const script = 'TIMEFORMAT="%U %S"; time "$@" >/dev/null';
    const {stderr} = spawnSync("bash", ["-c", script, name, ...command], {encoding: "utf8"});
    const seconds = /([\d.]+) ([\d.]+)\s*$/.exec(stderr);
    if (!seconds) throw new Error(`${name} was not timed: ${stderr}`);
    least = Math.min(least, 1000 * (Number(seconds[1]) + Number(seconds[2])));
  }
  return least;
}

async function apart(ours: string, theirs: string): Promise<number> {
  const [{value: a}, {value: b}] = (await Promise.all(
    [ours, theirs].map(async (path) => readGeoTiff(new Uint8Array(readFileSync(path)), path)),
  )) as [Awaited<ReturnType<typeof readGeoTiff>>, Awaited<ReturnType<typeof readGeoTiff>>];
  let most = 0;
  for (let row = 1; row < a.rows - 1; row++) {
    for (let col = 1; col < a.cols - 1; col++) {
      const i = row * a.cols + col;
      most = Math.max(most, Math.abs((a.values[i] as number) - (b.values[i] as number)));
    }
  }
  return most;
}
