import {FieldError} from "../errors.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {planMark} from "../sampling/plan-mark.ts";
import type {Job} from "./job.ts";
import type {Remarks} from "./read-inputs.ts";

/**
 * Lab results belong to the plan they were taken by: with its mark in the job, a plan that was made anew in another way may
 * not have them; without, the marks to write into the job are told.
 *
 * Reports that say where each sample was taken, and repeated plans, need no mark.
 *
 * @returns Plans that are not those the samples were taken by, each with the refusal of results that bear its ids.
 */
export function checkPlans(
  job: Job,
  plans: readonly SamplingPlan[],
  remarks: Remarks,
): ReadonlyMap<SamplingPlan, FieldError> {
  const others = new Map<SamplingPlan, FieldError>();
  if (!job.lab) return others;
  const {plans: marks, places, files} = job.lab;
  for (const plan of plans) {
    const asked = marks[plan.strategy];
    const found = planMark(plan);
    if (asked === undefined || asked.trim().toUpperCase() === found) continue;
    others.set(
      plan,
      new FieldError(
        "lab/other-plan",
        `The samples were taken by ${plan.strategy} plan ${asked}, and this job now makes plan ${found}: its ids stand for other ground.`,
        {
          hint: `Set back what changed (zones, grid, gate, keep-outs, seed), or take the plan from its files with "repeat" under "sampling".`,
        },
      ),
    );
  }
  const byPlace = places !== undefined || files.some(({x, y}) => x !== undefined && y !== undefined);
  const unmarked = plans.filter(({strategy}) => marks[strategy] === undefined);
  if (byPlace || unmarked.length === 0) return others;
  const text = unmarked.map((plan) => `"${plan.strategy}": "${planMark(plan)}"`).join(", ");
  remarks.push({
    code: "lab/plan-not-marked",
    severity: "note",
    message: "Results were joined by sample id to the plans as this job makes them today.",
    hint: `Write "plans": {${text}} under "lab", and a change that moves an id to other ground is refused.`,
  });
  return others;
}
