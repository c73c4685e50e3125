import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {toPlane} from "../geo/frame.ts";
import {type PlansWithin, plansWithin} from "../sampling/budget.ts";
import {planGrid} from "../sampling/by-grid.ts";
import {planPoints} from "../sampling/by-points.ts";
import {planZones} from "../sampling/by-zone.ts";
import {type CoreMove, type MovedCores, type MoveOutcome, moveCores} from "../sampling/move-cores.ts";
import type {PlanOptions} from "../sampling/options.ts";
import {USUAL_PACE} from "../sampling/pace.ts";
import type {SamplingPlan, Strategy} from "../sampling/plan.ts";
import {repeatPlan} from "../sampling/repeat-plan.ts";
import {type ValidationSet, validationSet} from "../sampling/validation-set.ts";
import {planWholeField, type WholeFieldOptions} from "../sampling/whole-field.ts";
import type {ZoneMap} from "../zones/zone-map.ts";
import {given} from "./given.ts";
import type {Host} from "./host.ts";
import type {Job} from "./job.ts";
import {type Remarks, remarksAt} from "./read-inputs.ts";
import {readSamplingFiles, type SamplingGround} from "./read-sampling-files.ts";
import {remembered} from "./remembered.ts";
import {budgetFile, validationFiles} from "./write-outputs.ts";

/** The plans of a job, and what it asks for beside them. */
export interface JobPlans {
  readonly plans: readonly SamplingPlan[];
  /** What became of the moves of cores by hand, in the order of the job. */
  readonly moves: readonly MoveOutcome[];
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
  host: Pick<Host, "sha256" | "memory">,
): Promise<JobPlans> {
  const ground = await readSamplingFiles(job, field, files, remarks);
  const made: SamplingPlan[] = [];
  for (const strategy of job.strategies) {
    const make = async (): Promise<SamplingPlan> => makePlan(job, field, strategy, zoneMap, ground);
    const zones = strategy === "zone" && zoneMap && [zoneMap.zones, await host.sha256(zoneMap.cells)];
    const restsOn = {settings: [field, job.field.prefix, job.seed, job.sampling, ground, zones], files: []};
    made.push(await remembered(`plan ${strategy}`, restsOn, files, host, remarks, make));
  }
  const {plans, outcomes: moves, issues} = movedCores(job, field, made, ground);
  remarks.push(...issues);
  for (const plan of plans) remarks.push(...remarksAt({file: `plan-${plan.strategy}-units`}, plan.issues));
  const outputs = new Map<string, Uint8Array>();
  // Bags of a lab report must not change their ground because a core was moved: they keep the places they had.
  const validation = validationOf(job, field, made, ground);
  if (validation) {
    remarks.push(...remarksAt({file: "plan-validation-cores"}, validation.issues));
    for (const [name, bytes] of validationFiles(field, validation)) outputs.set(name, bytes);
  }
  const budget = withinBudget(job, field, zoneMap, ground);
  if (budget) {
    remarks.push(...remarksAt({file: "plan-budget.csv"}, budget.issues));
    outputs.set("plan-budget.csv", budgetFile(budget, job.prices?.year));
  }
  return {plans, moves, ...(validation && {validation}), ...(budget && {budget}), outputs};
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

/** Cores put where the job's moves want them. */
function movedCores(job: Job, field: Field, plans: readonly SamplingPlan[], ground: SamplingGround): MovedCores {
  const moves = (job.sampling.moves ?? []).map(({core, from, to, ...others}): CoreMove => {
    const [bag, number] =
      typeof core === "string"
        ? [core.slice(0, core.lastIndexOf("-")), Number(core.slice(core.lastIndexOf("-") + 1))]
        : [core.unit, core.number];
    return {bag, number, ...others, ...(from && {from: toPlane(field.frame, from)}), to: toPlane(field.frame, to)};
  });
  return moveCores(field, plans, moves, sharedOptions(job, ground));
}

const NOTHING_READ: SamplingGround = {keepOuts: [], earlier: {}};

/** What the plans of all strategies are told alike. */
function sharedOptions(job: Job, {keepOuts, gate}: SamplingGround): PlanOptions {
  const {depth, edge, fieldEdge, coreCvPct, coreCvSource, errorPct, checkCharacter, route} = job.sampling;
  // An obstacle cannot be gone round in straight lines.
  const routed = route ?? (keepOuts.some(({canBeCrossed}) => !canBeCrossed) ? {} : undefined);
  return given({
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
}

/** The options of each strategy, without what only a run of its own asks for. */
function optionsOf(job: Job, ground: SamplingGround) {
  const {wholeField, grid, zone} = job.sampling;
  const shared = sharedOptions(job, ground);
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
