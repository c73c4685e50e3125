import {type FieldError, type Issue, isFieldError} from "../errors.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {lacksResult} from "./explain-refusal.ts";
import type {Job} from "./job.ts";
import type {Remarks} from "./read-inputs.ts";

/** Whether a plan that lacks results goes without rates, and the others do not wait for it. */
export const leavesOut = ({rates}: Job): boolean => rates?.missing === "leave out";

/** That a plan has no rates, and why. */
export function leftOut({strategy}: SamplingPlan, {message, hint, place}: FieldError): Issue {
  return {
    code: "rates/plan-left-out",
    severity: "warning",
    message: `The ${strategy} plan has no rates and is left out of the comparison. ${message}`,
    place: {file: `rates-${strategy}`, ...place},
    ...(hint && {hint}),
  };
}

/** What the work makes of a plan; undefined, with a warning, where the job leaves out what lacks a result. */
export function unlessLeftOut<T>(job: Job, plan: SamplingPlan, remarks: Remarks, work: () => T): T | undefined {
  try {
    return work();
  } catch (error) {
    if (!leavesOut(job) || !isFieldError(error) || !lacksResult(error)) throw error;
    remarks.push(leftOut(plan, error));
    return undefined;
  }
}
