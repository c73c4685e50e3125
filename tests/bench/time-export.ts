import {nodeSqlite} from "../../src/cli/sqlite-host.ts";
import type {FileSet} from "../../src/formats/file-set.ts";
import type {Feature} from "../../src/geo/features.ts";
import {multiPolygonToLonLat} from "../../src/geo/frame.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import type {Polygon} from "../../src/geo/shapes.ts";
import {inspectFile} from "../../src/pipeline/inspect-file.ts";
import {rateFiles} from "../../src/pipeline/rate-files.ts";
import {buildPrescription} from "../../src/prescription/build-prescription.ts";
import {inspectRates} from "../../src/prescription/inspect-rates.ts";
import {parseProduct} from "../../src/prescription/parse-product.ts";
import type {BuiltPrescription} from "../../src/prescription/prescription.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {fieldOf} from "../sampling/make-field.ts";

const RUNS = 3;
const MOST_EXPORT = 2;
const MOST_INSPECT = 1;

/** A field of square cells of 18 m, and a prescription with a rate for each. */
function cells(cols: number, rows: number) {
  const side = 18;
  const square = (west: number, south: number, east: number, north: number): Polygon => [
    [
      {x: west, y: south},
      {x: east, y: south},
      {x: east, y: north},
      {x: west, y: north},
      {x: west, y: south},
    ],
  ];
  const field = fieldOf([square(0, 0, cols * side, rows * side)], "Cells");
  const units = Array.from({length: cols * rows}, (_, i) => {
    const [col, row] = [i % cols, Math.floor(i / cols)];
    const [x, y] = [col * side, row * side];
    const shape = [square(x, y, x + side, y + side)];
    return {id: `C${String(i + 1).padStart(4, "0")}`, shape, area: squareMetres(side * side)};
  });
  const prescription = buildPrescription({
    strategy: "grid",
    units,
    recommendations: units.map(({id}, i) => ({unit: id, nutrient: "P2O5", rateLbPerAcre: (i * 7) % 100})),
    product: parseProduct({analysis: "11-52-0"}),
    nutrient: "P2O5",
    limits: {stepLbPerAcre: 1, minLbPerAcre: 0, maxLbPerAcre: 600, belowMin: "zero", outsideLbPerAcre: 0},
  });
  return {field, prescription};
}

/** Export to every format with receipts and check of what was written, and a look over 10,000 polygons: processor time. */
export async function timeExport(): Promise<string[]> {
  await loadGeos();
  await nodeSqlite();
  const {field, prescription} = cells(50, 40);
  const exported = await processorTime(async () => {
    const {files} = await rateFiles(field, [prescription], {
      formats: ["geojson", "shapefile", "geopackage", "iso 11783-10"],
      task: {map: "grid 2", cell: metres(9), units: "us", edition: 4},
      sqlite: nodeSqlite,
    });
    const set: FileSet = Object.assign(new Map(files), {sqlite: nodeSqlite});
    for (const name of files.keys()) await inspectFile(set, name);
  });
  const large = featuresOf(cells(100, 100).prescription);
  const looked = await processorTime(async () => {
    if (inspectRates(large).overlaps.length !== 200) throw new Error("overlaps were missed");
  });
  return [
    `Rate files, processor seconds, least of ${RUNS}`,
    line("2,000 polygons to four formats, read back, checked", exported, MOST_EXPORT),
    line("10,000 polygons looked over, 200 of them overlap", looked, MOST_INSPECT),
  ];
}

/** Every fiftieth cell reaches over its eastern neighbour, or beyond the field. */
function featuresOf({polygons}: BuiltPrescription): Feature[] {
  const {frame} = fieldOf([], "Cells");
  return polygons.map(({polygon, rateLbPerAcre}, i) => {
    const reach = i % 50 === 7 ? 4 : 0;
    const west = Math.min(...(polygon[0] ?? []).map(({x}) => x));
    const grown = polygon.map((ring) => ring.map(({x, y}) => ({x: x > west ? x + reach : x, y})));
    return {
      geometry: {type: "Polygon", coordinates: multiPolygonToLonLat(frame, [grown])[0] ?? []},
      properties: {RATE: rateLbPerAcre},
    };
  });
}

/** Least processor time of several runs: what else runs on the machine does not count. */
async function processorTime(work: () => Promise<void>): Promise<number> {
  let seconds = Infinity;
  for (let run = 0; run < RUNS; run++) {
    const before = process.cpuUsage();
    await work();
    const {user, system} = process.cpuUsage(before);
    seconds = Math.min(seconds, (user + system) / 1e6);
  }
  return seconds;
}

function line(what: string, seconds: number, most: number): string {
  return `  ${what.padEnd(52)} ${seconds.toFixed(3)}  ${seconds < most ? "under" : "OVER"} ${most} s`;
}
