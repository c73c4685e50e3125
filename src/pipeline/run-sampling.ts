import type {Comparison} from "../compare/comparison.ts";
import type {Issue} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import {encodeUtf8} from "../formats/text.ts";
import type {Field} from "../geo/field.ts";
import {loadGeos} from "../geo/geos.ts";
import type {Paper} from "../report/page-html.ts";
import {bagsOf} from "../report/sampling-bags.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {planMark} from "../sampling/plan-mark.ts";
import {type Host, lendTo, step} from "./host.ts";
import type {Job} from "./job.ts";
import {compareRun} from "./make-comparison.ts";
import {makePlans} from "./make-plans.ts";
import {plannedHours, SAMPLING_CAUTION, samplingPapers, validationPapers} from "./make-sampling-papers.ts";
import {type TakenPlan, takenOfPlans, takenRecord} from "./make-taken.ts";
import {zonesOf} from "./make-zones.ts";
import {unrated} from "./rate-plans.ts";
import {type Remarks, readField} from "./read-inputs.ts";
import {digests} from "./run.ts";
import {VERSION} from "./version.ts";
import {zoneFile} from "./write-outputs.ts";

/** One plan in figures. */
export interface PlanFigures {
  /** Mark of the plan, kept with its lab results. */
  readonly mark: string;
  readonly strategy: SamplingPlan["strategy"];
  readonly bags: number;
  readonly cores: number;
  readonly walkM: number;
  readonly hours: number;
  /** Dollars by the job's prices; undefined where it has none. */
  readonly cost?: number;
}

export interface SamplingRun {
  readonly field: Field;
  readonly plans: readonly SamplingPlan[];
  readonly figures: readonly PlanFigures[];
  /** What came back, where the job names logs. */
  readonly taken: readonly TakenPlan[];
  readonly outputs: ReadonlyMap<string, Uint8Array>;
  readonly issues: readonly Issue[];
}

/** Name of the record among the outputs. */
export const SAMPLING_RECORD = "sampling.json";

/**
 * Plans the sampling of a job and makes everything the crew carries, without lab results; with the crew's logs, what was
 * really taken. Layers are read only when zones are asked for.
 *
 * Same job, same files, same bytes.
 *
 * @throws {FieldError} whatever a reader or stage refuses.
 */
export async function runSampling(job: Job, given: FileSet, host: Host, paper: Paper = "letter"): Promise<SamplingRun> {
  await loadGeos();
  const files = lendTo(given, host);
  const remarks: Remarks = [];
  await step(host, "reading the boundary");
  const field = await readField(job, files, remarks);
  const {zoneMap} = job.strategies.includes("zone") ? await zonesOf(job, field, files, host, remarks) : {};
  await step(host, "planning the sampling");
  const planned = await makePlans(job, field, zoneMap, files, remarks, host);
  const {plans} = planned;
  const outputs = new Map<string, Uint8Array>();
  if (zoneMap) outputs.set("zones.geojson", zoneFile(field, zoneMap));
  for (const plan of plans) {
    await step(host, `setting the ${plan.strategy} sheet`);
    for (const [name, bytes] of samplingPapers(job, field, plan, paper)) outputs.set(name, bytes);
  }
  for (const [name, bytes] of planned.outputs) outputs.set(name, bytes);
  if (planned.validation) {
    for (const [name, bytes] of validationPapers(job, field, planned.validation, paper)) outputs.set(name, bytes);
  }
  const {taken, outputs: takenFiles} = await takenOfPlans(job, field, plans, files, remarks, planned.validation);
  for (const [name, bytes] of takenFiles) outputs.set(name, bytes);
  const comparison = compareRun(job, field, plans.map(unrated));
  const figures = plans.map((plan) => figuresOf(job, plan, comparison));
  const record = {
    kind: "sampling record",
    program: {name: "loamwright", version: VERSION},
    caution: SAMPLING_CAUTION,
    field: {name: field.name, areaM2: field.area, frame: field.frame},
    seed: job.seed,
    job,
    inputs: await digests(files, host),
    outputs: await digests(outputs, host),
    plans: figures,
    steps: [
      ...(zoneMap ? [zoneMap.madeFrom] : []),
      ...plans.map(({madeFrom}) => madeFrom),
      ...(planned.validation ? [planned.validation.madeFrom] : []),
    ],
    ...(taken.length > 0 && {taken: taken.map(takenRecord)}),
    issues: remarks,
  };
  outputs.set(SAMPLING_RECORD, encodeUtf8(`${JSON.stringify(record, null, 1)}\n`));
  return {field, plans, figures, taken, outputs, issues: remarks};
}

function figuresOf(job: Job, plan: SamplingPlan, comparison: Comparison): PlanFigures {
  const row = comparison.rows.find(({strategy}) => strategy === plan.strategy);
  const bags = bagsOf(plan);
  return {
    strategy: plan.strategy,
    mark: planMark(plan),
    bags: bags.length,
    cores: bags.reduce((sum, {cores}) => sum + cores.length, 0),
    walkM: plan.walk ?? 0,
    hours: plannedHours(job, plan),
    ...(row?.samplingCost !== undefined && {cost: row.samplingCost}),
  };
}
