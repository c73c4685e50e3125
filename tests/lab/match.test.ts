import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {assignTests} from "../../src/lab/assign-tests.ts";
import {toMgPerKg} from "../../src/lab/convert.ts";
import {matchTests} from "../../src/lab/match-tests.ts";
import type {SoilTest} from "../../src/lab/soil-test.ts";
import {valuesOf} from "../../src/lab/values-of.ts";
import {codes, DEPTH_M} from "./lab-table.ts";

const soilTest = (sampleId: string, value: number, more: Partial<SoilTest> = {}): SoilTest => ({
  sampleId,
  analyte: "P",
  value,
  unit: "mg/kg",
  method: "mehlich-3 icp",
  depthM: DEPTH_M,
  source: {file: "lab.csv", row: 2, column: "P"},
  ...more,
});

describe("results are joined to the plan by id", () => {
  it("and counted in one sentence", () => {
    const ids = Array.from({length: 38}, (_, i) => `C${i + 1}`);
    const tests = [...ids.slice(0, 37).map((id) => soilTest(id, 20)), soilTest("X9", 20)];
    const {byUnit, counts, issues} = matchTests(tests, ids);
    expect(counts).toEqual({
      planned: 38,
      withResults: 37,
      unknown: 1,
      sentence: "38 samples planned, 37 with results, 1 unknown id",
    });
    expect(codes(issues)).toEqual(["lab/unknown-id", "lab/no-results"]);
    expect([...byUnit.keys()]).toEqual(ids);
    expect(byUnit.get("C38")).toEqual([]);
  });

  it("never by likeness: the nearest id is named, the result is not used", () => {
    const {byUnit, issues} = matchTests([soilTest("7", 20), soilTest("008", 30)], ["007", "008"]);
    expect(byUnit.get("007")).toEqual([]);
    expect(issues[0]?.message).toBe(
      'Sample "7" is in no plan; its results were not used. The nearest planned id is "007".',
    );
  });

  it("after trimming and upper-casing only, and says so", () => {
    const {byUnit, issues} = matchTests([soilTest("mz-z1", 20)], ["MZ-Z1"]);
    expect(byUnit.get("MZ-Z1")).toHaveLength(1);
    expect(issues[0]?.message).toContain("trimming and upper-casing, and in no other way");
    expect(() => matchTests([soilTest("MZ Z1", 20)], ["MZ-Z1"])).toThrow();
  });

  it("and stops when the report is of another field", () => {
    expect(() => matchTests([soilTest("K1", 20)], ["M1", "M2"])).toThrow(
      "No sample id of the report is planned: 2 samples planned, 0 with results, 1 unknown id.",
    );
  });

  it("in whatever order the rows stand", () => {
    const ids = ["A", "B", "C", "D"];
    fc.assert(
      fc.property(fc.shuffledSubarray(ids, {minLength: 4}), (order) => {
        const {byUnit} = matchTests(
          order.map((id) => soilTest(id, ids.indexOf(id))),
          ids,
        );
        return ids.every((id, i) => byUnit.get(id)?.[0]?.value === i);
      }),
    );
  });
});

describe("one number for a unit", () => {
  const unitValue = (tests: SoilTest[]) => {
    const {byUnit, issues} = valuesOf(new Map([["U", tests]]));
    return {value: byUnit.get("U")?.[0], issues, count: byUnit.get("U")?.length};
  };

  it("is the result itself, with where it stands", () => {
    expect(unitValue([soilTest("A1", 12)]).value).toMatchObject({value: 12, from: "sample A1 (lab.csv, row 2)"});
  });

  it("is half the limit where the lab could not detect it, and says so", () => {
    const {value, issues} = unitValue([soilTest("A1", 1, {qualifier: "<"})]);
    expect(value).toMatchObject({value: 0.5, from: "sample A1 (lab.csv, row 2), half the detection limit of 1 mg/kg"});
    expect(issues[0]).toMatchObject({code: "lab/below-detection", severity: "note"});
  });

  it("is the bound where the reading range ended", () => {
    const {value, issues} = unitValue([soilTest("A1", 200, {qualifier: ">"})]);
    expect(value?.value).toBe(200);
    expect(codes(issues)).toEqual(["lab/above-range"]);
  });

  it("is the arithmetic mean of several results, listed", () => {
    const {value} = unitValue([soilTest("A1", 12), soilTest("A2", 18), soilTest("A3", 2, {qualifier: "<"})]);
    expect(value).toMatchObject({
      value: 10.333333, // six decimals
      from: "mean of 3 samples: A1 12; A2 18; A3 1, half the detection limit of 2 mg/kg",
    });
  });

  it("never mixes methods, units or depths", () => {
    expect(unitValue([soilTest("A1", 12), soilTest("A1", 9, {method: "bray-1"})]).count).toBe(2);
    expect(unitValue([soilTest("A1", 12), soilTest("A1", 24, {unit: "lb/ac"})]).count).toBe(2);
    expect(unitValue([soilTest("A1", 12), soilTest("A1", 9, {depthM: 0.6})]).count).toBe(2);
  });

  it("is doubted from 15 % of results below detection on", () => {
    const plan = (below: number) =>
      valuesOf(
        new Map(
          Array.from({length: 20}, (_, i) => [`U${i}`, [soilTest(`U${i}`, 2, i < below ? {qualifier: "<"} : {})]]),
        ),
      ).issues;
    expect(codes(plan(2))).toEqual(["lab/below-detection"]); // 10 %
    expect(codes(plan(3))).toEqual(["lab/many-below-detection"]); // 15 %
    expect(plan(3)[0]?.message).toContain("3 of 20 results");
  });
});

describe("soil tests in lb/ac", () => {
  it("become ppm by the convention of two, as new results that remember", () => {
    // agronomy.md V03: 30 ppm is 60 lb/ac.
    const printed = soilTest("A1", 60, {unit: "lb/ac"});
    const {tests, issues} = toMgPerKg([printed, soilTest("A2", 30)]);
    expect(tests[0]).toEqual({
      ...printed,
      value: 30,
      unit: "mg/kg",
      convertedFrom: {value: 60, unit: "lb/ac"},
    });
    expect(printed.value).toBe(60);
    expect(tests[1]).not.toHaveProperty("convertedFrom");
    expect(issues[0]?.message).toBe(
      'P: 1 result was converted from lb/ac to ppm (÷ 2, by convention); 60 lb/ac of sample "A1" became 30 ppm.',
    );
    expect(valuesOf(new Map([["A1", tests.slice(0, 1)]])).byUnit.get("A1")?.[0]?.from).toBe(
      "sample A1 (lab.csv, row 2), 60 lb/ac ÷ 2, by convention",
    );
  });

  it("whatever the depth: the mass of an 8-inch layer (2.4 million lb) has no part in it", () => {
    // agronomy.md V04: 30 ppm over 8 in is a mass of 72 lb/ac, which a soil test in lb/ac does not mean.
    const {tests} = toMgPerKg([soilTest("A1", 72, {unit: "lb/ac", depthM: 8 * 0.0254})]);
    expect(tests[0]?.value).toBe(36);
  });

  it("keep a detection limit, halved with the value", () => {
    expect(toMgPerKg([soilTest("A1", 4, {unit: "lb/ac", qualifier: "<"})]).tests[0]).toMatchObject({
      value: 2,
      qualifier: "<",
    });
  });

  it("as percent are ten thousand times less than ppm, but organic matter stays a percent", () => {
    // sampling.md check 47: 0.0034 % P is 34 ppm. 0.0034 * 10000 is exact to one unit in the last place.
    const {tests} = toMgPerKg([
      soilTest("A1", 0.0034, {unit: "%"}),
      soilTest("A1", 3.1, {analyte: "OM", unit: "%", method: "loss on ignition"}),
    ]);
    expect(tests[0]?.value).toBeCloseTo(34, 10);
    expect(tests[1]).toMatchObject({value: 3.1, unit: "%"});
  });
});

describe("samples taken by another plan", () => {
  const square = (x: number) => [
    [
      [x, 0],
      [x + 10, 0],
      [x + 10, 10],
      [x, 10],
      [x, 0],
    ].map(([px = 0, py = 0]) => ({x: px, y: py})),
  ];
  const units = [
    {id: "WEST", shape: [square(0)]},
    {id: "EAST", shape: [square(10)]},
    {id: "FAR", shape: [square(50)]},
  ];

  it("go to the unit they lie in, several to their mean", () => {
    const places = [
      {sampleId: "1", x: 2, y: 5},
      {sampleId: "2", x: 8, y: 5},
      {sampleId: "3", x: 15, y: 5},
      {sampleId: "4", x: 30, y: 5},
      {sampleId: "5", x: 16, y: 6},
    ];
    const tests = [soilTest("1", 10), soilTest("2", 20), soilTest("3", 30), soilTest("4", 40), soilTest("9", 50)];
    const {byUnit, issues, counts} = assignTests(tests, places, units);
    const means = valuesOf(byUnit).byUnit;
    expect([...means].map(([id, [value]]) => [id, value?.value])).toEqual([
      ["WEST", 15],
      ["EAST", 30],
      ["FAR", undefined],
    ]);
    expect(codes(issues)).toEqual(["lab/place-outside", "lab/no-results", "lab/no-place", "lab/no-place-in-unit"]);
    expect(counts.sentence).toBe("3 units, 2 with results from 5 places, 1 result without a place");
  });

  it("belong to one side of a shared border, never to both", () => {
    fc.assert(
      fc.property(fc.double({min: 0.001, max: 9.999, noNaN: true}), (y) => {
        const {byUnit} = assignTests([soilTest("1", 10)], [{sampleId: "1", x: 10, y}], units);
        return (byUnit.get("WEST")?.length ?? 0) + (byUnit.get("EAST")?.length ?? 0) === 1;
      }),
    );
  });

  it("stop when one id has two places, or when nothing falls into the field", () => {
    const twice = [
      {sampleId: "1", x: 2, y: 5},
      {sampleId: "1", x: 3, y: 5},
    ];
    expect(() => assignTests([soilTest("1", 10)], twice, units)).toThrow('Sample "1" has two different places.');
    const outside = [{sampleId: "1", x: 200, y: 5}];
    expect(() => assignTests([soilTest("1", 10)], outside, units)).toThrow("No result falls into any unit");
  });
});
