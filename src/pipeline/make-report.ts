import type {ReportModel, ReportRecord} from "../report/report-model.ts";
import type {Strategy} from "../sampling/plan.ts";
import type {Job} from "./job.ts";
import type {RunResult} from "./run.ts";
import {CAUTION} from "./run-record.ts";
import {VERSION} from "./version.ts";

/** Both reports' model of a run. */
export function reportOf(
  job: Job,
  run: Pick<RunResult, "field" | "comparison" | "evidence" | "strategies" | "issues" | "steps" | "labSentences">,
  inputs: ReportRecord["inputs"],
  date: string | undefined,
): ReportModel {
  const {field, comparison, evidence, strategies, issues, steps, labSentences} = run;
  const {guides = [], holdOuts = [], ...known} = evidence ?? {};
  const spread = spreadOf(job, strategies);
  return {
    farm: job.farm,
    field: field.name,
    acres: comparison.acres,
    crops: (job.rates?.crops ?? [])
      .map(({crop, yieldGoal: {amount, unit}}) => `${crop} ${amount} ${unit}`)
      .join(", then "),
    date,
    outline: field.outline,
    strategies: strategies.map(({limeRates, prescriptions, ...strategy}) => ({
      ...strategy,
      prescriptions: [...prescriptions, ...(limeRates ? [limeRates] : [])],
    })),
    ...(spread && {spread}),
    comparison,
    ...known,
    ...(holdOuts.length > 0 && {holdOuts}),
    ...(guides.length > 0 && {guides}),
    issues,
    record: {
      program: {name: "Loamwright", version: VERSION},
      seed: job.seed,
      inputs,
      steps,
      options: job,
      labSentences,
    },
    caution: CAUTION,
  };
}

/** The one the hand-over names, or the only one with rates. */
function spreadOf({handOver}: Job, strategies: RunResult["strategies"]): Strategy | undefined {
  const rated = strategies
    .filter(({prescriptions, limeRates}) => prescriptions.length > 0 || limeRates)
    .map(({plan}) => plan.strategy);
  if (handOver?.strategy === undefined) return rated.length === 1 ? rated[0] : undefined;
  return rated.find((strategy) => strategy === handOver.strategy);
}
