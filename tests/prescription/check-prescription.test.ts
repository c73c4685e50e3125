import {beforeAll, describe, expect, it} from "vitest";
import {multiPolygonToLonLat} from "../../src/geo/frame.ts";
import {geodesicAreaM2} from "../../src/geo/geodesic.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import type {LonLatMultiPolygon} from "../../src/geo/shapes.ts";
import {buildPrescription} from "../../src/prescription/build-prescription.ts";
import {type CheckOptions, checkPrescription} from "../../src/prescription/check-prescription.ts";
import {parseProduct} from "../../src/prescription/parse-product.ts";
import type {Prescription} from "../../src/prescription/prescription.ts";
import type {ReadBackPolygon} from "../../src/prescription/receipt.ts";
import {squareMetres} from "../../src/units/quantity.ts";
import {frame, ringOf, strips} from "./fields.ts";

beforeAll(loadGeos);

function planned(): Prescription {
  const rates: Record<string, number> = {A: 129, B: 62.4, C: 0};
  return buildPrescription({
    strategy: "zone",
    units: strips("AAB", "ACB"),
    recommendations: Object.entries(rates).map(([unit, rateLbPerAcre]) => ({unit, nutrient: "P2O5", rateLbPerAcre})),
    product: parseProduct({analysis: "11-52-0"}),
    nutrient: "P2O5",
    limits: {stepLbPerAcre: 5, minLbPerAcre: 0, maxLbPerAcre: 600, belowMin: "zero", outsideLbPerAcre: 0},
  });
}

/** What a perfect file would hold. */
function written(rx: Prescription): ReadBackPolygon[] {
  return rx.polygons.map(({unit, polygon, rateLbPerAcre}) => ({
    id: unit,
    shape: multiPolygonToLonLat(frame, [polygon]),
    rateLbPerAcre,
  }));
}

const moved = (shape: LonLatMultiPolygon, by: (lon: number, lat: number) => [number, number]): LonLatMultiPolygon =>
  shape.map((polygon) => polygon.map((ring) => ring.map(([lon, lat]) => by(lon, lat))));

const failed = (readBack: readonly ReadBackPolygon[], options: Partial<CheckOptions> = {}) =>
  checkPrescription(planned(), readBack, {frame, ...options}).issues.map((i) =>
    i.code.replace("prescription/readback-", ""),
  );

describe("a receipt", () => {
  it("of a faithful file passes every check and repeats its figures", () => {
    const rx = planned();
    const receipt = checkPrescription(rx, written(rx), {frame, file: "millrace.geojson"});
    expect(receipt.checks.filter((check) => !check.passed)).toEqual([]);
    expect(receipt).toMatchObject({passed: true, issues: [], file: "millrace.geojson", polygons: 3, distinctRates: 3});
    // 3 ac at 250, 2 at 120, 1 at 0 = 990 lb; the frame is true to 1e-6.
    expect(receipt.totalLb).toBeCloseTo(990, 2);
    expect(receipt.acres).toBeCloseTo(6, 4);
    expect([receipt.minLbPerAcre, receipt.maxLbPerAcre]).toEqual([0, 250]);
    expect(receipt.meanLbPerAcre).toBeCloseTo(165, 3);
    expect(receipt.checks.find((check) => check.what === "product")).toMatchObject({
      planned: "990 lb",
      inFile: "990 lb",
    });
  });

  it("does not mind the order when the file keeps ids", () => {
    expect(failed(written(planned()).reverse())).toEqual([]);
  });

  it("goes by order when the file keeps none", () => {
    const bare = written(planned()).map(({shape, rateLbPerAcre}) => ({shape, rateLbPerAcre}));
    expect(failed(bare)).toEqual([]);
    expect(failed([...bare].reverse())).toEqual(["rates", "area"]);
  });

  it("fails on a rate that moved, however little", () => {
    const readBack = written(planned()).map((p) => (p.id === "B" ? {...p, rateLbPerAcre: 120.00001} : p));
    const receipt = checkPrescription(planned(), readBack, {frame});
    expect(receipt.passed).toBe(false);
    expect(receipt.issues.map((i) => i.message)).toEqual([
      "Read back from the file, rates: 1 differ (B); the prescription has 3 rates in lb/ac.",
    ]);
  });

  it("allows what a coarse format must round: 250 lb/ac kept as 28,021 mg/m²", () => {
    // One lb/ac in mg/m²; whole mg/m² are 0.0045 lb/ac off at most.
    const perPound = 453592.37 / 4046.8564224;
    const coarse = written(planned()).map((p) => ({
      ...p,
      rateLbPerAcre: Math.round(p.rateLbPerAcre * perPound) / perPound,
    }));
    expect(Math.round(250 * perPound)).toBe(28021);
    expect(failed(coarse)).toEqual(["rates"]);
    expect(failed(coarse, {rateToleranceLbPerAcre: 0.5 / perPound})).toEqual([]);
  });

  it("allows corners rounded to seven decimals when told so", () => {
    const round = (degrees: number): number => Math.round(degrees * 1e7) / 1e7;
    const coarse = written(planned()).map((p) => ({
      ...p,
      shape: moved(p.shape, (lon, lat) => [round(lon), round(lat)]),
    }));
    // Half of 1e-7 degree of latitude is 5.6 mm, the diagonal at most 8 mm.
    expect(failed(coarse)).toContain("area");
    expect(failed(coarse, {positionToleranceM: 0.008})).toEqual([]);
  });

  it("fails when a polygon is lost, doubled or in two parts", () => {
    const all = written(planned());
    const [a, b, c] = all as [ReadBackPolygon, ReadBackPolygon, ReadBackPolygon];
    expect(failed([a, b])).toEqual(["count", "rates", "area"]);
    expect(failed([a, b, c, b])).toEqual(["count", "total", "overlap"]);
    expect(failed([a, b, {...c, shape: [...c.shape, ...c.shape]}])).toEqual(
      expect.arrayContaining(["area", "parts", "invalid"]),
    );
  });

  it("fails when axes are swapped or the field lies elsewhere", () => {
    const swapped = written(planned()).map((p) => ({...p, shape: moved(p.shape, (lon, lat) => [lat, lon])}));
    expect(failed(swapped)).toContain("place");
    const shifted = written(planned()).map((p) => ({...p, shape: moved(p.shape, (lon, lat) => [lon + 1e-6, lat])}));
    // 1e-6 degree of longitude at 40.55° N is 8.5 cm.
    expect(failed(shifted)).toEqual(["place"]);
  });

  it("fails on ground covered twice", () => {
    const rx = planned();
    const b = rx.polygons.findIndex((p) => p.unit === "B");
    const readBack = written(rx).map((p, i) =>
      i === b ? {...p, shape: multiPolygonToLonLat(frame, [[ringOf(100, 0, 200, 120)]])} : p,
    );
    expect(failed(readBack)).toEqual(expect.arrayContaining(["area", "overlap"]));
  });

  it.each([
    [
      "a position that is not a number",
      [
        [
          [
            [-86.4, 40.55],
            [Number.NaN, 40.55],
            [-86.39, 40.56],
            [-86.4, 40.55],
          ],
        ],
      ],
    ],
    [
      "an open ring",
      [
        [
          [
            [-86.4, 40.55],
            [-86.39, 40.55],
            [-86.39, 40.56],
            [-86.4, 40.56],
          ],
        ],
      ],
    ],
    [
      "a ring of two corners",
      [
        [
          [
            [-86.4, 40.55],
            [-86.39, 40.55],
            [-86.4, 40.55],
          ],
        ],
      ],
    ],
    ["no outline", []],
    [
      "a line that crosses itself",
      [
        [
          [
            [-86.4, 40.55],
            [-86.39, 40.56],
            [-86.39, 40.55],
            [-86.4, 40.56],
            [-86.4, 40.55],
          ],
        ],
      ],
    ],
  ] as [string, LonLatMultiPolygon][])("fails on %s, and reports it instead of stopping", (_, shape) => {
    const readBack = written(planned()).map((p) => (p.id === "C" ? {...p, shape} : p));
    expect(failed(readBack)).toEqual(expect.arrayContaining(["area", "invalid"]));
  });

  it("of an empty file fails without figures", () => {
    const receipt = checkPrescription(planned(), [], {frame});
    expect(receipt).toMatchObject({passed: false, polygons: 0, acres: 0, totalLb: 0, maxLbPerAcre: Number.NaN});
  });

  it("ties out to acres on the ellipsoid", () => {
    const units = strips("AB").map((unit) => ({
      ...unit,
      area: squareMetres(geodesicAreaM2(multiPolygonToLonLat(frame, unit.shape))),
    }));
    const rx = buildPrescription({
      strategy: "grid",
      units,
      recommendations: [{unit: "whole field", nutrient: "K2O", rateLbPerAcre: 60}],
      product: parseProduct({analysis: "0-0-60"}),
      nutrient: "K2O",
      limits: {stepLbPerAcre: 5, minLbPerAcre: 0, maxLbPerAcre: 600, belowMin: "zero", outsideLbPerAcre: 0},
    });
    const receipt = checkPrescription(rx, written(rx), {frame});
    expect(receipt.passed).toBe(true);
    expect(receipt.totalLb / rx.totals.productLb - 1).toBeCloseTo(0, 9);
  });
});
