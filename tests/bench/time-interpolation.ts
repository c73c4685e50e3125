import {spawnSync} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {readGeoTiff} from "../../src/formats/read-geotiff.ts";
import {openPlain} from "../../src/formats/read-plain-points.ts";
import {readTable} from "../../src/formats/read-table.ts";
import {writeGeoTiff} from "../../src/formats/write-geotiff.ts";
import {crsFromEpsg} from "../../src/geo/crs.ts";
import {inverseDistanceAt} from "../../src/stats/inverse-distance.ts";
import {krige, type PointValues} from "../../src/stats/kriging.ts";
import {indexPoints} from "../../src/stats/point-index.ts";
import {seededRandom} from "../../src/stats/random.ts";

const RUNS = 5;
const SIDE_M = 805;
const CELL_M = 5;
const CELLS_ACROSS = SIDE_M / CELL_M;
const LOG_RECORDS = 200_000;
const PASSES = 88;
const WITHIN_M = 20;
const MODEL = {shape: "spherical", nugget: 0.05, partialSill: 1, range: 128} as const;

/**
 * Inverse distance of a quarter section's log against gdal_grid, and local kriging against gstat, with the same points,
 * neighbours and cells. Seconds of processor time on both sides, least of several runs; how far results lie apart.
 */
export async function timeInterpolation(): Promise<string> {
  const folder = mkdtempSync(join(tmpdir(), "bench-"));
  try {
    return [await againstGdal(folder), againstGstat(folder, 5000), againstGstat(folder, 400)].join("\n");
  } finally {
    rmSync(folder, {recursive: true});
  }
}

async function againstGdal(folder: string): Promise<string> {
  const version = /GDAL [\d.]+/.exec(spawnSync("gdal_grid", ["--version"], {encoding: "utf8"}).stdout ?? "")?.[0];
  if (version === undefined) return "gdal_grid not installed";
  const from = join(folder, "log.csv");
  const [ours, theirs, small] = ["ours.tif", "theirs.tif", "small.tif"].map((name) => join(folder, name)) as [
    string,
    string,
    string,
  ];
  writeFileSync(from, csv(madeLog()));
  writeFileSync(join(folder, "log.vrt"), VRT);
  const run = (cells: number, to: string): number =>
    leastOf(() =>
      userSeconds(
        `gdal_grid -q -a invdistnn:power=2:radius=${WITHIN_M}:max_points=12 -txe 0 ${SIDE_M} -tye ${SIDE_M} 0 ` +
          `-a_srs EPSG:32616 -outsize ${cells} ${cells} -ot Float64 -l log ${join(folder, "log.vrt")} ${to}`,
      ),
    );
  const whole = run(CELLS_ACROSS, theirs);
  const reading = run(1, small);

  const crs = await crsFromEpsg(32616);
  const write = (values: Float64Array): void => {
    const raster = {name: "ours", crs, west: 0, north: SIDE_M, cellWidth: CELL_M, cellHeight: CELL_M};
    writeFileSync(ours, writeGeoTiff({...raster, cols: CELLS_ACROSS, rows: CELLS_ACROSS, values}));
  };
  const map = (log: PointValues): Float64Array =>
    inverseDistanceAt(indexPoints(log.x, log.y), log.values, centres(), {within: WITHIN_M});
  const log = plainNumbers(new Uint8Array(readFileSync(from)));
  const work = leastOf(() => ownSeconds(() => map(log)));
  const plain = leastOf(() => ownSeconds(() => write(map(plainNumbers(new Uint8Array(readFileSync(from)))))));
  const full = leastOf(() =>
    ownSeconds(() => write(map(columnsOf(readTable(new Uint8Array(readFileSync(from)), from).value.rows)))),
  );

  const {value: other} = await readGeoTiff(new Uint8Array(readFileSync(theirs)), theirs);
  const apart = largest(map(log), other.values);
  return [
    `Inverse distance, ${LOG_RECORDS.toLocaleString("en-US")} points to ${(CELLS_ACROSS ** 2).toLocaleString("en-US")} cells, 12 nearest within ${WITHIN_M} m, processor seconds, least of ${RUNS}:`,
    `  index and map: here ${figure(work)}; gdal_grid (${version}) less its time for one cell ${figure(whole - reading)}; ${times(whole - reading, work)}.`,
    `  file to file, columns of plain numbers: here ${figure(plain)}; gdal_grid ${figure(whole)}; ${times(whole, plain)}.`,
    `  file to file, any table (quotes, encodings, delimiters, repairs): here ${figure(full)}; ${times(whole, full)}.`,
    `  Largest difference ${apart.toExponential(1)} on values of about 10.`,
  ].join("\n");
}

function againstGstat(folder: string, count: number): string {
  const points = madeSamples(count);
  const [from, to] = [join(folder, "points.csv"), join(folder, "kriged.csv")];
  writeFileSync(from, csv(points));
  const script = join(folder, "krige.R");
  writeFileSync(
    script,
    `suppressMessages({library(sp); library(gstat)})
p <- read.csv("${from}"); coordinates(p) <- ~x+y
g <- expand.grid(x = seq(${CELL_M / 2}, by = ${CELL_M}, length.out = ${CELLS_ACROSS}), y = seq(${SIDE_M - CELL_M / 2}, by = -${CELL_M}, length.out = ${CELLS_ACROSS})); coordinates(g) <- ~x+y
m <- vgm(${MODEL.partialSill}, "Sph", ${MODEL.range}, ${MODEL.nugget}); least <- Inf
for (i in 1:${RUNS}) { t <- system.time(k <- krige(z ~ 1, p, g, model = m, nmax = 16, debug.level = 0)); least <- min(least, t[["user.self"]]) }
write.table(format(cbind(k$var1.pred, k$var1.var), digits = 17), "${to}", sep = ",", row.names = FALSE, col.names = FALSE, quote = FALSE)
cat(least, as.character(packageVersion("gstat")))`,
  );
  const ran = spawnSync("Rscript", [script], {encoding: "utf8"});
  if (ran.status !== 0) return "gstat not installed";
  const [seconds = "", version] = ran.stdout.trim().split(" ");
  const theirs = readFileSync(to, "utf8")
    .trim()
    .split("\n")
    .map((line) => line.split(",").map(Number) as [number, number]);
  const cells = centres();
  const work = (): ReturnType<typeof krige> => krige(points, MODEL, cells, {neighbours: 16});
  const own = leastOf(() => ownSeconds(work));
  const {values, variance} = work();
  const apart = [
    largest(
      values,
      theirs.map(([value]) => value),
    ),
    largest(
      variance,
      theirs.map(([, v]) => v),
    ),
  ];
  return [
    `Ordinary kriging with 16 neighbours, ${count.toLocaleString("en-US")} points to ${cells.x.length.toLocaleString("en-US")} cells: here ${figure(own)}; gstat (${version}) in its own process ${figure(Number(seconds))}; ${times(Number(seconds), own)}.`,
    `  Largest difference: values ${apart[0]?.toExponential(1)}, variances ${apart[1]?.toExponential(1)}.`,
  ].join("\n");
}

/** A log of passes 9 m apart, records 0.35 m apart along them. */
function madeLog(): PointValues {
  const random = seededRandom(1, "bench/log");
  const perPass = Math.ceil(LOG_RECORDS / PASSES);
  return pointsBy(LOG_RECORDS, (i) => [
    ((i % PASSES) + 0.5) * (SIDE_M / PASSES) + random.next() - 0.5,
    (Math.floor(i / PASSES) + random.next()) * (SIDE_M / perPass),
  ]);
}

function madeSamples(count: number): PointValues {
  const random = seededRandom(2, "bench/samples");
  return pointsBy(count, () => [random.next() * SIDE_M, random.next() * SIDE_M]);
}

/** Rounded as files hold them, so that both sides see the same numbers. */
function pointsBy(count: number, place: (i: number) => readonly [number, number]): PointValues {
  const random = seededRandom(3, "bench/noise");
  const points = {x: new Float64Array(count), y: new Float64Array(count), values: new Float64Array(count)};
  for (let i = 0; i < count; i++) {
    const [x, y] = place(i);
    points.x[i] = Number(x.toFixed(3));
    points.y[i] = Number(y.toFixed(3));
    points.values[i] = Number((10 + 3 * Math.sin(x / 60) + 2 * Math.cos(y / 80) + random.normal() / 3).toFixed(3));
  }
  return points;
}

function csv({x, y, values}: PointValues): string {
  return `x,y,z\n${Array.from(x, (px, i) => `${px},${y[i]},${values[i]}`).join("\n")}\n`;
}

const VRT =
  '<OGRVRTDataSource><OGRVRTLayer name="log"><SrcDataSource relativeToVRT="1">log.csv</SrcDataSource><GeometryType>wkbPoint</GeometryType><GeometryField encoding="PointFromColumns" x="x" y="y" z="z"/></OGRVRTLayer></OGRVRTDataSource>';

function centres(): {x: Float64Array; y: Float64Array} {
  const at = (of: (i: number) => number): Float64Array =>
    Float64Array.from({length: CELLS_ACROSS ** 2}, (_, i) => of(i));
  return {
    x: at((i) => ((i % CELLS_ACROSS) + 0.5) * CELL_M),
    y: at((i) => SIDE_M - (Math.floor(i / CELLS_ACROSS) + 0.5) * CELL_M),
  };
}

/** The product's own way to a file of numbers. */
function plainNumbers(bytes: Uint8Array): PointValues {
  const [x, y, values] = openPlain(bytes, "log.csv")?.read([0, 1, 2]) ?? [];
  if (!x || !y || !values) throw new Error("the log of the bench is not plain");
  return {x, y, values};
}

function columnsOf(rows: readonly (readonly string[])[]): PointValues {
  const column = (k: number): Float64Array => Float64Array.from(rows, (row) => Number(row[k]));
  return {x: column(0), y: column(1), values: column(2)};
}

function ownSeconds(work: () => unknown): number {
  const before = process.cpuUsage();
  work();
  return process.cpuUsage(before).user / 1e6;
}

/** User time of a command, its start included. */
function userSeconds(command: string): number {
  const timed = spawnSync("bash", ["-c", `TIMEFORMAT=%U; time ${command}`], {encoding: "utf8"});
  if (timed.status !== 0) throw new Error(timed.stderr);
  return Number(timed.stderr.trim().split("\n").at(-1));
}

function leastOf(seconds: () => number): number {
  return Math.min(...Array.from({length: RUNS}, seconds));
}

function largest(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let most = 0;
  for (let i = 0; i < a.length; i++) {
    const apart = Math.abs((a[i] as number) - (b[i] as number));
    if (!(apart <= most)) most = Number.isNaN(apart) ? Infinity : apart;
  }
  return most;
}

const figure = (seconds: number): string => `${seconds.toFixed(3)} s`;
const times = (theirs: number, own: number): string => `${(theirs / own).toFixed(1)} times as fast`;
