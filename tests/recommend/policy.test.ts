import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import {gridOver} from "../../src/grid/grid.ts";
import type {Layer} from "../../src/grid/layer.ts";
import {applyPolicy, type Credit, manureCredit} from "../../src/recommend/apply-policy.ts";
import {cautions} from "../../src/recommend/caution/cautions.ts";
import {PHOSPHORUS_THRESHOLDS} from "../../src/recommend/caution/phosphorus-thresholds.ts";
import {findGuide} from "../../src/recommend/find-guide.ts";
import {yieldGoals} from "../../src/recommend/yield-goals.ts";
import {advise, codes, crop, soilTest} from "./advise.ts";

const GUIDE = findGuide("tri-state-2020");
// 8 × 5 of buildup and 63 of removal.
const rate = (ppm = 12) => advise(GUIDE, "P2O5", [soilTest("P", ppm, "mehlich-3 icp", 8)], [crop("corn", 180)]);
const texts = (recommendation: {working: readonly {text: string}[]}) => recommendation.working.map(({text}) => text);
const credit = (lbPerAcre: Credit["lbPerAcre"], kind: Credit["kind"] = "starter"): Credit => ({
  kind,
  nutrient: "P2O5",
  lbPerAcre,
  text: "as set",
});

describe("a policy", () => {
  it("without rules changes nothing", () => {
    const guide = rate();
    expect(applyPolicy(guide, {})).toBe(guide);
  });

  it("takes manure and starter off, each in its own line, and keeps the guide's rate beside", () => {
    const manure = manureCredit({
      nutrient: "P2O5",
      amountPerAcre: 1000,
      amountUnit: "gal",
      lbPerAmount: 42,
      per: 1000,
      availablePct: 70,
    });
    const found = applyPolicy(rate(), {credits: [manure, credit(20)]});
    expect(found.rateLbPerAcre).toBeCloseTo(103 - 29.4 - 20, 9);
    expect(found.guideLbPerAcre).toBe(103);
    expect(found.working.slice(-3).map(({text, value}) => [text, Number(value.toFixed(6))])).toEqual([
      ["manure credit: 1,000 gal/ac × 42 lb per 1,000 gal × 70 % available, of 42 in all", -29.4],
      ["starter credit: as set", -20],
      ["after the rules above, instead of the guide's 103", 53.6],
    ]);
    expect(found.issues).toEqual([]);
  });

  it("M01, M02 4,000 gal at 42 lb are 168 lb P2O5, 117.6 at 70 % (book value; share printed)", () => {
    const of = (availablePct: number) =>
      manureCredit({
        nutrient: "P2O5",
        amountPerAcre: 4000,
        amountUnit: "gal",
        lbPerAmount: 42,
        per: 1000,
        availablePct,
      });
    expect(of(100).lbPerAcre).toBeCloseTo(168, 9);
    expect(of(70).lbPerAcre).toBeCloseTo(117.6, 9);
    expect(() => of(170)).toThrow(expect.objectContaining({code: "recommend/bad-credit"}));
  });

  it("can have a credit for each unit, and never goes below zero", () => {
    expect(applyPolicy(rate(), {credits: [credit({U1: 40, U2: 99})]}).rateLbPerAcre).toBe(63);
    expect(applyPolicy(rate(), {credits: [credit({U2: 99})]}).rateLbPerAcre).toBe(103);
    const much = applyPolicy(rate(), {credits: [credit(150, "previous application")]});
    expect(much.rateLbPerAcre).toBe(0);
    expect(codes(much.issues)).toEqual(["recommend/credit-left-over"]);
    expect(texts(much).at(-2)).toBe("previous application credit: as set; 103 of 150 used");
  });

  it("spares buildup by a band and never removal", () => {
    expect(applyPolicy(rate(), {bandFactor: 0.5}).rateLbPerAcre).toBe(63 + 20);
    expect(applyPolicy(rate(25), {bandFactor: 0.5}).rateLbPerAcre).toBeCloseTo(63, 9);
    expect(() => applyPolicy(rate(), {bandFactor: 0.3})).toThrow(
      expect.objectContaining({code: "recommend/bad-band-factor"}),
    );
  });

  it("holds rates within limits; zero stays zero", () => {
    const limits = {P2O5: {minimum: 70, maximum: 90}};
    expect(applyPolicy(rate(), {limits}).rateLbPerAcre).toBe(90);
    expect(applyPolicy(rate(25), {limits}).rateLbPerAcre).toBe(0);
    const raised = applyPolicy(rate(25), {limits: {P2O5: {minimum: 70, belowMinimum: "minimum"}}});
    expect(raised.rateLbPerAcre).toBe(70);
    expect(codes(raised.issues)).toEqual(["recommend/raised-to-smallest", "recommend/above-guide"]);
    const none = applyPolicy(rate(60), {limits: {P2O5: {minimum: 70, belowMinimum: "minimum"}}});
    expect(none.rateLbPerAcre).toBe(0);
    expect(() => applyPolicy(rate(), {limits: {P2O5: {minimum: 90, maximum: 70}}})).toThrow("cannot be kept");
  });

  it("tells of every rate that a limit holds, raises or drops, and of no other", () => {
    const told = (ppm: number, limits: {minimum?: number; maximum?: number}) =>
      applyPolicy(rate(ppm), {limits: {P2O5: limits}}).issues.map(({code, message}) => [code, message]);
    // 103 lb are due at 12 ppm, 63 at 25.
    expect(told(12, {maximum: 90})).toEqual([
      [
        "recommend/held-at-largest",
        'Unit "U1" is due 103 lb P2O5/ac and is held at your largest rate, 90: 13 stays undone.',
      ],
    ]);
    expect(told(25, {minimum: 70})).toEqual([
      ["recommend/below-smallest", 'Unit "U1" is due 63 lb P2O5/ac, less than your smallest rate, 70: it gets none.'],
    ]);
    expect(told(12, {minimum: 70, maximum: 103})).toEqual([]);
  });

  it("goes above the guide only by an override with a reason, which is recorded", () => {
    const override = {unit: "U1", nutrient: "P2O5", lbPerAcre: 130, reason: "straw was baled"} as const;
    const found = applyPolicy(rate(), {overrides: [override]});
    expect(found.rateLbPerAcre).toBe(130);
    expect(texts(found)).toContain("set to 130: straw was baled");
    expect(found.issues[0]).toMatchObject({
      code: "recommend/above-guide",
      severity: "warning",
      place: {featureId: "U1"},
    });
    expect(() => applyPolicy(rate(), {overrides: [{...override, reason: " "}]})).toThrow("has no reason");
    expect(() => applyPolicy(rate(), {overrides: [override, override]})).toThrow("2 rates were");
    expect(applyPolicy(rate(), {overrides: [{...override, unit: "U2"}]}).rateLbPerAcre).toBe(103);
  });

  it("whatever the rules without override or raised minimum, stays between zero and the guide; the lines add up", () => {
    const lb = fc.double({min: 0, max: 200, noNaN: true});
    fc.assert(
      fc.property(
        lb,
        lb,
        lb,
        fc.double({min: 0.5, max: 1, noNaN: true}),
        fc.integer({min: 0, max: 60}),
        (a, b, c, bandFactor, ppm) => {
          const guide = rate(ppm);
          const found = applyPolicy(guide, {
            bandFactor,
            credits: [credit(a), credit(b, "manure")],
            limits: {P2O5: {minimum: Math.min(b, c), maximum: Math.max(b, c) + 1}},
          });
          expect(found.rateLbPerAcre).toBeGreaterThanOrEqual(0);
          expect(found.rateLbPerAcre).toBeLessThanOrEqual(guide.rateLbPerAcre + 1e-9);
          const added = found.working.slice(guide.working.length, -1).reduce((sum, {value}) => sum + value, 0);
          expect(guide.rateLbPerAcre + added).toBeCloseTo(found.rateLbPerAcre, 6);
        },
      ),
    );
  });
});

describe("yield goals", () => {
  const frame = frameAt(-86.4, 40.55);
  const square = (west: number, east: number) => [
    [
      [
        {x: west, y: 0},
        {x: east, y: 0},
        {x: east, y: 100},
        {x: west, y: 100},
        {x: west, y: 0},
      ],
    ],
  ];
  const UNITS = [
    {id: "A", shape: square(0, 100)},
    {id: "B", shape: square(100, 200)},
    {id: "C", shape: square(500, 600)},
  ];
  const grid = gridOver(frame, {west: 0, south: 0, east: 200, north: 100}, 10);
  const layer: Layer<"% of mean"> = {
    id: "yield",
    label: "three seasons",
    unit: "% of mean",
    grid,
    // By hand: 110 west and 90 east, one hole in each.
    values: Float64Array.from({length: 200}, (_, i) => (i === 0 || i === 15 ? Number.NaN : i % 20 < 10 ? 110 : 90)),
    madeFrom: {step: "test", inputs: [], options: {}},
  };

  it("from normalised yield are the field's goal in proportion; ground without yield gets the field's", () => {
    const {goals, issues} = yieldGoals(200, UNITS, {percentOfMean: layer});
    expect([...goals].map(([id, {yieldGoal}]) => [id, yieldGoal])).toEqual([
      ["A", 220],
      ["B", 180],
      ["C", 200],
    ]);
    expect(goals.get("A")?.goalFrom).toBe("200 for the field × 110 % of its mean here (three seasons)");
    expect(codes(issues)).toEqual(["recommend/field-yield-goal"]);
  });

  it("from a list are as set, and a unit that does not exist is refused", () => {
    expect(yieldGoals(200, UNITS, {byUnit: {A: 230, B: 170}}).goals.get("B")?.yieldGoal).toBe(170);
    expect(() => yieldGoals(200, UNITS, {byUnit: {Z: 230}})).toThrow('no unit "Z"');
    expect(() => yieldGoals(200, UNITS, {byUnit: {A: 0}})).toThrow(
      expect.objectContaining({code: "recommend/bad-yield-goal"}),
    );
  });

  it("stand in the working of the rate", () => {
    const goal = {crop: "corn", yieldGoal: 220, goalFrom: "200 for the field × 110 % of its mean here"};
    const found = advise(GUIDE, "P2O5", [soilTest("P", 25, "mehlich-3 icp", 8)], [goal]);
    expect(found.rateLbPerAcre).toBeCloseTo(77, 9);
    expect(found.working[1]).toMatchObject({
      text: "yield goal, corn: 200 for the field × 110 % of its mean here",
      value: 220,
      unit: "bu/ac",
    });
  });
});

describe("caution about soil phosphorus", () => {
  const of = (ppm: number, state?: string, method: "mehlich-3 icp" | "bray-1" = "mehlich-3 icp") =>
    cautions({unit: "U1", tests: [soilTest("P", ppm, method, 8)], ...(state && {state})});

  it.each([
    ["Ohio above 120 ppm (printed): none", 130, "OH", "above 120 ppm: apply no phosphorus"],
    ["Ohio between 50 and 120 ppm (printed)", 60, "oh", "above 50 ppm: no agronomic need"],
    ["Indiana's second tier (from memory)", 120, "IN", "second tier"],
    ["Delaware above 150 ppm (printed)", 151, "DE", "environmental concern"],
  ])("%s", (_, ppm, state, says) => {
    const [first] = of(ppm, state);
    expect(first).toMatchObject({
      code: "caution/phosphorus-threshold",
      hint: expect.stringContaining("Check local code"),
    });
    expect(first?.message).toContain(says);
  });

  it("is silent below a threshold, and knows no state's without its name", () => {
    expect(of(35, "OH")).toEqual([]);
    expect(codes(of(130))).toEqual(["caution/legacy-phosphorus"]);
    expect(codes(of(80, "MI", "bray-1"))).toEqual(["caution/phosphorus-threshold"]);
    expect(codes(of(80, "MI"))).toEqual(["caution/legacy-phosphorus"]);
  });

  it("counts lb/ac as ppm × 2", () => {
    const tests = [soilTest("P", 120, "bray-1", 8, "lb/ac")];
    expect(codes(cautions({unit: "U1", tests, state: "MI"}))).toEqual([]);
    expect(codes(cautions({unit: "U1", tests: [soilTest("P", 160, "bray-1", 8, "lb/ac")], state: "MI"}))).toHaveLength(
      1,
    );
  });

  it("stands up for soils that need none and are to get some", () => {
    const tests = [soilTest("P", 45, "mehlich-3 icp", 8)];
    const recommendation = applyPolicy(rate(45), {
      overrides: [{unit: "U1", nutrient: "P2O5", lbPerAcre: 20, reason: "starter"}],
    });
    expect(codes(cautions({unit: "U1", tests, recommendation}))).toEqual([
      "caution/legacy-phosphorus",
      "caution/phosphorus-on-high-soil",
    ]);
    expect(cautions({unit: "U1", tests, crops: ["corn", "wheat"]})).toEqual([]);
  });

  it("marks every threshold as printed or from memory, by state and rising", () => {
    for (const {basis, state, above} of PHOSPHORUS_THRESHOLDS) {
      expect(["printed", "from memory"]).toContain(basis);
      expect(state).toMatch(/^[A-Z]{2}$/);
      expect(above).toBeGreaterThan(0);
    }
  });
});
