import {readFileSync} from "node:fs";
import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {isFieldError} from "../../src/errors.ts";
import {describeGuide} from "../../src/recommend/describe-guide.ts";
import {GUIDES} from "../../src/recommend/find-guide.ts";
import type {Guide} from "../../src/recommend/guide.ts";
import {guidesThatFit} from "../../src/recommend/guides-that-fit.ts";
import {readGuide} from "../../src/recommend/read-guide.ts";
import {advise, crop, fitting, soilTest} from "./advise.ts";

const page = readFileSync(new URL("../../docs/guides/your-own.md", import.meta.url), "utf8");
const EXAMPLE = JSON.parse(/```json\n([\s\S]*?)```/.exec(page)?.[1] ?? "null") as Record<string, unknown>;

/** The example with one part changed, as text so that any path can be reached. */
const changed = (from: string, to: string): unknown => {
  const text = JSON.stringify(EXAMPLE);
  if (!text.includes(from)) throw new Error(`the example has no ${from}`);
  return JSON.parse(text.replace(from, to));
};

describe("the example of the page", () => {
  const guide = readGuide(EXAMPLE, "own.json");

  it("is a guide: 12 ppm gets (22−12)×18÷6 + 180×0.33 for corn, a ramp and a table", () => {
    const p = (value: number) => advise(guide, "P2O5", [fitting(guide, "P2O5", value)], [crop("corn", 180)]);
    expect(p(12).rateLbPerAcre).toBeCloseTo(30 + 59.4, 9);
    expect(p(40).rateLbPerAcre).toBeCloseTo(59.4 / 2, 9);
    expect(p(40).testClass).toBe("drawn down");
    expect(p(45).rateLbPerAcre).toBe(0);
    expect(
      p(12)
        .working.filter(({source}) => source === "River bottom 2026")
        .every(({basis}) => basis === "user"),
    ).toBe(true);
    const k = advise(guide, "K2O", [fitting(guide, "K2O", 100)], [crop("corn", 180)]);
    expect(k).toMatchObject({rateLbPerAcre: 90, testClass: "low"});
    expect(k.working.at(-1)?.basis).toBe("printed");
  });

  it("has a page, and refuses what it was not made for", () => {
    expect(describeGuide(guide)).toContain("(critical level − P) × 18 *(user)* ÷ years");
    expect(() => advise(guide, "P2O5", [soilTest("P", 12, "bray-1", 8)], [crop("corn", 180)])).toThrow("does not fit");
    expect(guidesThatFit([guide], [fitting(guide, "P2O5", 12)], ["corn"], "IN")).toEqual([guide]);
    expect(guidesThatFit([guide], [fitting(guide, "P2O5", 12)], ["wheat"])).toEqual([]);
    expect(guidesThatFit([guide], [fitting(guide, "P2O5", 12)], ["corn"], "OH")).toEqual([]);
  });
});

it("a rule by square roots: S13, S14 as in Missouri, per acre of soil test, from memory", () => {
  const rule = (nutrient: string, analyte: string, critical: number, base: number) => ({
    kind: "buildup and maintenance",
    nutrient,
    test: {analyte, methods: ["bray-1", "ammonium acetate"], unit: "lb/ac", depthIn: 7, alsoPpm: true},
    limits: [{crops: ["corn"], critical, maintenance: critical * 1.5}],
    buildup: {base, squareRoot: true, years: {usual: 8, choices: [4, 8], divides: true}},
    classes: ["low", "kept", "high"],
  });
  const guide = readGuide(
    {
      ...EXAMPLE,
      crops: [{id: "corn", yieldUnit: "bu/ac", usualYield: [60, 300], removal: {P2O5: 0, K2O: 0}}],
      nutrients: [rule("P2O5", "P", 45, 110), rule("K2O", "K", 220 + 5 * 15, 75.5)],
    },
    "own.json",
  );
  const of = (nutrient: "P2O5" | "K2O", value: number) =>
    advise(guide, nutrient, [fitting(guide, nutrient, value)], [crop("corn", 180)]).rateLbPerAcre;
  // 110 × (√45 − √20) ÷ 8 and 75.5 × (√295 − √200) ÷ 8.
  expect(Math.abs(of("P2O5", 20) - 30.75)).toBeLessThan(0.05);
  expect(Math.abs(of("K2O", 200) - 28.63)).toBeLessThan(0.05);
  const ppm = advise(guide, "P2O5", [soilTest("P", 10, "bray-1", 7)], [crop("corn", 180)]);
  expect(ppm.rateLbPerAcre).toBeCloseTo(of("P2O5", 20), 9);
});

describe("a guide that is not valid says where", () => {
  it.each([
    ['"usual":6', '"usual":"six"', "guide.nutrients[0].buildup.years.usual"],
    ['"critical":22', '"critical":40', "guide.nutrients[0].limits[0] has limits that do not rise"],
    ['"critical":22', '"kritical":22', "guide.nutrients[0].limits[0].kritical is not a field"],
    ['"kind":"class table"', '"kind":"table"', 'guide.nutrients[1].kind is "table"'],
    ['"upTo":[120,170]', '"upTo":[120]', "guide.nutrients[1].scales[0].upTo has 1 ends for 3 classes"],
    ['"upTo":[120,170]', '"upTo":[170,120]', "guide.nutrients[1].scales[0].upTo does not rise"],
    ['"rates":[100,"removal",0]', '"rates":[100,"removal"]', "guide.nutrients[1].rows[1].rates has 2 rates"],
    ['"analyte":"K"', '"analyte":"P"', 'guide.nutrients[1].test.analyte is "P" in a rule for K2O'],
    ['"methods":["mehlich-3 icp"]', '"methods":["icp"]', 'guide.nutrients[0].test.methods[0] is "icp"'],
    ['"crops":["corn","soybean"]', '"crops":["corn"]', "has no row for soybean"],
    ['"crops":["corn","soybean"]', '"crops":["corn","soybean","oats"]', 'has a row for "oats"'],
    ['"removal":{"P2O5":0.33,"K2O":0.19}', '"removal":{"K2O":0.19}', "needs the P2O5 removal of corn"],
    ['"usualYield":[80,300]', '"usualYield":[300,80]', "guide.crops[0].usualYield is not two rising numbers"],
    ['"id":"corn"', '"id":"Corn"', 'guide.crops[0].id is "Corn"'],
    ['"id":"river-bottom-2026"', '"id":"River Bottom"', 'guide.id is "River Bottom"'],
    ['"year":2026', '"year":null', "guide.year is null, not a number"],
    ['"validity":["River-bottom silt loams, sampled 0 to 8 in."]', '"validity":[]', "guide.validity has 0 entries"],
    ['"mostCropYears":2', '"mostCropYears":2,"conversions":["own"]', 'names "own", which is no known relation'],
    ['"classes":["low","kept","high"]', '"classes":["low","high"]', "guide.nutrients[0].classes has 2 entries"],
    ['"zero":45', '"zero":45,"perCec":1', "guide.nutrients[0].cec is missing"],
    ['"depthIn":8', '"depthIn":0', "guide.nutrients[0].test.depthIn is 0"],
  ])("%s written as %s", (from, to, says) => {
    const read = () => readGuide(changed(from, to), "own.json");
    expect(read).toThrow(expect.objectContaining({code: "guide/not-valid", place: {file: "own.json"}}));
    expect(read).toThrow(says);
  });

  it("all at once", () => {
    try {
      readGuide({id: "x"}, "own.json");
      expect.unreachable();
    } catch (error) {
      if (!isFieldError(error)) throw error;
      expect(error.message).toMatch(/^own\.json: guide\.title is missing, not a text \(and \d+ more\)\.$/);
      expect(error.issues.length).toBeGreaterThan(8);
    }
  });

  it("whatever is in the file", () => {
    fc.assert(
      fc.property(fc.anything(), fc.constantFrom(...Object.keys(EXAMPLE)), (value, key) => {
        for (const data of [value, {...EXAMPLE, [key]: value}]) {
          try {
            readGuide(data, "own.json");
          } catch (error) {
            if (!isFieldError(error)) throw error;
          }
        }
      }),
      {numRuns: 400},
    );
  });
});

it("every built-in guide can be written as a data file and says the same", () => {
  for (const guide of GUIDES) {
    const again = readGuide(JSON.parse(JSON.stringify(asFile(guide))), "own.json");
    expect(describeGuide(again)).toBe(describeGuide(guide));
  }
});

/** A guide's data in the form of a file: a depth in inches in place of a range. */
function asFile(guide: Guide): unknown {
  return {
    ...guide,
    nutrients: guide.nutrients.map((rule) => ({
      ...rule,
      test: {
        analyte: rule.test.analyte,
        methods: rule.test.methods,
        unit: rule.test.unitLabel,
        depthIn: Math.round((rule.test.depthM[0] + rule.test.depthM[1]) / 2 / 0.0254),
        ...(rule.test.alsoIn && {alsoPpm: true}),
      },
    })),
    example: {
      ...guide.example,
      tests: guide.example.tests.map(({analyte, value, unit, method, depthM}) => ({
        analyte,
        value,
        unit: unit === "mg/kg" ? "ppm" : unit,
        method,
        depthIn: Math.round(depthM / 0.0254),
      })),
    },
  };
}
