import {type Issue, isFieldError} from "../errors.ts";
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
  const missing = job.rates?.missing ?? "refuse";
  let refused: unknown;
  const lime = inputsOf({missing}, plan, values, []).flatMap(({unit, tests}) => {
    try {
      return [recommendLime(findLimeMethod(method), {unit, tests, options})];
    } catch (error) {
      if (missing !== "zero" || !isNotMeasured(error, tests)) throw error;
      refused ??= error;
      return [];
    }
  });
  // Where not one unit has what the method needs, that is what is wrong.
  if (refused !== undefined && lime.length === 0) throw refused;
  issues.push(...lime.flatMap((one) => one.issues));
  return {lime, issues};
}

function isNotMeasured(error: unknown, tests: readonly UnitValue[]): boolean {
  if (!isFieldError(error)) return false;
  return (
    error.code === "lime/no-test" ||
    (error.code === "lime/buffer" && !tests.some(({analyte}) => analyte === "buffer pH"))
  );
}
