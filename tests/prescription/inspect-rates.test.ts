import {beforeAll, describe, expect, it} from "vitest";
import type {Feature, Properties} from "../../src/geo/features.ts";
import {makeField} from "../../src/geo/field.ts";
import {multiPolygonToLonLat} from "../../src/geo/frame.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import type {LonLat, MultiPolygon} from "../../src/geo/shapes.ts";
import {guessRateUnit} from "../../src/prescription/guess-rate-unit.ts";
import {inspectRates} from "../../src/prescription/inspect-rates.ts";
import {unitOfName} from "../../src/prescription/rate-columns.ts";
import {ACRE_SIDE_M, frame, ringOf, strips} from "./fields.ts";

beforeAll(loadGeos);

/** One lb/ac in mg/m²: 0.45359237 kg over 4046.8564224 m². */
const MG_PER_M2 = 453592.37 / 4046.8564224;

function feature(shape: MultiPolygon, properties: Properties): Feature {
  const coordinates = multiPolygonToLonLat(frame, shape);
  return coordinates.length === 1
    ? {geometry: {type: "Polygon", coordinates: coordinates[0] as never}, properties}
    : {geometry: {type: "MultiPolygon", coordinates}, properties};
}

/** Units A, B, C … of a small field with the given column values. */
function file(name: string, ...values: (number | string | null)[]): Feature[] {
  return strips("AABC").map((unit, i) => feature(unit.shape, {[name]: values[i] ?? null}));
}

const codes = (
  features: readonly Feature[],
  ...more: Parameters<typeof inspectRates> extends [unknown, ...infer R] ? R : never
) => inspectRates(features, ...more).issues.map((i) => i.code);

describe("what a rate file holds", () => {
  it("two acres at 250, one at 120, one at 0: mean 155 by area, 620 lb", () => {
    const result = inspectRates(file("RATE", 250, 120, 0));
    expect(result.issues).toEqual([]);
    expect(result.polygons).toBe(3);
    expect(result.acres).toBeCloseTo(4, 4); // the frame is true to 1e-6
    expect(result.columns).toMatchObject([
      {name: "RATE", count: 3, nulls: 0, distinct: 3, min: 0, max: 250, mayBeRate: true},
    ]);
    expect(result.columns[0]?.mean).toBeCloseTo(155, 6);
    expect(result.columns[0]?.total).toBeCloseTo(620, 2);
  });

  it("reads numbers that came as text, and passes over columns of words", () => {
    const features = strips("AB").map((unit, i) =>
      feature(unit.shape, {rate: i ? "120.5" : "80", product: "11-52-0", flag: true}),
    );
    expect(inspectRates(features).columns.map((c) => [c.name, c.min, c.max])).toEqual([["rate", 80, 120.5]]);
  });

  it("takes ids and sizes for what they are", () => {
    const features = strips("AB").map((unit, i) => feature(unit.shape, {OBJECTID: i + 1, AREA_M2: 4047, MAP: 100 + i}));
    expect(inspectRates(features).columns.map((c) => [c.name, c.mayBeRate])).toEqual([
      ["OBJECTID", false],
      ["AREA_M2", false],
      ["MAP", true],
    ]);
  });

  it("a zone number of 4000 is not taken for a rate in another unit", () => {
    const features = strips("AB").map((unit) => feature(unit.shape, {zone: 4000, rate: 100}));
    expect(inspectRates(features).issues).toEqual([]);
  });
});

describe("rates in a unit that is not lb/ac", () => {
  it("200 lb/ac in mg/m² is 22,417 and is recognised", () => {
    const [issue] = inspectRates(file("rate", 22417, 22417, 22417)).issues;
    expect(issue?.code).toBe("prescription/rate-unit");
    expect(issue?.message).toMatch(
      /^Column rate has a mean of 22,417: too much for lb\/ac; it looks like mg\/m² \(hundredths of kg\/ha\) \(200 lb\/ac\), or /,
    );
  });

  it("whole lb/ac give the unit away", () => {
    const likely = (rates: number[], factor: number, decimals = 0) => {
      const values = rates.map((rate) => Number((rate * factor).toFixed(decimals)));
      return guessRateUnit(values, values.reduce((a, b) => a + b) / values.length)[0]?.unit;
    };
    const rates = [80, 115, 150, 205, 240];
    expect(likely(rates, MG_PER_M2)).toMatch(/^mg\/m²/);
    expect(likely(rates, 100)).toBe("hundredths of lb/ac");
    expect(likely(rates, 640)).toBe("lb per square mile");
    expect(likely(rates, MG_PER_M2 * 10)).toBe("g/ha");
    expect(likely(rates, 1 / 2000, 4)).toBe("ton/ac (2,000 lb)");
    expect(likely(rates, 1 / 43.56, 3)).toBe("lb per 1,000 square feet");
    expect(likely(rates, MG_PER_M2 / 1000, 2)).toBe("g/m²");
  });

  it("lime in tons is among the guesses, and no more than that", () => {
    expect(guessRateUnit([2.24, 4.48, 5.6], 4.1).map((guess) => guess.unit)).toEqual(
      expect.arrayContaining(["ton/ac (2,000 lb)", "t/ha"]),
    );
  });

  it("kg/ha cannot be told from lb/ac, so nothing is said", () => {
    expect(guessRateUnit([90, 168, 269], 170)).toEqual([]);
  });

  it.each([
    ["MAP_LBAC", "lb/ac"],
    ["Rate (lbs/acre)", "lb/ac"],
    ["rate_kg_ha", "kg/ha"],
    ["Lime ton/ac", "ton/ac"],
    ["t/ha", "t/ha"],
    ["UAN gal/ac", "gal/ac"],
    ["L_HA", "L/ha"],
    ["mg/m2", "mg/m²"],
    ["RATE", undefined],
    ["plant_health", undefined],
    ["Totals acre", undefined],
  ])("a heading %s says %s", (name, unit) => expect(unitOfName(name)).toBe(unit));

  it("a unit the format fixes is not guessed at, and its usual sizes are its own", () => {
    const inspect = (value: number, unit: string) =>
      inspectRates(file("rate", value, value, value), {units: new Map([["rate", unit]])}).issues.map((i) => i.message);
    expect(inspect(12, "gal/ac")).toEqual([]);
    expect(inspect(12, "lb/ac")).toEqual([]);
    expect(inspect(900, "gal/ac")).toEqual(["Column rate reaches 900, far above 300 gal/ac."]);
  });

  it("two tons of lime under a heading that says lime are no surprise; under another they are asked about", () => {
    expect(codes(file("LIME_LBAC", 4000, 6000, 0))).toEqual([]);
    expect(codes(file("MAP_LBAC", 4000, 6000, 0))).toEqual(["prescription/rate-unit"]);
    expect(codes(file("LIME_LBAC", 448_000, 672_000, 0))).toEqual(["prescription/rate-unit"]);
  });

  it("a size that fits no unit is still doubted", () => {
    expect(codes(file("rate", 9e8, 9e8, 9e8))).toEqual(["prescription/rate-unit"]);
  });
});

describe("what a spreader would trip over", () => {
  it("missing and negative rates", () => {
    expect(codes(file("rate", 100, null, 100))).toEqual(["prescription/rate-missing"]);
    expect(codes(file("rate", 100, -9999, 100))).toContain("prescription/rate-negative");
  });

  it("no column of numbers at all", () => {
    expect(codes(file("rate", "high", "low", "low"))).toEqual(["prescription/no-rate-column"]);
  });

  it("ground in two records, by how much", () => {
    const a = ACRE_SIDE_M;
    const features = [
      feature([[ringOf(0, 0, a, a)]], {rate: 100}),
      feature([[ringOf(2 * a, 0, 3 * a, a)]], {rate: 120}),
      feature([[ringOf(a / 2, 0, 1.5 * a, a)]], {rate: 140}),
    ];
    const result = inspectRates(features);
    expect(result.overlaps).toEqual([{first: 1, second: 3, acres: expect.closeTo(0.5, 5)}]);
    expect(result.issues[0]?.message).toBe("1 pair of records share ground; the most, 0.50 ac, are 1 and 3.");
  });

  it("crossing outlines, open rings and positions that are no numbers, without stopping", () => {
    const square: LonLat[] = [
      [-86.4, 40.55],
      [-86.39, 40.55],
      [-86.39, 40.56],
      [-86.4, 40.56],
      [-86.4, 40.55],
    ];
    const polygon = (ring: LonLat[]): Feature => ({
      geometry: {type: "Polygon", coordinates: [ring]},
      properties: {rate: 100},
    });
    const [a, b, c, d] = square as [LonLat, LonLat, LonLat, LonLat, LonLat];
    const features = [
      polygon(square),
      polygon([a, c, b, d, a]),
      polygon([a, b, c, d]),
      polygon([a, [Number.NaN, 1], c, a]),
    ];
    const result = inspectRates(features);
    expect(result.invalid).toEqual([2, 3, 4]);
    expect(result.issues.map((i) => i.code)).toEqual(["prescription/polygon-invalid"]);
    expect(result.issues[0]?.message).toBe(
      "Records that are not valid polygons: 2, 3, 4 (self-intersection in the first).",
    );
  });

  it("records in several parts, slivers, pieces below half an acre, other geometry", () => {
    const a = ACRE_SIDE_M;
    const features: Feature[] = [
      feature([[ringOf(0, 0, a, a)], [ringOf(2 * a, 0, 3 * a, a)]], {rate: 100}),
      feature([[ringOf(a, 0, a + 0.1, a)]], {rate: 100}),
      feature([[ringOf(5 * a, 0, 5.4 * a, a)]], {rate: 100}),
      {geometry: {type: "Point", coordinates: [-86.4, 40.55]}, properties: {rate: 100}},
    ];
    expect(codes(features)).toEqual([
      "prescription/other-geometry",
      "prescription/multipart",
      "prescription/slivers",
      "prescription/small-polygons",
    ]);
  });

  it("more polygons than controllers take: 10,201 in a few seconds", () => {
    const features: Feature[] = [];
    for (let row = 0; row < 101; row++) {
      for (let col = 0; col < 101; col++) {
        features.push(
          feature([[ringOf(col * 50, row * 50, col * 50 + 50, row * 50 + 50)]], {rate: (row % 5) * 10 + 50}),
        );
      }
    }
    expect(codes(features)).toEqual(["prescription/many-polygons"]);
  });

  it("points instead of polygons, or metres instead of degrees, are refused", () => {
    const point: Feature = {geometry: {type: "Point", coordinates: [0, 0]}, properties: {}};
    expect(() => inspectRates([point])).toThrow(
      expect.objectContaining({
        code: "prescription/no-polygons",
        message: "Expected polygons with rates, found Point features.",
      }),
    );
    const projected: Feature = {
      geometry: {
        type: "Polygon",
        coordinates: [
          [
            [465120, 4651200],
            [465220, 4651200],
            [465220, 4651300],
            [465120, 4651200],
          ],
        ],
      },
      properties: {rate: 1},
    };
    expect(() => inspectRates([projected])).toThrow(expect.objectContaining({code: "prescription/not-degrees"}));
  });
});

describe("compared with a field", () => {
  const a = ACRE_SIDE_M;
  const fieldOf = (east: number) =>
    makeField("f", "Millrace", multiPolygonToLonLat(frame, [[ringOf(0, 0, east, a)]])).field;

  it("an exact fit has nothing to say", () => {
    const result = inspectRates(file("rate", 250, 120, 90), {field: fieldOf(4 * a)});
    expect(result.issues).toEqual([]);
    expect(result.outsideAcres).toBeCloseTo(0, 5);
  });

  it("overhang and bare ground are measured", () => {
    const over = inspectRates(file("rate", 250, 120, 90), {field: fieldOf(3 * a)});
    expect(over.outsideAcres).toBeCloseTo(1, 5);
    expect(over.issues[0]?.message).toBe("1.00 ac of the polygons lie outside Millrace.");
    const short = inspectRates(file("rate", 250, 120, 90), {field: fieldOf(6 * a)});
    expect(short.uncoveredAcres).toBeCloseTo(2, 5);
    expect(short.issues.map((i) => i.code)).toEqual(["prescription/uncovered"]);
  });

  it("another field's file is told apart", () => {
    const elsewhere = makeField("g", "Kiln Forty", multiPolygonToLonLat(frame, [[ringOf(2000, 0, 2400, 400)]])).field;
    expect(codes(file("rate", 250, 120, 90), {field: elsewhere})).toEqual(["prescription/other-field"]);
  });
});
