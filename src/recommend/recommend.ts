import {FieldError, type Issue} from "../errors.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {type BuildupOptions, buildupAndMaintenance} from "./buildup-and-maintenance.ts";
import {cropYears, guideCrop, type PlannedCrop} from "./crop-years.ts";
import {type AcceptMethod, fitTest} from "./fit-test.ts";
import type {Guide} from "./guide.ts";
import type {Recommendation} from "./recommendation.ts";

export interface RecommendInput {
  /** Sampling unit id, or `"whole field"` for a pooled plan. */
  readonly unit: string;
  readonly tests: readonly UnitValue[];
  /** The crops one application serves, in order. */
  readonly crops: readonly PlannedCrop[];
  readonly options?: RecommendOptions;
}

export interface RecommendOptions extends BuildupOptions {
  /** Which nutrients to work out; all of the guide's by default. */
  readonly nutrients?: readonly Nutrient[];
  /** Other crops of the rotation, which the application does not serve but which may raise the critical level. */
  readonly rotation?: readonly string[];
  /** Runs the guide on tests it was not made for; each rate it touches then says "for arithmetic only". */
  readonly acceptMethod?: AcceptMethod;
}

/**
 * Works out what a published guide recommends for one unit, with every step of the working.
 *
 * Rates are lb of oxide per acre for all crops the application serves, exactly as the guide's equations give them: no
 * rounding, no cap, no machine limit. Nothing is converted between soil-test methods.
 *
 * @returns One recommendation for each nutrient asked for, in the guide's order.
 * @throws {FieldError} `recommend/guide-does-not-fit` when test, depth, unit or crop is not what the guide was made
 *   for, `recommend/no-test`, `recommend/no-cec`, `recommend/no-crop`, `recommend/bad-yield-goal`, `recommend/bad-cec`,
 *   `recommend/too-many-crop-years`, `recommend/no-nutrient`, `recommend/no-reason`.
 */
export function recommend(guide: Guide, input: RecommendInput): readonly Recommendation[] {
  const {unit, tests, options = {}} = input;
  if (options.acceptMethod && options.acceptMethod.reason.trim() === "") {
    throw new FieldError("recommend/no-reason", "The guide was told to accept another method without a reason.", {
      hint: "Write down why, or leave acceptMethod out.",
    });
  }
  const {years, issues: cropIssues} = cropYears(guide, input.crops);
  const planned = years.flatMap(({harvests}) => harvests.map(({crop}) => crop.id));
  const others = (options.rotation ?? []).map((name) => guideCrop(guide, name).id);
  const rotation = [...new Set([...planned, ...others])];
  return rulesFor(guide, options.nutrients).map((rule) => {
    const {test, issues: fitIssues} = fitTest(guide, rule.test, unit, tests, options.acceptMethod);
    const {issues, ...worked} = buildupAndMaintenance(guide, rule, {unit, test, tests, years, rotation, options});
    return {
      unit,
      nutrient: rule.nutrient,
      ...worked,
      test: {value: test.value, unit: rule.test.unitLabel, method: test.method},
      guide: {id: guide.id, title: guide.title, edition: guide.edition},
      issues: [...fitIssues, ...cropIssues, ...issues] satisfies Issue[],
    };
  });
}

function rulesFor(guide: Guide, nutrients: readonly Nutrient[] | undefined): Guide["nutrients"] {
  const missing = nutrients?.find((nutrient) => !guide.nutrients.some((rule) => rule.nutrient === nutrient));
  if (missing) {
    throw new FieldError("recommend/no-nutrient", `${guide.cite} has no rule for ${missing} here.`, {
      hint: `It gives ${guide.nutrients.map(({nutrient}) => nutrient).join(" and ")}.`,
    });
  }
  return guide.nutrients.filter(({nutrient}) => nutrients === undefined || nutrients.includes(nutrient));
}
