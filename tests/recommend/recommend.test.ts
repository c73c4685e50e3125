import fc from "fast-check";
import {describe, expect, it} from "vitest";
import type {Method, UnitValue} from "../../src/lab/soil-test.ts";
import type {PlannedCrop} from "../../src/recommend/crop-years.ts";
import {findGuide, GUIDES} from "../../src/recommend/find-guide.ts";
import type {Guide} from "../../src/recommend/guide.ts";
import {triState2020} from "../../src/recommend/guides/tri-state-2020.ts";
import {poolTests} from "../../src/recommend/pool-tests.ts";
import {type RecommendOptions, recommend} from "../../src/recommend/recommend.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import type {Nutrient} from "../../src/units/nutrient.ts";
import {squareMetres} from "../../src/units/quantity.ts";

const EIGHT_INCHES = 8 * 0.0254;
const test = (analyte: UnitValue["analyte"], value: number, more: Partial<UnitValue> = {}): UnitValue => ({
  analyte,
  value,
  unit: analyte === "CEC" ? "meq/100 g" : "mg/kg",
  method: analyte === "CEC" ? "sum of cations" : "mehlich-3 icp",
  depthM: EIGHT_INCHES,
  from: "sample A1 (lab.csv, row 2)",
  ...more,
});
const CORN: PlannedCrop = {crop: "corn", yieldGoal: 180};
const SOYBEAN: PlannedCrop = {crop: "soybean", yieldGoal: 60};
const WHEAT: PlannedCrop = {crop: "wheat", yieldGoal: 80};

function advise(
  nutrient: Nutrient,
  tests: readonly UnitValue[],
  crops: readonly PlannedCrop[] = [CORN],
  options: RecommendOptions = {},
  guide: Guide = triState2020,
) {
  const [found] = recommend(guide, {unit: "U1", tests, crops, options: {nutrients: [nutrient], ...options}});
  if (!found) throw new Error("no recommendation");
  return found;
}
const codes = ({issues}: {issues: readonly {code: string}[]}) => issues.map(({code}) => code);
const doesNotFit = (hint: string) =>
  expect.objectContaining({
    name: "FieldError",
    code: "recommend/guide-does-not-fit",
    hint: expect.stringContaining(hint),
  });

describe("a guide refuses a test it was not made for", () => {
  it.each([
    ["G01 Bray-1 phosphorus", test("P", 18, {method: "bray-1"}), "P was measured by bray-1"],
    [
      "colorimetric Mehlich-3",
      test("P", 18, {method: "mehlich-3 colorimetric"}),
      "P was measured by mehlich-3 colorimetric",
    ],
    ["Mehlich-3 without its detection", test("P", 18, {method: "mehlich-3"}), "P was measured by mehlich-3"],
    ["lb/ac", test("P", 36, {unit: "lb/ac"}), "P is in lb/ac"],
    ["a 6-inch sample", test("P", 18, {depthM: 6 * 0.0254}), "the sample reaches 6 in deep"],
    ["a 2-foot sample", test("P", 18, {depthM: 0.6096}), "the sample reaches 24 in deep"],
  ])("%s, with the reason and what it needs", (_, given, reason) => {
    const ask = () => advise("P2O5", [given]);
    expect(ask).toThrow(`Tri-State 2020, Bulletin 974 does not fit unit "U1": ${reason}`);
    expect(ask).toThrow(doesNotFit("P by mehlich-3 icp in ppm, sampled 0 to 8 in"));
  });

  it("G01 a Mehlich-3 value in a rule for Bray-1", () => {
    // The 1995 edition was for Bray-1 (18 ppm sufficient there, deficient in 2020); only its test need is put on here.
    const forBray = {
      ...triState2020,
      nutrients: triState2020.nutrients.map((rule) => ({
        ...rule,
        test: {...rule.test, methods: ["bray-1"] satisfies Method[]},
      })),
    };
    expect(() => advise("P2O5", [test("P", 18)], [CORN], {}, forBray)).toThrow(doesNotFit("P by bray-1 in ppm"));
  });

  it("G03 field-moist potassium in a rule for dried samples", () => {
    const moist = [test("K", 120, {method: "mehlich-3 field-moist"}), test("CEC", 12)];
    expect(() => advise("K2O", moist)).toThrow(doesNotFit("K by mehlich-3 icp or mehlich-3"));
  });

  it("but takes potassium whose detection is not stated, and 20 cm for 8 in", () => {
    expect(advise("K2O", [test("K", 150, {method: "mehlich-3"}), test("CEC", 12)]).rateLbPerAcre).toBe(56);
    expect(advise("P2O5", [test("P", 20, {depthM: 0.2})]).rateLbPerAcre).toBeCloseTo(63, 9);
  });

  it("and finds the fitting one among several", () => {
    const both = [test("P", 14, {method: "bray-1"}), test("P", 20)];
    expect(advise("P2O5", both).test).toEqual({value: 20, unit: "ppm", method: "mehlich-3 icp"});
  });

  it.each([
    ["an unknown crop", [{crop: "sugar beet", yieldGoal: 30}], "It covers corn, soybean, wheat, alfalfa"],
    ["a misspelled crop", [{crop: "soybeans", yieldGoal: 60}], 'Did you mean "soybean"?'],
  ])("%s", (_, crops, hint) => {
    expect(() => advise("P2O5", [test("P", 18)], crops)).toThrow(doesNotFit(hint));
  });

  it.each([
    ["no crop", {crops: []}, "recommend/no-crop"],
    ["a yield goal of zero", {crops: [{crop: "corn", yieldGoal: 0}]}, "recommend/bad-yield-goal"],
    ["a yield goal that is no number", {crops: [{crop: "corn", yieldGoal: Number.NaN}]}, "recommend/bad-yield-goal"],
    ["five crop years at once", {crops: [CORN, SOYBEAN, CORN, SOYBEAN, CORN]}, "recommend/too-many-crop-years"],
    ["no soil test", {tests: []}, "recommend/no-test"],
    ["potassium without a CEC", {tests: [test("K", 90)], nutrients: ["K2O"]}, "recommend/no-cec"],
    ["a CEC that is none", {tests: [test("K", 90), test("CEC", 0)], nutrients: ["K2O"]}, "recommend/bad-cec"],
    ["a nutrient it has no rule for", {nutrients: ["N"]}, "recommend/no-nutrient"],
    ["an override without a reason", {acceptMethod: {reason: "  "}}, "recommend/no-reason"],
  ] as const)(
    "%s",
    (_, {
      tests = [test("P", 18)],
      crops = [CORN],
      ...options
    }: {tests?: readonly UnitValue[]; crops?: readonly PlannedCrop[]} & RecommendOptions, code) => {
      const ask = () => recommend(triState2020, {unit: "U1", tests, crops, options: {nutrients: ["P2O5"], ...options}});
      expect(ask).toThrow(expect.objectContaining({code}));
    },
  );
});

describe("the override for another method", () => {
  const acceptMethod = {reason: "Only Bray-1 results exist for this field."};

  it("runs the arithmetic on the unconverted number and says what it is worth", () => {
    const run = advise("P2O5", [test("P", 12, {method: "bray-1"})], [CORN], {acceptMethod});
    expect(run.rateLbPerAcre).toBe(103);
    expect(run.test.method).toBe("bray-1");
    expect(run.issues[0]).toMatchObject({code: "recommend/arithmetic-only", severity: "warning"});
    expect(run.issues[0]?.message).toMatch(
      /^For arithmetic only: .*bray-1.*Only Bray-1 results exist for this field\.$/,
    );
  });

  it("covers depth too, says nothing where the test fits, and never covers a unit", () => {
    const shallow = advise("P2O5", [test("P", 12, {depthM: 0.1524})], [CORN], {acceptMethod});
    expect(shallow.issues[0]?.message).toContain("the sample reaches 6 in deep");
    expect(codes(advise("P2O5", [test("P", 12)], [CORN], {acceptMethod}))).toEqual([]);
    expect(() => advise("P2O5", [test("P", 24, {unit: "lb/ac"})], [CORN], {acceptMethod})).toThrow(
      doesNotFit("convert lb/ac to ppm"),
    );
  });
});

describe("crops and their limits", () => {
  it.each([
    [19.9, "below critical level", 63 + 0.5],
    [20, "maintenance range", 63],
    [39.9, "maintenance range", 63],
    [40, "maintenance limit and above", 0],
  ])("corn at %f ppm P is in the class its limits say", (p, testClass, rate) => {
    const run = advise("P2O5", [test("P", p)]);
    expect(run.testClass).toBe(testClass);
    expect(run.rateLbPerAcre).toBeCloseTo(rate, 9);
  });

  it.each([
    ["tri-state-2020", "mehlich-3 icp", 40, "maintenance limit and above"],
    ["tri-state-1995", "bray-1", 40, "end of drawdown and above"],
  ] as const)("the top class of %s has a name that is true at its lower end", (id, method, p, name) => {
    // A soil exactly at the limit is in the class, so the name may not say "above".
    const run = recommend(findGuide(id), {
      unit: "U",
      tests: [test("P", p, {method})],
      crops: [CORN],
      options: {nutrients: ["P2O5"]},
    })[0];
    expect([run?.testClass, run?.rateLbPerAcre]).toEqual([name, 0]);
  });

  it("wheat in the rotation raises the critical level of all crops, and the working says so", () => {
    const alone = advise("P2O5", [test("P", 25)], [CORN]);
    const withWheat = advise("P2O5", [test("P", 25)], [CORN], {rotation: ["wheat"]});
    expect(alone.testClass).toBe("maintenance range");
    expect(withWheat.testClass).toBe("below critical level");
    expect(withWheat.rateLbPerAcre - alone.rateLbPerAcre).toBeCloseTo((30 - 25) * 5, 9);
    expect(withWheat.working[1]?.text).toBe("critical level for wheat, which the whole rotation is held to");
  });

  it("an application for corn and wheat is held to wheat's limits for both", () => {
    const run = advise("P2O5", [test("P", 45)], [CORN, WHEAT]);
    expect(run.rateLbPerAcre).toBeCloseTo(180 * 0.35 + 80 * 0.49, 9); // 45 is over corn's 40, under wheat's 50
  });

  it("crops of one year share that year's buildup and constant", () => {
    const double: PlannedCrop[] = [
      {...WHEAT, year: 2027},
      {crop: "soybean", yieldGoal: 30, year: 2027},
    ];
    const run = advise("K2O", [test("K", 100), test("CEC", 12)], double);
    // (120 − 100) × 1.6 + 80 × 0.24 + 30 × 1.15 + 20, once each.
    expect(run.rateLbPerAcre).toBeCloseTo(32 + 19.2 + 34.5 + 20, 9);
    expect(run.working.map(({text}) => text)).toContain("buildup, wheat and soybean: (120 − 100) × (1 + 0.05 × 12)");
  });

  it("an unlikely yield goal is remarked on", () => {
    expect(codes(advise("P2O5", [test("P", 30)], [{crop: "corn", yieldGoal: 12}]))).toEqual([
      "recommend/unusual-yield-goal",
    ]);
  });
});

describe("settings", () => {
  const deficient = [test("K", 90), test("CEC", 12)];

  it("buildup off leaves removal, and says so", () => {
    const run = advise("K2O", deficient, [CORN], {buildup: false});
    expect(run.rateLbPerAcre).toBe(56);
    expect(run.testClass).toBe("below critical level");
    expect(codes(run)).toEqual(["recommend/no-buildup"]);
  });

  it("CEC 5 is on the sandy side unless told otherwise", () => {
    const atFive = [test("K", 115), test("CEC", 5)];
    expect(advise("K2O", atFive).testClass).toBe("maintenance range"); // critical level 100
    const below = advise("K2O", atFive, [CORN], {cecBoundary: "below"});
    expect(below.testClass).toBe("below critical level"); // critical level 120
    expect(below.working[2]?.text).toBe("critical level for corn, CEC at least 5");
  });

  it("a CEC outside the fitted range is evaluated as published with a warning, or held when asked", () => {
    // (120 − 90) × (1 + 0.05 × 40) = 90 as published; × (1 + 0.05 × 30) = 75 held.
    const organic = [test("K", 90), test("CEC", 40)];
    const published = advise("K2O", organic);
    const held = advise("K2O", organic, [CORN], {clampCec: true});
    expect(published.rateLbPerAcre).toBeCloseTo(90 + 56, 9);
    expect(held.rateLbPerAcre).toBeCloseTo(75 + 56, 9);
    expect([codes(published), codes(held)]).toEqual([["recommend/cec-outside"], ["recommend/cec-outside"]]);
    expect(held.working.find(({text}) => text.startsWith("CEC held"))?.value).toBe(30);
    expect(codes(advise("K2O", [test("K", 130), test("CEC", 40)]))).toEqual([]); // no buildup, no slope, no warning
  });

  it("one CEC for the field stands in where the lab gives none, as the user's own number", () => {
    const run = advise("K2O", [test("K", 90)], [CORN], {cecMeq: 12});
    expect(run.rateLbPerAcre).toBeCloseTo(104, 9);
    expect(run.working[1]).toMatchObject({text: "CEC: one value for the whole field", basis: "user", value: 12});
    expect(advise("K2O", deficient, [CORN], {cecMeq: 30}).rateLbPerAcre).toBeCloseTo(104, 9); // the lab's goes first
  });

  it("a guide is found by its id", () => {
    expect(GUIDES.map(({id}) => findGuide(id))).toEqual(GUIDES);
    expect(() => findGuide("tri-state-2021")).toThrow('There is no guide "tri-state-2021".');
  });
});

describe("whatever the soil test", () => {
  const stp = fc.double({min: 0, max: 400, noNaN: true});
  const cec = fc.double({min: 0.5, max: 60, noNaN: true});
  const crop = fc.constantFrom<PlannedCrop>(CORN, SOYBEAN, WHEAT, {crop: "alfalfa", yieldGoal: 5});
  const crops = fc.array(crop, {minLength: 1, maxLength: 4});
  const limits = (run: {working: readonly {text: string; value: number}[]}) =>
    ["critical level", "maintenance limit"].map(
      (name) => run.working.find(({text}) => text.startsWith(name))?.value ?? Number.NaN,
    ) as [number, number];

  it("the rate is never negative and zero from the maintenance limit on", () => {
    fc.assert(
      fc.property(stp, cec, crops, (value, meq, planned) => {
        for (const [nutrient, analyte] of [
          ["P2O5", "P"],
          ["K2O", "K"],
        ] as const) {
          const run = advise(nutrient, [test(analyte, value), test("CEC", meq)], planned);
          const [critical, maintenance] = limits(run);
          const expected =
            value < critical
              ? "below critical level"
              : value < maintenance
                ? "maintenance range"
                : "maintenance limit and above";
          expect(run.testClass).toBe(expected);
          if (value >= maintenance) expect(run.rateLbPerAcre).toBe(0);
          else expect(run.rateLbPerAcre).toBeGreaterThan(0);
        }
      }),
    );
  });

  it("a richer soil never gets more", () => {
    fc.assert(
      fc.property(stp, stp, cec, crops, (a, b, meq, planned) => {
        const rate = (value: number) => advise("K2O", [test("K", value), test("CEC", meq)], planned).rateLbPerAcre;
        // A sum of floats may differ in the last place within the maintenance range.
        expect(rate(Math.max(a, b))).toBeLessThanOrEqual(rate(Math.min(a, b)) + 1e-9);
      }),
    );
  });

  it("the rate steps at the maintenance limit and nowhere else", () => {
    fc.assert(
      fc.property(stp, crops, (value, planned) => {
        const width = 1e-6;
        const low = advise("P2O5", [test("P", value)], planned);
        const high = advise("P2O5", [test("P", value + width)], planned);
        const [, maintenance] = limits(low);
        const steps = value < maintenance && value + width >= maintenance;
        // The steepest slope is 5 lb a ppm for each of four crop years.
        const drop = low.rateLbPerAcre - high.rateLbPerAcre;
        expect(drop > 20 * width * 1.01 + 1e-9).toBe(steps);
      }),
    );
    const [at, before] = [40, 40 - 1e-9].map((p) => advise("P2O5", [test("P", p)]).rateLbPerAcre);
    expect(before).toBeCloseTo(63, 9);
    expect(at).toBe(0);
    const [critical, under] = [20, 20 - 1e-9].map((p) => advise("P2O5", [test("P", p)]).rateLbPerAcre);
    expect(under).toBeCloseTo(critical ?? 0, 6);
  });

  it("several crops get the sum of what each gets, held to one set of limits", () => {
    fc.assert(
      fc.property(stp, cec, crops, (value, meq, planned) => {
        const tests = [test("P", value), test("K", value), test("CEC", meq)];
        const rotation = planned.map(({crop: name}) => name);
        for (const nutrient of ["P2O5", "K2O"] as const) {
          const together = advise(nutrient, tests, planned).rateLbPerAcre;
          const apart = planned.map((one) => advise(nutrient, tests, [one], {rotation}).rateLbPerAcre);
          expect(together).toBeCloseTo(
            apart.reduce((sum, rate) => sum + rate, 0),
            8,
          );
        }
      }),
    );
  });

  it("the working adds up to the rate", () => {
    fc.assert(
      fc.property(stp, cec, crops, (value, meq, planned) => {
        const run = advise("K2O", [test("K", value), test("CEC", meq)], planned);
        const parts = run.working.filter(({text}) => /^(buildup|removal|constant|at or above)/.test(text));
        expect(parts.reduce((sum, step) => sum + step.value, 0)).toBe(run.rateLbPerAcre);
      }),
    );
  });
});

describe("a whole field's pooled test", () => {
  const acres = (n: number) => squareMetres(n * SQUARE_METRES_PER_ACRE);

  it("is the mean weighted by area, and lists what was averaged", () => {
    const {tests, issues} = poolTests([
      {id: "W1", area: acres(30), tests: [test("P", 12)]},
      {id: "W2", area: acres(10), tests: [test("P", 24)]},
    ]);
    expect(tests[0]?.value).toBeCloseTo((30 * 12 + 10 * 24) / 40, 12);
    expect(tests[0]?.from).toBe("mean of 2 units weighted by area: W1 12 (30.0 ac), W2 24 (10.0 ac)");
    expect(issues).toEqual([]);
    const [run] = recommend(triState2020, {unit: "whole field", tests, crops: [CORN], options: {nutrients: ["P2O5"]}});
    expect(run?.working[0]?.text).toContain("mean of 2 units weighted by area");
    expect(run?.rateLbPerAcre).toBeCloseTo(5 * 5 + 63, 9);
  });

  it("sums up many units in words", () => {
    const units = Array.from({length: 38}, (_, i) => ({id: `C${i}`, area: acres(2.5), tests: [test("P", i + 1)]}));
    expect(poolTests(units).tests[0]).toMatchObject({
      from: "mean of 38 units weighted by area: lowest 1, highest 38",
    });
  });

  it("names the units that have no value", () => {
    const {tests, issues} = poolTests([
      {id: "W1", area: acres(30), tests: [test("P", 12), test("K", 100)]},
      {id: "W2", area: acres(10), tests: [test("P", 24)]},
    ]);
    expect(tests.map(({analyte, value}) => [analyte, Math.round(value)])).toEqual([
      ["P", 15],
      ["K", 100],
    ]);
    expect(issues[0]?.message).toBe(
      'The field\'s mean K (mehlich-3 icp) is made without 1 of 2 units, 10.0 ac: "W2" has no value.',
    );
  });

  it("lies between the lowest and the highest unit, whatever the areas", () => {
    const unit = fc.record({
      area: fc.double({min: 1, max: 1e6, noNaN: true}),
      value: fc.double({min: 0, max: 1500, noNaN: true}),
    });
    fc.assert(
      fc.property(fc.array(unit, {minLength: 1, maxLength: 40}), (units) => {
        const {tests} = poolTests(
          units.map(({area, value}, i) => ({id: `U${i}`, area: squareMetres(area), tests: [test("P", value)]})),
        );
        const values = units.map(({value}) => value);
        const mean = tests[0]?.value ?? Number.NaN;
        // The mean is kept to six decimals.
        expect(mean).toBeGreaterThanOrEqual(Math.min(...values) - 1e-6);
        expect(mean).toBeLessThanOrEqual(Math.max(...values) + 1e-6);
      }),
    );
  });

  it("of units that all stand at a limit stands at the limit", () => {
    fc.assert(
      fc.property(fc.array(fc.double({min: 1, max: 1e6, noNaN: true}), {minLength: 1, maxLength: 40}), (areas) => {
        const units = areas.map((area, i) => ({id: `U${i}`, area: squareMetres(area), tests: [test("P", 40)]}));
        return advise("P2O5", poolTests(units).tests).rateLbPerAcre === 0;
      }),
    );
  });

  it("averages tests, not rates: the rate of the mean is not the mean of the rates", () => {
    // 10 ppm and 50 ppm: the mean of 30 is in the maintenance range (63 lb); apart they need 113 and 0.
    const units = [10, 50].map((p, i) => ({id: `W${i}`, area: acres(20), tests: [test("P", p)]}));
    const pooled = advise("P2O5", poolTests(units).tests);
    expect(pooled.rateLbPerAcre).toBeCloseTo(63, 9);
    expect(units.map(({tests}) => Math.round(advise("P2O5", tests).rateLbPerAcre))).toEqual([113, 0]);
  });
});
