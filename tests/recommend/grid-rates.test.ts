import {describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import {gridOver} from "../../src/grid/grid.ts";
import type {Layer} from "../../src/grid/layer.ts";
import {findGuide} from "../../src/recommend/find-guide.ts";
import {type GridRatesInput, gridRates} from "../../src/recommend/grid-rates.ts";
import {advise, cec, codes, crop, soilTest} from "./advise.ts";

const frame = frameAt(-86.4, 40.55);
function layer(values: readonly number[], unit = "mg/kg", cellSize = 10): Layer {
  const grid = gridOver(frame, {west: 0, south: 0, east: cellSize * values.length, north: cellSize}, cellSize);
  return {
    id: "p",
    label: "P",
    unit,
    grid,
    values: Float64Array.from(values),
    madeFrom: {step: "t", inputs: [], options: {}},
  };
}
const near = (value: number, digits: number) => (Number.isNaN(value) ? value : expect.closeTo(value, digits));
const GUIDE = findGuide("tri-state-2020");
const P: Pick<GridRatesInput, "nutrient" | "testFacts" | "crops"> = {
  nutrient: "P2O5",
  testFacts: {analyte: "P", unit: "mg/kg", method: "mehlich-3 icp", depthM: 0.2032},
  crops: [crop("corn", 180)],
};

describe("rates between samples", () => {
  const values = [12, 20, 39.9, 40, Number.NaN, -1];
  const found = gridRates(GUIDE, {...P, test: layer(values)});

  it("are the guide's for each cell, and no-data where the test is", () => {
    expect([...found.rate.values]).toEqual([103, 63, 63, 0, Number.NaN, 163].map((v) => near(v, 9)));
    expect(found.rate.unit).toBe("lb P2O5/ac");
    expect([...found.testClass.values]).toEqual([0, 1, 1, 2, Number.NaN, 0]);
    expect(found.testClass.classes).toEqual([
      "below critical level",
      "maintenance range",
      "maintenance limit and above",
    ]);
    expect(codes(found.issues)).toEqual(["recommend/interpolated-below-zero"]);
    expect(found.certainty).toBeUndefined();
  });

  it("agree with recommend for every cell, CEC and all", () => {
    const k = [60, 110, 119.9, 125, 169, 180];
    const soils = [3, 5, 5.1, 12, 25, 40];
    const made = gridRates(GUIDE, {
      nutrient: "K2O",
      testFacts: {...P.testFacts, analyte: "K"},
      crops: [crop("corn", 180), crop("soybean", 60)],
      test: layer(k),
      cec: layer(soils, "meq/100 g"),
    });
    k.forEach((ppm, i) => {
      const one = advise(
        GUIDE,
        "K2O",
        [soilTest("K", ppm, "mehlich-3 icp", 8), cec(soils[i] as number)],
        [crop("corn", 180), crop("soybean", 60)],
      );
      expect(made.rate.values[i]).toBe(one.rateLbPerAcre);
    });
  });

  it("come with the probability of each class under a normal error", () => {
    const made = gridRates(GUIDE, {...P, test: layer([20, 30, 30, 12]), testError: layer([4, 5, 0, Number.NaN])});
    const at = (i: number) => made.classProbability.map((share) => share.values[i] as number);
    // At the critical level half is below it; 30 ± 5 has both limits two errors away: 0.02275 on either side.
    expect(at(0)[0]).toBeCloseTo(0.5, 12);
    expect(at(1)).toEqual([0.022750131948179, 0.954499736103642, 0.022750131948179].map((v) => near(v, 12)));
    expect(at(2)).toEqual([0, 1, 0]);
    expect(at(3)).toEqual([Number.NaN, Number.NaN, Number.NaN]);
    expect([...(made.certainty?.values ?? [])]).toEqual([0.5, 0.954499736103642, 1, Number.NaN].map((v) => near(v, 6)));
    for (let i = 0; i < 3; i++) expect(at(i).reduce((a, b) => a + b, 0)).toBeCloseTo(1, 12);
  });

  it("know a guide in lb/ac from a layer in ppm", () => {
    const guide = findGuide("illinois-2009");
    const made = gridRates(guide, {
      ...P,
      testFacts: {analyte: "P", unit: "mg/kg", method: "bray-1", depthM: 7 * 0.0254},
      test: layer([22.5, 0]),
      testError: layer([3, 3]),
      options: {soilGroup: "medium phosphorus-supplying power"},
    });
    // 22.5 ppm is the goal of 45 lb/ac.
    expect(made.rate.values[0]).toBeCloseTo(180 * 0.43, 9);
    expect(made.classProbability[0]?.values[0]).toBeCloseTo(0.5, 12);
    expect(made.classProbability[0]?.values[1]).toBeCloseTo(1, 10);
  });

  it("want one grid, and no conversion of an interpolated test", () => {
    expect(() => gridRates(GUIDE, {...P, test: layer([1]), testError: layer([1], "mg/kg", 5)})).toThrow("another grid");
    expect(() => gridRates(GUIDE, {...P, test: layer([1]), options: {convertMethod: {}}})).toThrow(
      "cannot be converted",
    );
  });

  it("are made for twenty thousand cells at once", () => {
    const many = Array.from({length: 20_000}, (_, i) => 5 + (i % 400) / 10);
    const made = gridRates(GUIDE, {
      ...P,
      test: layer(many, "mg/kg", 1),
      testError: layer(
        many.map(() => 4),
        "mg/kg",
        1,
      ),
    });
    expect(made.rate.values).toHaveLength(20_000);
  });
});
