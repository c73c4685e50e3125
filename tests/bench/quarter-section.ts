import {encodeUtf8} from "../../src/formats/text.ts";
import {writeGeoJson} from "../../src/formats/write-geojson.ts";
import {writeGeoTiff} from "../../src/formats/write-geotiff.ts";
import {crsFromText, transformBetween, WGS84} from "../../src/geo/crs.ts";
import {frameAt, type LocalFrame, toLonLat} from "../../src/geo/frame.ts";
import type {LonLatRing} from "../../src/geo/shapes.ts";
import type {Job} from "../../src/pipeline/job.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {type Random, seededRandom} from "../../src/stats/random.ts";
import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";

// A made-up quarter section, as large as its log files get: nobody's field, the same bytes for the same seed.

const SEED = 160;
/** On the central meridian of UTM zone 16, so that the elevation cells lie square to the field. */
const CENTRE = {lon: -87, lat: 40.5};
const SIDE_M = Math.sqrt(160 * SQUARE_METRES_PER_ACRE);
const RECORDS = 200_000;
const SWATH_M = 9;
/** So many records on so little ground are logged five times a second: 0.36 m apart, at the speed of a combine. */
const INTERVAL_S = 0.2;
const DELAY_S = 12;
const TURN_S = 25;
const TIF_CELLS = 800;
const SEASONS = [
  {year: 2023, crop: "corn", meanTPerHa: 12, moisture: 18},
  {year: 2024, crop: "soybean", meanTPerHa: 3.8, moisture: 12},
  {year: 2025, crop: "corn", meanTPerHa: 11, moisture: 20},
] as const;

export interface BenchField {
  readonly name: string;
  readonly job: Job;
  readonly files: ReadonlyMap<string, Uint8Array>;
  /** Results for units known only once plans are made. */
  readonly labFor?: (plans: readonly SamplingPlan[]) => ReadonlyMap<string, Uint8Array>;
}

export async function quarterSection(): Promise<BenchField> {
  const frame = frameAt(CENTRE.lon, CENTRE.lat);
  const files = new Map([
    ["boundary.geojson", boundary(frame)],
    ["soil.geojson", soilMap(frame)],
    ["elevation.tif", await elevation()],
    ...SEASONS.map((season) => [`yield-${season.year}.csv`, yieldCsv(frame, season)] as const),
  ]);
  return {name: "Quarter section", job: readJob(JSON.stringify(jobText()), "job.json"), files, labFor};
}

/** Between about 0.6 and 1.4: wide hills and hollows, kept through the seasons. */
function goodness(x: number, y: number): number {
  return 1 + 0.25 * Math.sin(x / 110 + 1) * Math.cos(y / 140) + 0.12 * Math.sin((x + 2 * y) / 60);
}

function yieldCsv(frame: LocalFrame, season: (typeof SEASONS)[number]): Uint8Array {
  const random = seededRandom(SEED, `bench/yield ${season.year}`);
  const passes = Math.floor(SIDE_M / SWATH_M);
  const perPass = Math.round(RECORDS / passes);
  const stepM = SIDE_M / perPass;
  const lines = [
    "Longitude,Latitude,Time (s),Flow (lb/s),Distance (ft),Interval (s),Swath (ft),Moisture (%),Speed (mph),Pass,Header",
  ];
  for (let pass = 0; pass < passes; pass++) {
    const x = -SIDE_M / 2 + (pass + 0.5) * SWATH_M;
    const direction = pass % 2 === 0 ? 1 : -1;
    const startS = 28_800 + pass * (perPass * INTERVAL_S + TURN_S);
    for (let i = 0; i < perPass; i++) {
      const y = direction * ((i + 0.5) * stepM - SIDE_M / 2);
      // The sensor weighs what was cut a delay ago.
      const cutY = y - (direction * DELAY_S * stepM) / INTERVAL_S;
      const tPerHa = Math.abs(cutY) > SIDE_M / 2 ? 0 : season.meanTPerHa * goodness(x, cutY) + 0.4 * random.normal();
      const flow = (Math.max(0, tPerHa) * SWATH_M * stepM) / 10 / INTERVAL_S / POUND_KG;
      const line = lineOf(frame, season.moisture, random, {
        x: x + 0.15 * random.normal(),
        y: y + 0.05 * random.normal(),
        timeS: startS + i * INTERVAL_S,
        flow,
        stepM,
        pass,
      });
      lines.push(line);
      if (random.next() < 0.0005) lines.push(line);
    }
  }
  return encodeUtf8(`${lines.join("\n")}\n`);
}

const POUND_KG = 0.45359237;

interface CleanRecord {
  x: number;
  y: number;
  timeS: number;
  flow: number;
  stepM: number;
  pass: number;
}

/** One record with the dirt of real logs: lost and jumping positions, spikes, dropouts, missing moisture. */
function lineOf(frame: LocalFrame, usualMoisture: number, random: Random, record: CleanRecord): string {
  const {x, timeS, stepM, pass} = record;
  const dirt = random.next();
  const jumpM = dirt < 0.0005 ? 40 + 100 * random.next() : 0;
  const [lon, lat] = dirt > 0.9999 ? [0, 0] : toLonLat(frame, {x: x + jumpM, y: record.y});
  const flow = dirt > 0.001 && dirt < 0.002 ? record.flow * 4 : dirt > 0.002 && dirt < 0.0025 ? 0 : record.flow;
  const speedM = stepM * (1 + 0.03 * random.normal());
  const moisture = dirt > 0.003 && dirt < 0.006 ? "" : (usualMoisture + 0.5 * random.normal()).toFixed(1);
  return [
    lon.toFixed(7),
    lat.toFixed(7),
    timeS.toFixed(1),
    flow.toFixed(2),
    (speedM / METRES_PER_FOOT).toFixed(3),
    INTERVAL_S,
    (SWATH_M / METRES_PER_FOOT).toFixed(2),
    moisture,
    ((speedM / INTERVAL_S) * 2.2369363).toFixed(2),
    pass + 1,
    "down",
  ].join(",");
}

function boundary(frame: LocalFrame): Uint8Array {
  const half = SIDE_M / 2;
  return polygons("boundary", [{ring: rectangle(frame, -half, -half, half, half), properties: {}}]);
}

/** Four columns by two rows, past the field on every side. */
function soilMap(frame: LocalFrame): Uint8Array {
  const half = SIDE_M / 2 + 50;
  const features = Array.from({length: 8}, (_, i) => {
    const west = -half + ((i % 4) * half) / 2;
    const south = i < 4 ? -half : 0;
    return {
      ring: rectangle(frame, west, south, west + half / 2, south + half),
      properties: {unit: `S${(i % 5) + 1}`, om_pct: 1.8 + 0.4 * (i % 5), clay_pct: 16 + 3 * (i % 5)},
    };
  });
  return polygons("soil", features);
}

function polygons(name: string, parts: {ring: LonLatRing; properties: Record<string, string | number>}[]): Uint8Array {
  const features = parts.map(({ring, properties}) => ({
    geometry: {type: "Polygon" as const, coordinates: [ring]},
    properties,
  }));
  return writeGeoJson({name, features});
}

function rectangle(frame: LocalFrame, west: number, south: number, east: number, north: number): LonLatRing {
  const corners = [
    [west, south],
    [east, south],
    [east, north],
    [west, north],
    [west, south],
  ] as const;
  return corners.map(([x, y]) => toLonLat(frame, {x, y}));
}

/** Metre cells in UTM zone 16 north. */
async function elevation(): Promise<Uint8Array> {
  const crs = await crsFromText("EPSG:26916");
  const {forward} = transformBetween(WGS84.definition, crs.definition);
  const [easting, northing] = forward(CENTRE.lon, CENTRE.lat);
  const random = seededRandom(SEED, "bench/elevation");
  const values = Float64Array.from({length: TIF_CELLS ** 2}, (_, i) => {
    const x = (i % TIF_CELLS) - TIF_CELLS / 2;
    const y = TIF_CELLS / 2 - Math.floor(i / TIF_CELLS);
    return 210 + 8 * goodness(x, y) + x / 150 + 0.03 * random.normal();
  });
  return writeGeoTiff({
    name: "elevation.tif",
    crs,
    west: easting - TIF_CELLS / 2,
    north: northing + TIF_CELLS / 2,
    cellWidth: 1,
    cellHeight: 1,
    cols: TIF_CELLS,
    rows: TIF_CELLS,
    values,
  });
}

function labFor(plans: readonly SamplingPlan[]): ReadonlyMap<string, Uint8Array> {
  const random = seededRandom(SEED, "bench/lab");
  const rows = plans.flatMap(({units}) =>
    units.map(({id}) => {
      const p = 12 + 30 * random.next();
      const k = 90 + 90 * random.next();
      return [id, p.toFixed(0), k.toFixed(0), "6.3", (10 + 8 * random.next()).toFixed(1)].join(",");
    }),
  );
  return new Map([["lab.csv", encodeUtf8(`${["Sample,P,K,pH,CEC", ...rows].join("\n")}\n`)]]);
}

function jobText(): object {
  return {
    seed: SEED,
    field: {name: "Quarter section", prefix: "QS", boundary: "boundary.geojson", statedArea: "160 ac"},
    layers: {
      yield: SEASONS.map(({year, crop}) => ({
        file: `yield-${year}.csv`,
        crop,
        season: year,
        delay: "estimate",
        columns: {
          x: "Longitude",
          y: "Latitude",
          time: "Time (s)",
          flow: "Flow (lb/s)",
          distance: "Distance (ft)",
          interval: "Interval (s)",
          swath: "Swath (ft)",
          moisture: "Moisture (%)",
          speed: "Speed (mph)",
          header: "Header",
          pass: "Pass",
        },
      })),
      soilMap: {
        file: "soil.geojson",
        class: "unit",
        numeric: [
          {column: "om_pct", label: "Organic matter", unit: "%"},
          {column: "clay_pct", label: "Clay", unit: "%"},
        ],
      },
      elevation: {file: "elevation.tif", unit: "m"},
    },
    lab: {
      files: [
        {
          file: "lab.csv",
          sampleId: "Sample",
          analytes: [
            {analyte: "P", column: "P", unit: "ppm", method: "mehlich-3 icp"},
            {analyte: "K", column: "K", unit: "ppm", method: "mehlich-3 icp"},
            {analyte: "pH", column: "pH", unit: "pH", method: "water 1:1"},
            {analyte: "CEC", column: "CEC", unit: "meq/100 g", method: "sum of cations"},
          ],
        },
      ],
    },
    rates: {
      guide: "tri-state-2020",
      crops: [
        {crop: "corn", yieldGoal: "195 bu/ac"},
        {crop: "soybean", yieldGoal: "58 bu/ac"},
      ],
    },
    products: [
      {analysis: "11-52-0", nutrient: "P2O5", price: "760 $/ton"},
      {analysis: "0-0-60", nutrient: "K2O", price: "440 $/ton"},
    ],
    machine: {step: "5 lb/ac", min: "50 lb/ac", max: "450 lb/ac"},
  };
}
