import {expect, it} from "vitest";
import {toMgPerKg} from "../../src/lab/convert.ts";
import {matchTests} from "../../src/lab/match-tests.ts";
import {readLab} from "../../src/lab/read-lab.ts";
import {valuesOf} from "../../src/lab/values-of.ts";
import {triState2020} from "../../src/recommend/guides/tri-state-2020.ts";
import {recommend} from "../../src/recommend/recommend.ts";

it("a lab's lb/ac table becomes rates that can be traced back to its rows", () => {
  const table = {
    file: "report.csv",
    header: ["Sample ID", "M3-P (lb/ac)", "M3-K (lb/ac)", "CEC"],
    rows: [
      ["", "ICP", "ICP", ""],
      ["m-z1", "24", "180", "12.0"],
      ["M-Z2", "<2", "340", "9.5"],
      ["Average", "12", "260", "10.7"],
    ],
    firstRow: 2,
  };
  const report = readLab(table, {
    sampleId: "Sample ID",
    depthM: 0.2032,
    analytes: [
      {analyte: "P", column: "M3-P (lb/ac)", unit: "lb/ac", method: "mehlich-3 icp"},
      {analyte: "K", column: "M3-K (lb/ac)", unit: "lb/ac", method: "mehlich-3 icp"},
      {analyte: "CEC", column: "CEC", unit: "meq/100 g", method: "sum of cations"},
    ],
  });
  const matched = matchTests(toMgPerKg(report.tests).tests, ["M-Z1", "M-Z2"]);
  const units = valuesOf(matched.byUnit).byUnit;
  const crops = [{crop: "corn", yieldGoal: 180}];
  const rates = [...units].map(([unit, tests]) => recommend(triState2020, {unit, tests, crops}));

  expect(matched.counts.sentence).toBe("2 samples planned, 2 with results, 0 unknown ids");
  // By hand. Z1: P 12 ppm: 8 × 5 + 63; K 90 ppm, CEC 12: 30 × 1.6 + 36 + 20.
  // Z2: P half of 1 ppm: 19.5 × 5 + 63; K 170 ppm is at the maintenance limit.
  const expected = [
    [103, 104],
    [160.5, 0],
  ];
  rates.forEach((pair, i) => {
    pair.forEach((rate, j) => {
      expect(rate.rateLbPerAcre).toBeCloseTo(expected[i]?.[j] ?? Number.NaN, 9);
    });
  });
  expect(rates[0]?.[0]?.working[0]?.text).toBe(
    "soil-test P by mehlich-3 icp: sample m-z1 (report.csv, row 3), 24 lb/ac ÷ 2, by convention",
  );
  expect(rates[1]?.[0]?.working[0]?.text).toContain("half the detection limit of 1 mg/kg");
});
