import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {type PlansWithin, plansWithin} from "../sampling/budget.ts";
import {planGrid} from "../sampling/by-grid.ts";
import {planPoints} from "../sampling/by-points.ts";
import {planZones} from "../sampling/by-zone.ts";
import type {PlanOptions} from "../sampling/options.ts";
import {USUAL_PACE} from "../sampling/pace.ts";
import type {SamplingPlan, Strategy} from "../sampling/plan.ts";
import {repeatPlan} from "../sampling/repeat-plan.ts";
import {type ValidationSet, validationSet} from "../sampling/validation-set.ts";
import {planWholeField, type WholeFieldOptions} from "../sampling/whole-field.ts";
import type {ZoneMap} from "../zones/zone-map.ts";
import {given} from "./given.ts";
import type {Job} from "./job.ts";
import {type Remarks, remarksAt} from "./read-inputs.ts";
import {readSamplingFiles, type SamplingGround} from "./read-sampling-files.ts";
import {budgetFile, validationFiles} from "./write-outputs.ts";

/** The plans of a job, and what it asks for beside them. */
export interface JobPlans {
  readonly plans: readonly SamplingPlan[];
  readonly validation?: ValidationSet;
  readonly budget?: PlansWithin;
  /** Files of validation bags and budget, by name. The plans' own are written by `planFiles`. */
  readonly outputs: ReadonlyMap<string, Uint8Array>;
}

/** Reads what the sampling of a job needs and makes the plan of each of its strategies. */
export async function makePlans(
  job: Job,
  field: Field,
  zoneMap: ZoneMap | undefined,
  files: FileSet,
  remarks: Remarks,
): Promise<JobPlans> {
  const ground = await readSamplingFiles(job, field, files, remarks);
  const plans = job.strategies.map((strategy) => makePlan(job, field, strategy, zoneMap, ground));
  for (const plan of plans) remarks.push(...remarksAt({file: `plan-${plan.strategy}-units`}, plan.issues));
  const outputs = new Map<string, Uint8Array>();
  const validation = validationOf(job, field, plans, ground);
  if (validation) {
    remarks.push(...remarksAt({file: "plan-validation-cores"}, validation.issues));
    for (const [name, bytes] of validationFiles(field, validation)) outputs.set(name, bytes);
  }
  const budget = withinBudget(job, field, zoneMap, ground);
  if (budget) {
    remarks.push(...remarksAt({file: "plan-budget.csv"}, budget.issues));
    outputs.set("plan-budget.csv", budgetFile(budget, job.prices?.year));
  }
  return {plans, ...(validation && {validation}), ...(budget && {budget}), outputs};
}

/** The validation bags of a job beside its plans; nothing where it asks for none. */
function validationOf(
  job: Job,
  field: Field,
  plans: readonly SamplingPlan[],
  {keepOuts, gate}: SamplingGround,
): ValidationSet | undefined {
  const {validation: asked, fieldEdge, depth, checkCharacter} = job.sampling;
  return (
    asked &&
    validationSet(field, plans, {
      ...asked,
      fieldEdge,
      depth,
      checkCharacter,
      keepOut: keepOuts.flatMap(({shape}) => shape),
      prefix: job.field.prefix,
      start: gate,
      seed: job.seed,
    })
  );
}

/** The sampling plan of one strategy as the job asks for it. */
export function makePlan(
  job: Job,
  field: Field,
  strategy: Strategy,
  zoneMap: ZoneMap | undefined,
  ground: SamplingGround = NOTHING_READ,
): SamplingPlan {
  const {wholeField, grid, zone} = job.sampling;
  const options = optionsOf(job, ground);
  const {earlier, points} = ground;
  switch (strategy) {
    case "whole-field": {
      const settings = {...options.wholeField, duplicates: wholeField.duplicates};
      if (earlier.wholeField) return repeatPlan(field, strategy, earlier.wholeField, settings);
      return planWholeField(field, settings);
    }
    case "grid": {
      const settings = {...options.grid, duplicates: grid.duplicates};
      if (earlier.grid) return repeatPlan(field, strategy, earlier.grid, settings);
      if (points) return planPoints(field, points, {...settings, pattern: grid.points?.speakFor});
      return planGrid(field, settings);
    }
    case "zone": {
      const settings = {...options.zone, duplicates: zone.duplicates};
      if (earlier.zone) return repeatPlan(field, strategy, earlier.zone, settings);
      if (!zoneMap) throw new Error("a zone plan was asked for before zones were made");
      return planZones(field, zoneMap, settings);
    }
  }
}

// --- inside ---------------------------------------------------------------------------------------------------

const NOTHING_READ: SamplingGround = {keepOuts: [], earlier: {}};

/** The options of each strategy, without what only a run of its own asks for. */
function optionsOf(job: Job, {keepOuts, gate}: SamplingGround) {
  const {depth, edge, fieldEdge, coreCvPct, coreCvSource, errorPct, checkCharacter, route, wholeField, grid, zone} =
    job.sampling;
  // An obstacle cannot be gone round in straight lines.
  const routed = route ?? (keepOuts.some(({canBeCrossed}) => !canBeCrossed) ? {} : undefined);
  const shared: PlanOptions = given({
    prefix: job.field.prefix,
    seed: job.seed,
    depth,
    edge,
    fieldEdge,
    coreCvPct,
    coreCvSource,
    errorPct,
    checkCharacter,
    start: gate,
    route: routed,
    ...(keepOuts.length > 0 && {keepOuts}),
  });
  const {maxArea, cores} = wholeField;
  const {points: _points, repeat: _grid, duplicates: _again, ...cells} = grid;
  const {repeat: _zone, duplicates: _twice, ...zones} = zone;
  return {
    wholeField: {...shared, maxArea, cores, pooled: wholeField.rate === "one"} satisfies WholeFieldOptions,
    grid: {...shared, ...cells},
    zone: {...shared, ...zones},
  };
}

function withinBudget(
  job: Job,
  field: Field,
  zoneMap: ZoneMap | undefined,
  ground: SamplingGround,
): PlansWithin | undefined {
  const {budget} = job.sampling;
  if (!budget) return undefined;
  const {prices} = job;
  return plansWithin(
    field,
    zoneMap,
    {dollars: budget.dollars, bags: budget.bags},
    {
      year: prices?.year ?? Number.NaN,
      perBag: prices?.lab,
      perCore: prices?.core,
      perHour: budget.labour,
      zoneMakingPerAcre: prices?.zoneMaking,
      yearsServed: prices?.yearsServed,
    },
    {...optionsOf(job, ground), pace: budget.pace && {...USUAL_PACE, ...given(budget.pace)}},
  );
}
