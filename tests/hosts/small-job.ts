import {mkdirSync, writeFileSync} from "node:fs";
import {dirname, join} from "node:path";
import {writeGeoTiff} from "../../src/formats/write-geotiff.ts";
import {writeShapefile} from "../../src/formats/write-shapefile.ts";
import {crsFromText} from "../../src/geo/crs.ts";
import type {LonLatRing} from "../../src/geo/shapes.ts";

// A field of some 5 acres with everything a job can name, small enough to run in a blink.

export const [WEST, SOUTH, EAST, NORTH] = [-86.4, 40.55, -86.398, 40.5512] as const;

export const RING: LonLatRing = [
  [WEST, SOUTH],
  [EAST, SOUTH],
  [EAST, NORTH],
  [WEST, NORTH],
  [WEST, SOUTH],
];

/** A setting of a job: deep enough for tests to change anything. */
// biome-ignore lint/suspicious/noExplicitAny: tests change jobs into what the schema refuses
export type LooseJob = any;

export type Files = Record<string, string | Uint8Array>;

export const polygonJson = (rings: unknown, properties: object = {}): string =>
  JSON.stringify({
    type: "FeatureCollection",
    features: [{type: "Feature", properties, geometry: {type: "Polygon", coordinates: rings}}],
  });

export function smallJob(): LooseJob {
  return {
    field: {name: "Wren Patch", prefix: "WP", boundary: "boundary.geojson"},
    strategies: ["whole-field", "grid"],
    layers: {cellSize: "10 m"},
    sampling: {grid: {cellArea: "2.5 ac"}},
    lab: {
      files: [
        {
          file: "lab.csv",
          sampleId: "Sample",
          analytes: [
            {analyte: "P", column: "P", unit: "ppm", method: "mehlich-3 icp"},
            {analyte: "K", column: "K", unit: "ppm", method: "mehlich-3 icp"},
            {analyte: "CEC", column: "CEC", unit: "meq/100 g", method: "sum of cations"},
          ],
        },
      ],
    },
    rates: {crops: [{crop: "corn", yieldGoal: "180 bu/ac"}]},
    products: [
      {analysis: "11-52-0", nutrient: "P2O5", price: "760 $/ton"},
      {analysis: "0-0-60", nutrient: "K2O", price: "440 $/ton"},
    ],
  };
}

/** Lab results for the given sample ids. */
export const labCsv = (ids: readonly string[]): string =>
  ["Sample,P,K,CEC", ...ids.map((id, i) => `${id},${18 + 3 * i},${110 + 10 * i},${12 + i}`)].join("\n");

export const YIELD = {
  file: "yield.csv",
  crop: "corn",
  season: 2024,
  columns: {
    x: "Longitude",
    y: "Latitude",
    time: "Time (s)",
    flow: "Flow (lb/s)",
    distance: "Distance (ft)",
    interval: "Interval (s)",
    swath: "Swath (ft)",
    moisture: "Moisture (%)",
    header: "Header",
  },
};

/** Passes to and fro over the field, a record each second; `east` moves them away. */
export function yieldCsv(east = 0, header: (row: number) => string = () => "down"): string {
  const lines = ["Longitude,Latitude,Time (s),Flow (lb/s),Distance (ft),Interval (s),Swath (ft),Moisture (%),Header"];
  let time = 40_000;
  for (let pass = 0; pass < 14; pass++) {
    const lat = SOUTH + 0.00005 + pass * 0.000082;
    for (let i = 0; i < 80; i++) {
      const along = pass % 2 === 0 ? i : 79 - i;
      const lon = WEST + 0.00005 + along * 0.000024 + east;
      const flow = 22 + 3 * Math.sin(along / 9) + (pass % 3) + (i % 5) / 5;
      lines.push([lon.toFixed(7), lat.toFixed(7), time++, flow.toFixed(2), 6.66, 1, 30, 17.5, header(i)].join(","));
    }
    time += 20;
  }
  return lines.join("\n");
}

/** Heights on a slope, in UTM 16 N or wherever `shift` metres put them. */
export async function heights(shift = 0): Promise<Uint8Array> {
  const crs = await crsFromText("EPSG:26916");
  const [cols, rows] = [130, 130];
  return writeGeoTiff({
    name: "heights",
    crs,
    west: 550_480 + shift,
    north: 4_489_430,
    cellWidth: 5,
    cellHeight: 5,
    cols,
    rows,
    values: Float64Array.from({length: cols * rows}, (_, i) => 220 + (i % cols) / 10 + Math.floor(i / cols) / 30),
  });
}

/** The boundary as the members of a loose shapefile. */
export function boundaryShapefile(): Map<string, Uint8Array> {
  const feature = {geometry: {type: "Polygon" as const, coordinates: [RING]}, properties: {NAME: "patch"}};
  const written = writeShapefile({name: "boundary", features: [feature]}, [{name: "NAME", type: "C", width: 10}]);
  return new Map(written.value.members);
}

/** Writes a job and its files; returns the job's path. */
export function layOut(folder: string, job: unknown, files: Files): string {
  for (const [name, bytes] of Object.entries(files)) {
    mkdirSync(dirname(join(folder, name)), {recursive: true});
    writeFileSync(join(folder, name), bytes);
  }
  const path = join(folder, "job.json");
  writeFileSync(path, typeof job === "string" ? job : JSON.stringify(job));
  return path;
}
