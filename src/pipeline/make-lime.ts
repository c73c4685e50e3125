import type {Issue} from "../errors.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import {findLimeMethod} from "../recommend/lime/lime-methods.ts";
import {type LimeRecommendation, recommendLime} from "../recommend/lime/recommend-lime.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {METRES_PER_INCH, POUNDS_PER_SHORT_TON} from "../units/factors.ts";
import {given} from "./given.ts";
import type {Job} from "./job.ts";
import {inputsOf} from "./make-rates.ts";

/**
 * The lime each unit of a plan needs, or the whole field's for a pooled one; none when the job asks for none.
 *
 * @throws {FieldError} those of `recommendLime`.
 */
export function limePlan(
  job: Job,
  plan: SamplingPlan,
  values: ReadonlyMap<string, readonly UnitValue[]>,
): {lime: LimeRecommendation[]; issues: Issue[]} {
  if (!job.lime) return {lime: [], issues: []};
  const {method, targetPh, slack, depth, material, acidityMeq, earlier} = job.lime;
  const options = {
    targetPh,
    ...given({slack, acidityMeq}),
    ...(depth !== undefined && {depthIn: depth / METRES_PER_INCH}),
    ...(earlier !== undefined && {residualTonPerAcre: earlier / POUNDS_PER_SHORT_TON}),
    ...(material && {material: {name: material.name, ...given(material)}}),
  };
  const issues: Issue[] = [];
  const lime = inputsOf({missing: job.rates?.missing ?? "refuse"}, plan, values, []).map(({unit, tests}) =>
    recommendLime(findLimeMethod(method), {unit, tests, options}),
  );
  issues.push(...lime.flatMap((one) => one.issues));
  return {lime, issues};
}
