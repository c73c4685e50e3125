import fc from "fast-check";
import {beforeAll, describe, expect, it} from "vitest";
import {differenceMap} from "../../src/compare/difference-map.ts";
import {OHIO_P_LIMITS, overAndUnder, poundsAbove} from "../../src/compare/over-and-under.ts";
import {judgedGround, layerYardstick, type Yardstick} from "../../src/compare/yardstick.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {areaM2} from "../../src/geo/measure.ts";
import {gridOver} from "../../src/grid/grid.ts";
import type {Prescription} from "../../src/prescription/prescription.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {ACRE_SIDE_M, frame, ringOf, strips} from "../prescription/fields.ts";
import {resultOf} from "./results.ts";

beforeAll(loadGeos);

/** Rates in lb of P2O5; 52 lb are 100 lb of 11-52-0. */
const prescriptionOf = (...args: Parameters<typeof resultOf>): Prescription<"P2O5"> =>
  resultOf(...args).prescriptions?.[0] as Prescription<"P2O5">;

describe("the difference of two strategies", () => {
  const whole = () => prescriptionOf("whole-field", ["AB", "AB"], {"whole field": 52});
  const zones = () => prescriptionOf("zone", ["AB", "AC"], {A: 0, B: 104, C: 52});

  it("by hand: 2 acres 100 lb less, 1 acre 100 lb more, 1 acre alike", () => {
    const map = differenceMap(zones(), whole());
    expect(map.acresLess).toBeCloseTo(2, 6);
    expect(map.acresMore).toBeCloseTo(1, 6);
    expect(map.acresAlike).toBeCloseTo(1, 6);
    expect(map.lbLess).toBeCloseTo(200, 4);
    expect(map.lbMore).toBeCloseTo(100, 4);
    expect(map.netLb).toBeCloseTo(-100, 4);
    expect(
      map.pieces.map(({unit, againstUnit, differenceLbPerAcre}) => [unit, againstUnit, differenceLbPerAcre]),
    ).toEqual([
      ["A", "A", -100],
      ["B", "B", 100],
      ["C", "B", 0],
    ]);
  });

  it("counts a difference up to the tolerance as none", () => {
    expect(differenceMap(zones(), whole(), 100).acresAlike).toBeCloseTo(4, 6);
    expect(differenceMap(zones(), whole(), 99.9).acresAlike).toBeCloseTo(1, 6);
  });

  it("refuses two products", () => {
    const other = prescriptionOf("zone", ["AB", "AC"], {A: 0, B: 46, C: 46}, {analysis: "18-46-0"});
    expect(() => differenceMap(other, whole())).toThrow("18-46-0 for P2O5 cannot be laid over 11-52-0 for P2O5.");
  });

  it("of any two divisions covers the field and nets to the difference of the totals", () => {
    const letters = fc.array(fc.constantFrom("AAAA", "ABBA", "ABAB", "AABB", "BBBA"), {minLength: 2, maxLength: 4});
    fc.assert(
      fc.property(letters, fc.integer({min: 0, max: 100}), fc.integer({min: 0, max: 100}), (rows, a, b) => {
        const zone = prescriptionOf("zone", rows, {A: a, B: b});
        const grid = prescriptionOf(
          "whole-field",
          rows.map(() => "ABAB"),
          {"whole field": 60},
        );
        const map = differenceMap(zone, grid);
        const acres = 4 * rows.length;
        expect(map.acresMore + map.acresLess + map.acresAlike).toBeCloseTo(acres, 5);
        expect(map.netLb).toBeCloseTo(zone.totals.productLb - grid.totals.productLb, 2);
        expect(map.pieces.reduce((sum, piece) => sum + areaM2(piece.shape), 0) / SQUARE_METRES_PER_ACRE).toBeCloseTo(
          acres,
          5,
        );
      }),
      {numRuns: 20},
    );
  });
});

describe("over and under the best available truth", () => {
  const parts = (needs: Record<string, number>, ...rows: string[]): Yardstick<number> => ({
    kind: "parts",
    parts: strips(...rows).map(({id, shape}) => ({shape, value: needs[id] as number})),
  });

  it("by hand: one rate of 52 lb over needs of 0, 52 and 104", () => {
    const whole = prescriptionOf("whole-field", ["AAA"], {"whole field": 52});
    const found = overAndUnder(whole, parts({A: 0, B: 52, C: 104}, "ABC"));
    expect(found).toMatchObject({strategy: "whole-field", nutrient: "P2O5", acresUnknown: 0});
    expect(found.acresOver).toBeCloseTo(1, 6);
    expect(found.acresUnder).toBeCloseTo(1, 6);
    expect(found.acresWithin).toBeCloseTo(1, 6);
    expect(found.lbOver).toBeCloseTo(52, 4);
    expect(found.lbShort).toBeCloseTo(52, 4);
    expect(found.meanError).toBeCloseTo(0, 4);
    expect(found.rootMeanSquareError).toBeCloseTo(Math.sqrt((2 * 52 ** 2) / 3), 4);
  });

  it("is never wrong by its own results", () => {
    const zones = prescriptionOf("zone", ["AB"], {A: 0, B: 104});
    const found = overAndUnder(zones, parts({A: 0, B: 104}, "AB"));
    expect([found.acresOver, found.acresUnder, found.lbOver]).toEqual([0, 0, 0]);
  });

  it("keeps ground the yardstick does not know apart", () => {
    const whole = prescriptionOf("whole-field", ["AAA"], {"whole field": 52});
    const found = overAndUnder(whole, parts({A: 0, B: 52}, "AB "));
    expect(found.acresUnknown).toBeCloseTo(1, 6);
    expect(found.acresOver + found.acresUnder + found.acresWithin).toBeCloseTo(2, 6);
  });

  it("leaves out ground that a setback holds back, and says how much it is", () => {
    const zones = prescriptionOf("zone", ["AB"], {A: 0, B: 52});
    const need = parts({A: 104, B: 104}, "AB");
    expect(overAndUnder(zones, need).acresUnder).toBeCloseTo(2, 6);
    const found = overAndUnder(zones, need, 15, new Set(["A"]));
    expect(found.acresUnder).toBeCloseTo(1, 6);
    expect(found.lbShort).toBeCloseTo(52, 4);
    expect(found.acresSetBack).toBeCloseTo(1, 6);
    expect(overAndUnder(zones, need)).not.toHaveProperty("acresSetBack");
  });

  it("reads a layer at its cells and a function alike, and ties out to the acres", () => {
    const whole = prescriptionOf("whole-field", ["AA", "AA"], {"whole field": 52});
    const side = 2 * ACRE_SIDE_M;
    const grid = gridOver(frame, {west: 0, south: 0, east: side, north: side}, 5);
    // Needs rise from west to east: half of the field needs less than 52.
    const needAt = (x: number): number => (x / side) * 104;
    const surface: Yardstick<number> = {kind: "surface", grid, at: (x) => needAt(x)};
    const values = Float64Array.from({length: grid.cols * grid.rows}, (_, i) =>
      needAt(grid.west + ((i % grid.cols) + 0.5) * 5),
    );
    const layer = layerYardstick({
      id: "need",
      label: "need",
      unit: "lb/ac",
      grid,
      values,
      madeFrom: {step: "test", inputs: [], options: {}},
    });
    const [a, b] = [overAndUnder(whole, surface), overAndUnder(whole, layer)];
    expect(a).toEqual(b);
    expect(a.acresOver + a.acresUnder + a.acresWithin).toBeCloseTo(4, 9);
    // 52 − 104 x / side is over 15 on 37/104 of the field; cells of 5 m on a side of 127 m blur that by 4 %.
    expect(Math.abs(a.acresOver - (4 * 37) / 104)).toBeLessThan(0.16);
  });

  it("reads slivers between cell centres at a point inside them", () => {
    const whole = prescriptionOf("whole-field", ["A"], {"whole field": 52});
    const sliver = {
      ...whole.polygons[0],
      polygon: [ringOf(0.1, 0.1, 0.4, 60)],
      area: whole.polygons[0]?.area,
    } as Prescription["polygons"][number];
    const grid = gridOver(frame, {west: 0, south: 0, east: 64, north: 64}, 5);
    const ground = judgedGround([sliver], {kind: "surface", grid, at: () => 7});
    expect(ground).toHaveLength(1);
    expect(ground[0]).toMatchObject({value: 7, areaM2: sliver.area});
  });
});

describe("pounds on ground that tests high", () => {
  it("by hand: 52 lb of nutrient on an acre at 60 ppm and one at 130", () => {
    const whole = prescriptionOf("whole-field", ["AAA"], {"whole field": 52});
    const test: Yardstick<number> = {
      kind: "parts",
      parts: strips("ABC").map(({shape}, i) => ({shape, value: [20, 60, 130][i] as number})),
    };
    const [agronomic, none] = poundsAbove(whole, test, OHIO_P_LIMITS);
    expect(agronomic?.acresAbove).toBeCloseTo(2, 6);
    expect(agronomic?.productLb).toBeCloseTo(200, 4);
    expect(agronomic?.nutrientLb).toBeCloseTo(104, 4);
    expect(none?.acresSpread).toBeCloseTo(1, 6);
    expect(none?.nutrientLb).toBeCloseTo(52, 4);
  });

  it("counts a test at the limit as above it, and ground without product as not spread on", () => {
    const zones = prescriptionOf("zone", ["AB"], {A: 0, B: 52});
    const test: Yardstick<number> = {kind: "parts", parts: strips("AB").map(({shape}) => ({shape, value: 50}))};
    const [agronomic] = poundsAbove(zones, test, OHIO_P_LIMITS);
    expect(agronomic?.acresAbove).toBeCloseTo(2, 6);
    expect(agronomic?.acresSpread).toBeCloseTo(1, 6);
  });
});
