import {describe, expect, it} from "vitest";
import {machineRate} from "../../src/prescription/machine-rate.ts";
import {parseProduct} from "../../src/prescription/parse-product.ts";
import {wantOf} from "../../src/prescription/rated-ground.ts";
import {unitRate} from "../../src/prescription/unit-rate.ts";
import type {Recommendation} from "../../src/recommend/recommendation.ts";
import {workingText} from "../../src/report/working-text.ts";

const recommendation: Recommendation = {
  unit: "Z3",
  nutrient: "P2O5",
  rateLbPerAcre: 129.25,
  test: {value: 17, unit: "ppm", method: "mehlich-3 icp"},
  testClass: "below the critical level",
  guide: {id: "g", title: "A guide", edition: "2020"},
  working: [
    {text: "soil-test P by mehlich-3 icp", value: 17, unit: "ppm", source: "lab row 54", basis: "user"},
    {text: "critical level", value: 20, unit: "ppm", source: "A guide 2020, table 2", basis: "printed"},
    {text: "buildup: (20 − 17) × 5", value: 15, unit: "lb P2O5/ac", source: "A guide 2020", basis: "from memory"},
    {text: "removal, corn: 195 × 0.35", value: 68.25, unit: "lb P2O5/ac", source: "A guide 2020", basis: "printed"},
    {
      text: "removal, soybean, with a long explanation that goes on over the end of the line: 46",
      value: 46,
      unit: "lb P2O5/ac",
      source: "A guide 2020",
      basis: "printed",
    },
  ],
  issues: [{code: "x/y", severity: "note", message: "A remark on this rate.", hint: "Do this."}],
};
const limits = {stepLbPerAcre: 5, minLbPerAcre: 0, maxLbPerAcre: 240, belowMin: "zero", outsideLbPerAcre: 0} as const;
const product = parseProduct({analysis: "11-52-0"});
const rate = unitRate(
  {unit: "Z3", polygons: ["Z3"], acres: 31.2},
  wantOf(product, "P2O5", 129.25),
  product,
  "P2O5",
  limits,
);

describe("the working as text", () => {
  it("leads from the test to the rate, and from the rate to the machine", () => {
    expect(workingText(recommendation, {product, rate}, 72)).toBe(
      `
Z3, P2O5
A guide, 2020

 1  soil-test P by mehlich-3 icp                           17 ppm
      lab row 54
 2  critical level                                         20 ppm
      A guide 2020, table 2
 3  buildup: (20 − 17) × 5                                 15 lb P2O5/ac
      A guide 2020; from memory, check against the bulletin
 4  removal, corn: 195 × 0.35                           68.25 lb P2O5/ac
      A guide 2020
 5  removal, soybean, with a long explanation that         46 lb P2O5/ac
    goes on over the end of the line: 46
      A guide 2020
────────────────────────────────────────────────────────────────────────
P2O5: below the critical level                         129.25 lb P2O5/ac
────────────────────────────────────────────────────────────────────────
 6  11-52-0 for 129.25 lb P2O5: 129.25 ÷ 0.52          248.56 lb/ac
      analysis 11-52-0
 7  rounded to the nearest 5                              250 lb/ac
      rate step of the machine
 8  held at the largest rate, 240                         240 lb/ac
      largest rate set
 9  carries N: 240 × 0.11                                26.4 lb N/ac
      analysis 11-52-0
────────────────────────────────────────────────────────────────────────
11-52-0                                                   240 lb/ac
════════════════════════════════════════════════════════════════════════

A remark on this rate. Do this.
`.slice(1),
    );
  });

  it("ends with a double rule under the nutrient when there is no product", () => {
    const lines = workingText(recommendation, undefined, 72).split("\n");
    const at = lines.findIndex((line) => line.startsWith("P2O5: below the critical level"));
    expect(lines[at]).toMatch(/129\.25 lb P2O5\/ac$/);
    expect([lines[at - 1], lines[at + 1]]).toEqual(["─".repeat(72), "═".repeat(72)]);
  });

  it("shows the rate the machine gets, the same as the prescription's", () => {
    expect(workingText(recommendation, {product, rate})).toMatch(
      new RegExp(`\\n11-52-0 +${machineRate(129.25 / 0.52, limits).rateLbPerAcre} lb/ac\\n═+\\n`),
    );
  });

  it("keeps to the width it is given", () => {
    for (const line of workingText(recommendation, {product, rate}, 60).split("\n")) {
      expect(line.length).toBeLessThanOrEqual(60);
    }
  });
});
