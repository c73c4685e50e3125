import {beforeAll, describe, expect, it} from "vitest";
import {nodeSqlite} from "../../src/cli/sqlite-host.ts";
import {readGeoPackage} from "../../src/formats/geopackage/read-geopackage.ts";
import {lbPerAcreOf} from "../../src/formats/iso11783/plan-task.ts";
import {readTaskData} from "../../src/formats/iso11783/read-task-data.ts";
import type {ReadTask} from "../../src/formats/iso11783/task-data.ts";
import {readGeoJson} from "../../src/formats/read-geojson.ts";
import {readShapefile} from "../../src/formats/read-shapefile.ts";
import {unzip} from "../../src/formats/zip.ts";
import type {Feature} from "../../src/geo/features.ts";
import type {Field} from "../../src/geo/field.ts";
import {multiPolygonToPlane, toPlane} from "../../src/geo/frame.ts";
import {geodesicAreaM2} from "../../src/geo/geodesic.ts";
import {coverageIsValid, loadGeos} from "../../src/geo/geos.ts";
import {areaM2, boxOf, contains, distanceToEdgeM, perimeterM} from "../../src/geo/measure.ts";
import {dissolve, partition} from "../../src/geo/partition.ts";
import type {LonLatMultiPolygon, XY} from "../../src/geo/shapes.ts";
import {type RateFileOptions, rateFiles} from "../../src/pipeline/rate-files.ts";
import {rateColumn} from "../../src/pipeline/to-features.ts";
import {buildPrescription} from "../../src/prescription/build-prescription.ts";
import {parseProduct} from "../../src/prescription/parse-product.ts";
import type {BuiltPrescription} from "../../src/prescription/prescription.ts";
import {type Random, seededRandom} from "../../src/stats/random.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {fieldOf} from "../sampling/make-field.ts";
import {randomOutline} from "./random-outline.ts";

// Random prescriptions on random fields, out through every format and back in through its reader.

/** A thousand with the reference suite, else as many as a coffee break of a machine allows. */
const COUNT = process.env.LOAMWRIGHT_REFERENCE ? 1000 : 200;
const PER_TEST = 50;
/** Nine decimals of a degree move a corner by up to 0.08 mm. */
const CORNER_M = 1e-4;
/** Rounding in the sums behind a geodesic area. */
const NOISE_M2 = 1e-3;

beforeAll(loadGeos);

const PRODUCTS = [
  parseProduct({analysis: "11-52-0"}),
  parseProduct({analysis: "0-0-60"}),
  {...parseProduct({analysis: "10-34-0"}), lbPerGallon: 11.65},
];
const NUTRIENTS = ["P2O5", "K2O", "P2O5"] as const;

interface Case {
  readonly field: Field;
  readonly prescriptions: readonly BuiltPrescription[];
  readonly task: NonNullable<RateFileOptions["task"]>;
}

function randomCase(seed: number): Case {
  const random = seededRandom(seed, "round trip");
  const outline = randomOutline(random);
  const field = fieldOf(outline, `Field ${seed}`);
  const parts = randomParts(random, field);
  const limits = {
    stepLbPerAcre: [0.01, 0.25, 1, 5][random.integer(4)] as number,
    minLbPerAcre: random.next() < 0.5 ? 0 : 40,
    maxLbPerAcre: 600,
    belowMin: random.next() < 0.5 ? ("zero" as const) : ("minimum" as const),
    outsideLbPerAcre: random.next() < 0.5 ? 0 : random.integer(100),
  };
  const units = parts.map((shape, i) => ({
    id: `U${String(i + 1).padStart(2, "0")}`,
    shape,
    area: squareMetres(areaM2(shape)),
  }));
  const prescriptions = PRODUCTS.slice(0, 1 + random.integer(3)).map((product, p) =>
    buildPrescription({
      strategy: "zone",
      units,
      recommendations: units.map(({id}) => ({
        unit: id,
        nutrient: NUTRIENTS[p] as "P2O5",
        rateLbPerAcre: random.next() < 0.1 ? 0 : 200 * random.next(),
      })),
      product,
      nutrient: NUTRIENTS[p] as "P2O5",
      limits,
    }),
  );
  const map = ([undefined, undefined, "grid 1", "grid 2"] as const)[random.integer(4)];
  const task = {
    ...(map && {map}),
    cell: metres(4 + 12 * random.next()),
    units: random.next() < 0.5 ? ("us" as const) : ("metric" as const),
    edition: random.next() < 0.5 ? (3 as const) : (4 as const),
  };
  return {field, prescriptions, task};
}

/** The field cut by random lines, pieces put together at random. */
function randomParts(random: Random, {outline}: Field) {
  const box = boxOf(outline);
  const at = (): XY => ({
    x: box.west + (box.east - box.west) * (1.4 * random.next() - 0.2),
    y: box.south + (box.north - box.south) * (1.4 * random.next() - 0.2),
  });
  const cuts = Array.from({length: 1 + random.integer(8)}, () => [at(), at(), at()]);
  const division = partition(outline, cuts);
  const labels = division.faces.map(() => random.integer(1 + division.faces.length));
  return dissolve(division, labels).map(({shape}) => shape);
}

interface Found {
  readonly id?: unknown;
  readonly shape: LonLatMultiPolygon;
  readonly rates: readonly number[];
}

const asFound = (features: readonly Feature[], prescriptions: readonly BuiltPrescription[]): Found[] =>
  features.map(({geometry, properties}) => ({
    id: properties.UNIT,
    shape: geometry.type === "Polygon" ? [geometry.coordinates] : (geometry.coordinates as LonLatMultiPolygon),
    rates: prescriptions.map(({product}) => properties[rateColumn(product.code)] as number),
  }));

/** Every polygon and rate; the area of each and of all; the mass; that they still tile the field. */
function expectSame(found: readonly Found[], {field, prescriptions}: Case, rateSlack: readonly number[]): void {
  const {polygons} = prescriptions[0] as BuiltPrescription;
  expect(found).toHaveLength(polygons.length);
  let [area, planned] = [0, 0];
  found.forEach(({shape}, i) => {
    const wanted = polygons[i] as (typeof polygons)[number];
    const mine = geodesicAreaM2(shape);
    const moved = CORNER_M * perimeterM([wanted.polygon]) + NOISE_M2;
    expect(Math.abs(mine - wanted.area)).toBeLessThanOrEqual(1e-6 * wanted.area + moved);
    area += mine;
    planned += wanted.area;
  });
  // Corners moved along a common border give to the one what they take from the other.
  // In fields of less than about two acres the outline's own rounding shows, an eighth of it since moves cancel out.
  const outline = (CORNER_M / 8) * perimeterM(field.outline);
  expect(Math.abs(area - planned)).toBeLessThanOrEqual(Math.max(1e-6 * planned, outline));
  prescriptions.forEach(({polygons: decided, totals}, p) => {
    const slack = rateSlack[p] as number;
    let mass = 0;
    decided.forEach(({rateLbPerAcre}, i) => {
      const {rates, shape} = found[i] as Found;
      expect(Math.abs((rates[p] as number) - rateLbPerAcre)).toBeLessThanOrEqual(slack);
      mass += (rates[p] as number) * (geodesicAreaM2(shape) / SQUARE_METRES_PER_ACRE);
    });
    // 0.01 %, or what a format's step can make of very small rates.
    const most = Math.max(1e-4 * totals.productLb, (slack * area) / SQUARE_METRES_PER_ACRE);
    expect(Math.abs(mass - totals.productLb)).toBeLessThanOrEqual(most);
  });
  const parts = found.flatMap(({shape}) => multiPolygonToPlane(field.frame, shape));
  expect(coverageIsValid(parts, 0.001)).toBe(true);
}

/** Half a step of the format: 1 mg/m² is 1/112.085 lb/ac; 0.01 mm³/m² of a fluid times its weight. */
const steps = (prescriptions: readonly BuiltPrescription[]): number[] =>
  prescriptions.map(({product}) =>
    product.lbPerGallon === undefined
      ? 0.5 / 112.0851156194 + 1e-9
      : (0.5 / 93_539.56228956) * product.lbPerGallon + 1e-9,
  );

/** Cells whose corners and centre lie in one polygon, at least a cell from its edge. */
function expectCells(task: ReadTask, {field, prescriptions}: Case): number {
  const {grid} = task;
  if (!grid) throw new Error("no grid");
  const {polygons} = prescriptions[0] as BuiltPrescription;
  const slack = steps(prescriptions);
  const {raster} = grid.layers[0] as (typeof grid.layers)[number];
  const away = Math.hypot(raster.cellHeight, raster.cellWidth) * 111_320;
  let compared = 0;
  const random = seededRandom(1, "cells");
  for (let n = 0; n < 200; n++) {
    const [col, row] = [random.integer(grid.cols), random.integer(grid.rows)];
    const at = toPlane(field.frame, [
      raster.west + (col + 0.5) * raster.cellWidth,
      raster.north - (row + 0.5) * raster.cellHeight,
    ]);
    const i = polygons.findIndex(({polygon}) => contains([polygon], at.x, at.y));
    const polygon = polygons[i]?.polygon;
    if (!polygon || distanceToEdgeM([polygon], at) < away) continue;
    compared++;
    prescriptions.forEach(({polygons: decided, product}, p) => {
      const value = grid.layers[p]?.raster.values[row * grid.cols + col] as number;
      const wanted = (decided[i] as (typeof decided)[number]).rateLbPerAcre;
      expect(Math.abs(lbPerAcreOf(product, value) - wanted)).toBeLessThanOrEqual(slack[p] as number);
    });
  }
  return compared;
}

let cells = 0;

async function roundTrip(seed: number): Promise<void> {
  const made = randomCase(seed);
  const {field, prescriptions, task} = made;
  const {files, receipts} = await rateFiles(field, prescriptions, {
    formats: ["geojson", "shapefile", "geopackage", "iso 11783-10"],
    task,
    sqlite: nodeSqlite,
  });
  expect(receipts).toHaveLength(4 * prescriptions.length);
  expect(receipts.every(({passed}) => passed)).toBe(true);
  const bytes = (name: string): Uint8Array => files.get(name) as Uint8Array;
  const exact = prescriptions.map(() => 1e-9);
  const json = await readGeoJson(bytes("rates-zone.geojson"), "a.geojson");
  expectSame(asFound(json.value.features, prescriptions), made, exact);
  const shp = readShapefile(new Map([["a.zip", bytes("rates-zone.zip")]]), "a.zip");
  expectSame(asFound(shp.value.features, prescriptions), made, exact);
  const gpkg = await readGeoPackage(await nodeSqlite(), bytes("rates-zone.gpkg"), "a.gpkg");
  expectSame(asFound(gpkg.value.features, prescriptions), made, exact);
  const [read] = readTaskData(unzip(bytes("taskdata-zone.zip"), "a.zip")).value.tasks;
  if (task.map === undefined) {
    const zones = (read?.zones ?? []).filter(({shape}) => shape.length > 0);
    const found = zones.map(({shape, values}) => ({
      shape,
      rates: prescriptions.map(({product}, p) => lbPerAcreOf(product, values[p]?.value ?? Number.NaN)),
    }));
    expectSame(found, made, steps(prescriptions));
  } else {
    cells += expectCells(read as ReadTask, made);
  }
}

describe(`${COUNT} random prescriptions in four formats lose no rate, no polygon and no ground`, () => {
  for (let first = 1; first <= COUNT; first += PER_TEST) {
    it(`numbers ${first} to ${first + PER_TEST - 1}`, async () => {
      for (let seed = first; seed < first + PER_TEST; seed++) {
        try {
          await roundTrip(seed);
        } catch (error) {
          throw new Error(`prescription ${seed}: ${(error as Error).message}`, {cause: error});
        }
      }
    }, 120_000);
  }

  it("and cells enough were compared", () => expect(cells).toBeGreaterThan(5 * COUNT));
});
