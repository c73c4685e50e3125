import type {Method, SoilTestUnit, UnitValue} from "../../src/lab/soil-test.ts";
import type {PlannedCrop} from "../../src/recommend/crop-years.ts";
import type {Guide} from "../../src/recommend/guide.ts";
import {type RecommendOptions, recommend} from "../../src/recommend/recommend.ts";
import type {Recommendation} from "../../src/recommend/recommendation.ts";
import type {Nutrient} from "../../src/units/nutrient.ts";

const METRES_PER_INCH = 0.0254;

/** A soil test as a guide wants it: its own unit and depth, and the given or its first method. */
export function fitting(guide: Guide, nutrient: Nutrient, value: number, method?: Method): UnitValue {
  const need = guide.nutrients.find((rule) => rule.nutrient === nutrient)?.test;
  if (!need) throw new Error(`${guide.id} has no rule for ${nutrient}`);
  const [from, to] = need.depthM;
  return {
    analyte: need.analyte,
    value,
    unit: need.unit,
    method: method ?? (need.methods[0] as Method),
    depthM: (from + to) / 2,
    from: "check value",
  };
}

export function soilTest(
  analyte: UnitValue["analyte"],
  value: number,
  method: Method,
  inches: number,
  unit: SoilTestUnit = "mg/kg",
): UnitValue {
  return {analyte, value, unit, method, depthM: inches * METRES_PER_INCH, from: "check value"};
}

export const cec = (value: number): UnitValue => soilTest("CEC", value, "sum of cations", 8, "meq/100 g");

/** The one recommendation for a nutrient. */
export function advise(
  guide: Guide,
  nutrient: Nutrient,
  tests: readonly UnitValue[],
  crops: readonly PlannedCrop[],
  options: RecommendOptions = {},
): Recommendation {
  const [found] = recommend(guide, {unit: "U1", tests, crops, options: {...options, nutrients: [nutrient]}});
  if (!found) throw new Error("no recommendation");
  return found;
}

export const crop = (name: string, yieldGoal: number): PlannedCrop => ({crop: name, yieldGoal});
export const codes = (issues: readonly {code: string}[]): string[] => issues.map(({code}) => code);
