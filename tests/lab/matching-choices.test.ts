import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {applyChoices} from "../../src/lab/apply-choices.ts";
import {findOutliers} from "../../src/lab/find-outliers.ts";
import {matchTests} from "../../src/lab/match-tests.ts";
import {proposeMatches} from "../../src/lab/propose-matches.ts";
import type {SoilTest} from "../../src/lab/soil-test.ts";
import {sumOfCations, withCec} from "../../src/lab/sum-of-cations.ts";
import {checkCharacter} from "../../src/units/check-character.ts";
import {codes, DEPTH_M} from "./lab-table.ts";

function result(sampleId: string, value: number, more: Partial<SoilTest> = {}): SoilTest {
  return {
    sampleId,
    analyte: "P",
    value,
    unit: "mg/kg",
    method: "mehlich-3 icp",
    depthM: DEPTH_M,
    source: {file: "lab.csv", row: 2, column: "P"},
    ...more,
  };
}
const guarded = (id: string): string => id + checkCharacter(id);

describe("an id that is in no plan", () => {
  const PLAN = ["KFG07", "KFG08", "KFG09"];
  it.each([
    ["spaces and hyphens", "KF-G 07", "the same but for spaces, hyphens and leading zeros"],
    ["a lost zero", "kfg7", "the same but for spaces, hyphens and leading zeros"],
    ["a letter for a digit", "KFGO7", "the same but for letters that look like digits"],
    ["a check character added", `KFG07${checkCharacter("KFG07")}`, "the same with its check character"],
  ])("is proposed for %s, and joined only when accepted", (_, reportId, why) => {
    const reportIds = [reportId, "KFG08"];
    expect(proposeMatches(reportIds, PLAN)).toEqual([{reportId, unitId: "KFG07", why}]);
    const tests = reportIds.map((id) => result(id, 12));
    const plain = matchTests(tests, PLAN);
    expect(plain.byUnit.get("KFG07")).toEqual([]);
    const accepted = matchTests(tests, PLAN, {[reportId]: "KFG07"});
    expect(accepted.byUnit.get("KFG07")).toEqual([tests[0]]);
    expect(codes(accepted.issues)).toContain("lab/id-accepted");
    expect(accepted.counts.sentence).toBe("3 samples planned, 2 with results, 0 unknown ids");
  });

  it("is not proposed for a sample that has results, nor for one of several it could be", () => {
    expect(proposeMatches(["kfg7", "KFG07"], PLAN)).toEqual([]);
    expect(proposeMatches(["K-1"], ["K01", "K001"])).toEqual([]);
    expect(proposeMatches(["K-1", "K 1"], ["K1"])).toEqual([]);
    expect(proposeMatches(["1", "2", "3"], PLAN)).toEqual([]);
  });

  it("with check characters, a slip of the pen is found out and proposed", () => {
    const plan = PLAN.map(guarded);
    const [first = ""] = plan;
    const slip = first.replace("7", "1");
    const swapped = `${first.slice(0, 1)}${first[2]}${first[1]}${first.slice(3)}`;
    for (const reportId of [slip, swapped]) {
      expect(proposeMatches([reportId], plan)).toEqual([
        {reportId, unitId: first, why: "its check character fails, and one slip of the pen explains it"},
      ]);
      const matched = matchTests([result(reportId, 12), result(plan[1] ?? "", 15)], plan);
      expect(matched.byUnit.get(first)).toEqual([]);
      expect(matched.issues.find(({code}) => code === "lab/unknown-id")?.message).toContain("check character is wrong");
    }
  });

  it("is accepted for one free planned sample and for nothing else", () => {
    const tests = [result("A1", 1), result("X", 2)];
    for (const accepted of [{X: "B9"}, {X: "A1"}, {A1: "A2"}, {Y: "A2"}]) {
      expect(() => matchTests(tests, ["A1", "A2"], accepted as Record<string, string>)).toThrow(
        expect.objectContaining({code: "lab/bad-accepted"}),
      );
    }
  });
});

describe("outliers", () => {
  const usual = [18, 21, 24, 19, 26, 22, 30, 17, 20, 23];
  const tests = (values: readonly number[]) => values.map((value, i) => result(`A${i}`, value));

  it("by hand: 90 among values about 22 is 6.5 robust standard deviations out, and 30 is not flagged", () => {
    const {flags, issues} = findOutliers(tests([...usual, 90]));
    expect(flags.map(({sampleId, value}) => [sampleId, value])).toEqual([["A10", 90]]);
    expect(flags[0]?.median).toBeCloseTo(22, 9);
    // Distances |ln x − ln 22| in order: 0, .044 (23), .047, .087, .095, .147 (19), …: the middle one of 11 is that of 19.
    expect(flags[0]?.score).toBeCloseTo(Math.log(90 / 22) / (Math.log(22 / 19) * 1.482602218505602), 6);
    expect(codes(issues)).toEqual(["lab/outlier"]);
  });

  it("are sought on both sides, never among few results, nor among results off the scale", () => {
    expect(findOutliers(tests([...usual, 3])).flags[0]?.score).toBeLessThan(-3.5);
    expect(findOutliers(tests([20, 21, 22, 300])).flags).toEqual([]);
    expect(findOutliers([...tests(usual), result("B", 500, {qualifier: ">"})]).flags).toEqual([]);
  });

  it("do not depend on the unit", () => {
    fc.assert(
      fc.property(fc.array(fc.double({min: 1, max: 300, noNaN: true}), {minLength: 8, maxLength: 40}), (values) => {
        const ids = (factor: number) => findOutliers(tests(values.map((v) => v * factor))).flags.map((f) => f.sampleId);
        expect(ids(2)).toEqual(ids(1));
      }),
      {numRuns: 100},
    );
  });

  it("of results that all agree are only those beyond a lab's own error", () => {
    expect(findOutliers(tests([20, 20, 20, 20, 20, 20, 20, 20, 20.5])).flags).toEqual([]);
    expect(findOutliers(tests([20, 20, 20, 20, 20, 20, 20, 20, 40])).flags).toHaveLength(1);
  });
});

describe("choices about doubtful results", () => {
  const tests = [result("A1", 12), result("A1", 140, {analyte: "K"}), result("A2", 90), result("A3", 300)];

  it("leave out what is excluded or to be run again, keep the rest, and are recorded with the number", () => {
    const {
      tests: kept,
      recorded,
      issues,
    } = applyChoices(tests, [
      {sampleId: "a2", analyte: "P", choice: "exclude", reason: "taken on the old manure heap"},
      {sampleId: "A3", analyte: "P", choice: "re-run", reason: "asked the lab on the phone"},
      {sampleId: "A1", analyte: "P", choice: "keep", reason: "known rich corner"},
    ]);
    expect(kept).toEqual([tests[0], tests[1]]);
    expect(recorded.map(({sampleId, choice, value, reason}) => [sampleId, choice, value, reason])).toEqual([
      ["A1", "keep", 12, "known rich corner"],
      ["a2", "exclude", 90, "taken on the old manure heap"],
      ["A3", "re-run", 300, "asked the lab on the phone"],
    ]);
    expect(codes(issues)).toEqual(["lab/excluded", "lab/to-be-run-again"]);
  });

  it.each([
    ["lab/no-reason", [{sampleId: "A2", analyte: "P", choice: "exclude", reason: " "}]],
    ["lab/no-such-result", [{sampleId: "A9", analyte: "P", choice: "exclude", reason: "x"}]],
    [
      "lab/two-choices",
      [
        {sampleId: "A2", analyte: "P", choice: "exclude", reason: "x"},
        {sampleId: "A2", analyte: "p", choice: "keep", reason: "y"},
      ],
    ],
  ] as const)("%s is refused", (code, choices) => {
    expect(() => applyChoices(tests, choices)).toThrow(expect.objectContaining({code}));
  });
});

describe("CEC as the sum of cations", () => {
  it("C01, C02 a laboratory's printed example: 3.83 meq/100 g, base saturation 37 %", () => {
    // Printed in lb/ac (Ca 400, Mg 28, K 221, Na 12), which is ppm × 2.
    const found = sumOfCations({
      caMgPerKg: 200,
      mgMgPerKg: 14,
      kMgPerKg: 110.5,
      naMgPerKg: 6,
      bufferPh: 7.7,
      buffer: "adams-evans",
    });
    expect(Math.abs((found?.cecMeqPer100g ?? 0) - 3.83)).toBeLessThan(0.01);
    expect(Math.abs((found?.baseSaturationPct ?? 0) - 37)).toBeLessThan(0.5);
  });

  it("C03 to C05 an SMP buffer of 6.6 adds 4.8, one of 7.1 adds nothing (equation seen)", () => {
    const soil = {caMgPerKg: 1600, mgMgPerKg: 240, kMgPerKg: 156, buffer: "smp"} as const;
    const acid = sumOfCations({...soil, bufferPh: 6.6});
    expect(acid?.cecMeqPer100g).toBeCloseTo(15.2, 9);
    expect(acid?.baseSaturationPct).toBeCloseTo((100 * 10.4) / 15.2, 9);
    expect(sumOfCations({...soil, bufferPh: 7.1})?.cecMeqPer100g).toBeCloseTo(10.4, 9);
  });

  it.each([
    [1150, 240, 161, 8.2, [70.4, 24.5, 5.1]],
    [1950, 265, 190, 12.4, [78.3, 17.7, 3.9]],
  ])(
    "an open lab report: Ca %d, Mg %d, K %d (seen) gives CEC %d",
    (caMgPerKg, mgMgPerKg, kMgPerKg, cec, saturation) => {
      const found = sumOfCations({caMgPerKg, mgMgPerKg, kMgPerKg});
      expect(Math.abs((found?.cecMeqPer100g ?? 0) - cec)).toBeLessThan(0.15);
      const {Ca, Mg, K} = found?.saturation ?? {Ca: 0, Mg: 0, K: 0};
      for (const [i, pct] of [Ca, Mg, K].entries()) expect(Math.abs(pct - (saturation[i] as number))).toBeLessThan(0.5);
    },
  );

  it("is added only where the lab gives none and its parts are there", () => {
    const soil = (id: string, buffer?: SoilTest["method"]) => [
      result(id, 1600, {analyte: "Ca"}),
      result(id, 240, {analyte: "Mg"}),
      result(id, 156, {analyte: "K"}),
      ...(buffer ? [result(id, 6.6, {analyte: "buffer pH", unit: "pH", method: buffer})] : []),
    ];
    const tests = [
      ...soil("A1", "smp"),
      ...soil("A2", "woodruff"),
      ...soil("A3"),
      result("A3", 9, {analyte: "CEC", unit: "meq/100 g", method: "displacement"}),
    ];
    const {tests: all, issues} = withCec(tests);
    expect(all.slice(tests.length).map(({sampleId, value}) => [sampleId, Number(value.toFixed(6))])).toEqual([
      ["A1", 15.2],
    ]);
    expect(codes(issues)).toEqual(["lab/cec-worked-out", "lab/cec-not-worked-out"]);
  });
});
