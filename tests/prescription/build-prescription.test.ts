import fc from "fast-check";
import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {areaM2} from "../../src/geo/measure.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import {buildPrescription, type PrescriptionInput} from "../../src/prescription/build-prescription.ts";
import {parseProduct} from "../../src/prescription/parse-product.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {squareMetres} from "../../src/units/quantity.ts";
import {ringOf, strips} from "./fields.ts";

beforeAll(loadGeos);

const acres = (areaM2: number): number => areaM2 / SQUARE_METRES_PER_ACRE;
const limits = {stepLbPerAcre: 5, minLbPerAcre: 0, maxLbPerAcre: 600, belowMin: "zero", outsideLbPerAcre: 0} as const;
const phosphate = (rates: Record<string, number>): PrescriptionInput["recommendations"] =>
  Object.entries(rates).map(([unit, rateLbPerAcre]) => ({unit, nutrient: "P2O5", rateLbPerAcre}));

function build(rates: Record<string, number>, more: Partial<PrescriptionInput> = {}) {
  return buildPrescription({
    strategy: "zone",
    units: strips("AAB"),
    recommendations: phosphate(rates),
    product: parseProduct({analysis: "11-52-0"}),
    nutrient: "P2O5",
    limits,
    ...more,
  });
}

describe("rates and totals by hand", () => {
  it("two acres at 250 and one at 120 are 620 lb, 206.7 lb/ac", () => {
    // 129 / 0.52 = 248.08, rounded to 250; 62.4 / 0.52 = 120.
    const rx = build({A: 129, B: 62.4});
    expect(rx.polygons.map((p) => [p.unit, p.rateLbPerAcre])).toEqual([
      ["A", 250],
      ["B", 120],
    ]);
    expect(rx.totals.productLb).toBeCloseTo(620, 9);
    expect(rx.totals.meanLbPerAcre).toBeCloseTo(620 / 3, 9);
    expect(rx.totals.nutrientLb).toEqual({
      N: expect.closeTo(68.2, 9),
      P2O5: expect.closeTo(322.4, 9),
      K2O: 0,
    });
    // Rounding added 2 × (250 − 248.0769) lb.
    expect(rx.shiftedLb).toBeCloseTo(2 * (250 - 129 / 0.52), 9);
    expect(rx.shiftedBy).toEqual({roundingLb: rx.shiftedLb, minimumLb: 0, maximumLb: 0});
  });

  it("63 lb P2O5 an acre as 11-52-0 in steps of a hundredth is 121.15 lb and 13.33 lb of nitrogen", () => {
    const rx = build({A: 63, B: 63}, {limits: {...limits, stepLbPerAcre: 0.01}});
    expect(rx.totals.meanLbPerAcre).toBeCloseTo(121.15, 9);
    expect(rx.totals.nutrientLb.N / 3).toBeCloseTo(13.33, 2);
  });

  it("nutrient lb are not product lb: 100 lb P2O5 goes out as 190 lb of 11-52-0", () => {
    expect(build({A: 100, B: 100}).polygons.map((p) => p.rateLbPerAcre)).toEqual([190, 190]);
  });

  it("sulfur and gallons are counted where the product has them", () => {
    const fluid = build({A: 34, B: 34}, {product: parseProduct({analysis: "10-34-0-2S", lbPerGallon: 11.65})});
    expect(fluid.totals.sulfurLb).toBeCloseTo(6, 9);
    expect(fluid.totals.gallons).toBeCloseTo(300 / 11.65, 9);
  });

  it("one rate for the whole field serves every unit", () => {
    expect(build({"whole field": 52}).polygons.map((p) => p.rateLbPerAcre)).toEqual([100, 100]);
  });

  it("acres are counted by the unit's own area, shared out among its pieces", () => {
    const units = strips("ABA", "ABA", "ABB").map((unit) => ({...unit, area: squareMetres(unit.area * 1.0001)}));
    const rx = build({A: 52, B: 104}, {units});
    expect(rx.polygons.map((p) => [p.unit, acres(p.area).toFixed(6)])).toEqual([
      ["A", "3.000300"],
      ["A-2", "2.000200"],
      ["B", "4.000400"],
    ]);
    expect(rx.totals.productLb).toBeCloseTo((5 * 100 + 4 * 200) * 1.0001, 9);
    expect(rx.unitRates[0]?.polygons).toEqual(["A", "A-2"]);
  });

  it("a second piece never takes another unit's name", () => {
    const units = strips("ABA").map((unit) => (unit.id === "B" ? {...unit, id: "A-2"} : unit));
    const rx = build({A: 52, "A-2": 104}, {units});
    expect(rx.polygons.map((p) => p.unit)).toEqual(["A", "A-3", "A-2"]);
  });
});

describe("limits", () => {
  it("zero is a rate: a spreader's minimum does not turn it into one", () => {
    const rx = build({A: 0, B: 20}, {limits: {...limits, minLbPerAcre: 75, belowMin: "minimum"}});
    expect(rx.polygons.map((p) => p.rateLbPerAcre)).toEqual([0, 75]);
    expect(rx.issues.map((i) => i.code)).toEqual(["prescription/below-minimum"]);
    expect(rx.issues[0]?.message).toBe(
      "1 unit (B) raised to the smallest rate, 75 lb/ac: 37 lb of 11-52-0 over the guide.",
    );
    // 20 / 0.52 = 38.46 rounds to 40, then 75.
    expect(rx.shiftedBy).toEqual({
      roundingLb: expect.closeTo(40 - 20 / 0.52, 9),
      minimumLb: expect.closeTo(35, 9),
      maximumLb: 0,
    });
  });

  it("what stays below the minimum can be left out, and the shortfall is told", () => {
    const rx = build({A: 31.2, B: 0}, {limits: {...limits, minLbPerAcre: 75}});
    expect(rx.polygons.map((p) => p.rateLbPerAcre)).toEqual([0, 0]);
    expect(rx.shiftedLb).toBeCloseTo(-120, 9);
    expect(rx.issues[0]?.message).toMatch(/^1 unit \(A\) set to zero, .* 120 lb of 11-52-0 short of the guide\.$/);
  });

  it("a rate above the maximum is held there, with the unit named and its lb counted", () => {
    const rx = build({A: 129, B: 62.4}, {limits: {...limits, maxLbPerAcre: 240}});
    expect(rx.polygons[0]?.rateLbPerAcre).toBe(240);
    expect(rx.shiftedBy).toMatchObject({maximumLb: expect.closeTo(-20, 9)});
    expect(rx.issues[0]).toMatchObject({
      code: "prescription/above-maximum",
      message: "1 unit (A) held at the largest rate, 240 lb/ac: 16 lb of 11-52-0 short of the guide.",
    });
  });

  it("the working leads from the nutrient to the rate the machine gets", () => {
    const rx = build({A: 129, B: 0}, {limits: {...limits, maxLbPerAcre: 240}});
    expect(rx.unitRates[0]?.working.map((step) => [step.text, Number(step.value.toFixed(2)), step.unit])).toEqual([
      ["11-52-0 for 129 lb P2O5: 129 ÷ 0.52", 248.08, "lb/ac"],
      ["rounded to the nearest 5", 250, "lb/ac"],
      ["held at the largest rate, 240", 240, "lb/ac"],
      ["carries N: 240 × 0.11", 26.4, "lb N/ac"],
    ]);
    expect(rx.unitRates[1]?.working).toHaveLength(1);
  });
});

describe("steps between neighbours", () => {
  it("are counted along common borders only, and the largest is named", () => {
    //  A B     A–B, A–C, B–D, C–D touch; A–D and B–C meet only in a corner.
    //  C D
    const rx = build({A: 0, B: 52, C: 0, D: 156}, {units: strips("AB", "CD"), largeStepLbPerAcre: 150});
    expect(rx.steps).toEqual({
      borders: 4,
      changes: 3,
      large: 2,
      largeStepLbPerAcre: 150,
      largestLbPerAcre: 300,
      largestBetween: ["C", "D"],
    });
    expect(rx.issues.map((i) => i.message)).toContain(
      "The rate changes by more than 150 lb/ac across 2 of 4 borders between neighbours; the largest change, 300 lb/ac, is between C and D.",
    );
  });

  it("one rate everywhere has none", () => {
    expect(build({A: 52, B: 52}).steps).toMatchObject({borders: 1, changes: 0, large: 0, largestLbPerAcre: 0});
  });
});

describe("missing, doubtful and impossible input", () => {
  it("a unit without a recommendation is refused, or set to zero when asked", () => {
    expect(() => build({A: 52})).toThrow(
      expect.objectContaining({code: "prescription/no-rate", message: "B has no recommendation for P2O5."}),
    );
    const rx = build({A: 52}, {missing: "zero"});
    expect(rx.polygons.map((p) => p.rateLbPerAcre)).toEqual([100, 0]);
    expect(rx.issues[0]?.message).toBe("B (1.0 ac) without a recommendation for P2O5: set to zero.");
  });

  it("a field without any recommendation is refused whatever was asked", () => {
    expect(() => build({}, {missing: "zero"})).toThrow(expect.objectContaining({code: "prescription/no-rate"}));
  });

  it("a recommendation for another nutrient is no recommendation", () => {
    const recommendations = [{unit: "whole field", nutrient: "K2O", rateLbPerAcre: 60}] as const;
    expect(() => build({}, {recommendations})).toThrow(expect.objectContaining({code: "prescription/no-rate"}));
  });

  it("a rate for no unit of the plan is passed over with a remark", () => {
    expect(build({A: 52, B: 52, Q: 52}).issues.map((i) => i.code)).toEqual(["prescription/unknown-unit"]);
  });

  it.each([
    ["two rates for one unit", {recommendations: [...phosphate({A: 1, B: 1}), ...phosphate({A: 2})]}, "two-rates"],
    ["whole field and unit rates together", {recommendations: phosphate({"whole field": 1, A: 1})}, "two-rates"],
    ["a negative rate", {recommendations: phosphate({A: -1, B: 1})}, "bad-rate"],
    ["a rate that is no number", {recommendations: phosphate({A: Number.NaN, B: 1})}, "bad-rate"],
    ["a product without the nutrient", {product: parseProduct({analysis: "0-0-60"})}, "product-lacks-nutrient"],
  ] as const)("%s is refused", (_, more, code) => {
    expect(() => build({A: 1, B: 1}, more)).toThrow(expect.objectContaining({code: `prescription/${code}`}));
  });

  it("units that share ground are refused, with how much", () => {
    const square = (id: string, west: number) => ({
      id,
      shape: [[ringOf(west, 0, west + 100, 100)]],
      area: squareMetres(10_000),
    });
    expect(() => build({A: 1, B: 1}, {units: [square("A", 0), square("B", 90)]})).toThrow(
      expect.objectContaining({code: "prescription/units-overlap", message: "A and B share 1000 m² of ground."}),
    );
  });

  it("a unit whose outline crosses itself is refused", () => {
    // A square whose south side dips through its north side and back.
    const [a, b, c, d] = ringOf(0, 0, 100, 100) as [XY, XY, XY, XY, XY];
    const shape: MultiPolygon = [[[a, {x: 50, y: 140}, b, c, d, a]]];
    const units = [{id: "A", shape, area: squareMetres(areaM2(shape))}];
    expect(() => build({A: 1}, {units})).toThrow(
      expect.objectContaining({code: "prescription/unit-invalid", place: {featureId: "A"}}),
    );
  });
});

describe("properties", () => {
  const ids = ["A", "B", "C", "D"];
  const cases = fc.record({
    rows: fc.array(fc.array(fc.constantFrom(...ids), {minLength: 4, maxLength: 4}), {minLength: 2, maxLength: 4}),
    rates: fc.array(fc.oneof(fc.constant(0), fc.double({min: 0, max: 400, noNaN: true})), {minLength: 4, maxLength: 4}),
    step: fc.constantFrom(1, 5, 10),
    min: fc.constantFrom(0, 50, 100),
    max: fc.constantFrom(200, 400),
    belowMin: fc.constantFrom("zero" as const, "minimum" as const),
    analysis: fc.constantFrom("11-52-0", "18-46-0", "9-23-30"),
  });

  it("totals add up, the shift is the difference, limits hold, zero stays zero", () => {
    fc.assert(
      fc.property(cases, ({rows, rates, step, min, max, belowMin, analysis}) => {
        const units = strips(...rows.map((row) => row.join("")));
        const rateOf = new Map(units.map((unit) => [unit.id, rates[ids.indexOf(unit.id)] as number]));
        const product = parseProduct({analysis});
        const rx = build(Object.fromEntries(rateOf), {
          units,
          product,
          limits: {stepLbPerAcre: step, minLbPerAcre: min, maxLbPerAcre: max, belowMin, outsideLbPerAcre: 0},
        });
        // Sums of up to 16 terms of a few hundred: double rounding stays far below a millionth of a pound.
        const near = (value: number) => expect.closeTo(value, 6);
        const total = rx.polygons.reduce((sum, p) => sum + acres(p.area) * p.rateLbPerAcre, 0);
        const asked = units.reduce(
          (sum, unit) => sum + (acres(unit.area) * (rateOf.get(unit.id) as number) * 100) / product.percent.P2O5,
          0,
        );
        expect(rx.totals.productLb).toEqual(near(total));
        expect(rx.totals.meanLbPerAcre * acres(rx.totals.area)).toEqual(near(total));
        expect(rx.shiftedLb).toEqual(near(total - asked));
        for (const nutrient of ["N", "P2O5", "K2O"] as const) {
          expect(rx.totals.nutrientLb[nutrient]).toEqual(near((total * product.percent[nutrient]) / 100));
        }
        expect(acres(rx.totals.area)).toEqual(near(rows.length * 4));
        for (const {unit, nutrientLbPerAcre, rateLbPerAcre} of rx.unitRates) {
          expect(nutrientLbPerAcre).toBe(rateOf.get(unit));
          if (nutrientLbPerAcre === 0) expect(rateLbPerAcre).toBe(0);
          if (rateLbPerAcre > 0) expect(rateLbPerAcre).toBeGreaterThanOrEqual(min);
          expect(rateLbPerAcre).toBeLessThanOrEqual(max);
          expect(rateLbPerAcre % step).toBe(0);
        }
        expect(new Set(rx.polygons.map((p) => p.unit)).size).toBe(rx.polygons.length);
      }),
      {numRuns: 60},
    );
  });

  it("the order of recommendations does not matter and the input stays as it was", () => {
    const recommendations = phosphate({A: 40, B: 90, C: 0});
    const units = strips("AAB", "ACC");
    const before = structuredClone({units, recommendations});
    const forward = build({}, {units, recommendations});
    const backward = build({}, {units, recommendations: [...recommendations].reverse()});
    expect(JSON.stringify(backward)).toBe(JSON.stringify(forward));
    expect({units, recommendations}).toEqual(before);
  });
});
