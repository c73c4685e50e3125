import type {CropYear} from "../crop-years.ts";
import {cropYears, type PlannedCrop} from "../crop-years.ts";
import type {Guide} from "../guide.ts";
import type {Recommendation} from "../recommendation.ts";
import {type RemovalOptions, removalOf} from "../removal.ts";
import {type Drawdown, yearsToCritical} from "./years-to-critical.ts";

/**
 * Years of cropping alone that bring a unit's high test down to the guide's critical level.
 *
 * The lb of oxide behind a ppm are those the guide itself builds up with; a guide that does not say gives no estimate.
 *
 * @param cecMeq - For guides whose buildup depends on it, meq/100 g.
 * @returns undefined where the guide gives no critical level or no buildup, or the test is not above the level.
 */
export function drawDown(
  guide: Guide,
  {nutrient, test, criticalLevel}: Recommendation,
  crops: readonly PlannedCrop[],
  cecMeq: number | undefined,
  options: RemovalOptions,
): Drawdown | undefined {
  const rule = guide.nutrients.find((one) => one.nutrient === nutrient);
  if (rule?.kind !== "buildup and maintenance" || rule.buildup.squareRoot) return undefined;
  const {base, perCec, years: over} = rule.buildup;
  if (criticalLevel === undefined || !(test.value > criticalLevel) || (perCec && cecMeq === undefined))
    return undefined;
  const slope = base.value + (perCec ? perCec.value * (cecMeq as number) : 0);
  const lbPerTestUnit = over && !over.divides ? slope * over.usual.value : slope;
  const {years} = cropYears(guide, crops);
  const removal = years.reduce((sum, year) => sum + removalIn(guide, year, nutrient, options), 0) / years.length;
  if (!(removal > 0 && lbPerTestUnit > 0)) return undefined;
  return yearsToCritical({
    analyte: rule.test.analyte,
    nutrient,
    test: test.value,
    critical: criticalLevel,
    removalLbPerYear: removal,
    lbPerPpm: lbPerTestUnit,
  });
}

function removalIn(
  guide: Guide,
  {harvests}: CropYear,
  nutrient: Recommendation["nutrient"],
  options: RemovalOptions,
): number {
  return harvests.reduce(
    (sum, {crop, yieldGoal}) => sum + yieldGoal * removalOf(guide, crop, nutrient, options).value,
    0,
  );
}
