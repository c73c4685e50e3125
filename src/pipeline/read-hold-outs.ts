import {type HoldOutResult, judgeByHoldOuts, valuesAt} from "../compare/hold-out.ts";
import {FieldError, isFieldError} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {contains} from "../geo/measure.ts";
import type {XY} from "../geo/shapes.ts";
import {toMgPerKg} from "../lab/convert.ts";
import {idKey} from "../lab/sample-id.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import {valuesOf} from "../lab/values-of.ts";
import {poolTests} from "../recommend/pool-tests.ts";
import {recommend} from "../recommend/recommend.ts";
import type {Job} from "./job.ts";
import {cropsOf, type RatesSetting} from "./make-rates.ts";
import {recommendOptions} from "./rate-options.ts";
import type {RatedPlan} from "./rate-plans.ts";
import {type Remarks, remarksAt} from "./read-inputs.ts";
import {readPlaces, readReport} from "./read-lab-files.ts";

/** One composite that no strategy was made from. */
interface HoldOut {
  readonly place: XY;
  readonly tests: readonly UnitValue[];
}

/** Soil tests that strategies are judged by. */
const JUDGED = [
  {analyte: "P", nutrient: "P2O5"},
  {analyte: "K", nutrient: "K2O"},
] as const;

/**
 * Judges the strategies by the job's hold-out composites, for phosphorus and potassium; nothing without any.
 *
 * @throws {FieldError} `compare/hold-out-place` for samples nobody knows the place of, and what the readers refuse.
 */
export async function judgeHoldOuts(
  job: Job,
  field: Field,
  setting: RatesSetting,
  rated: readonly RatedPlan[],
  files: FileSet,
  remarks: Remarks,
): Promise<HoldOutResult[]> {
  if (!job.compare.holdOuts) return [];
  const holdOuts = await readHoldOuts(job, field, rated, files, remarks);
  const baseline = rated.find(({plan}) => plan.strategy === job.baseline) ?? rated[0];
  if (!baseline) return [];
  return JUDGED.flatMap(({analyte, nutrient}): HoldOutResult[] => {
    const found = holdOuts.map(({tests}) => tests.find((test) => test.analyte === analyte)?.value ?? Number.NaN);
    if (found.every(Number.isNaN)) return [];
    return [
      judgeByHoldOuts({
        what: `soil-test ${analyte}`,
        unit: "ppm",
        found,
        foundClasses: holdOuts.map((holdOut) => classOf(setting, holdOut, nutrient)),
        strategies: rated.map((one) => ({
          strategy: one.plan.strategy,
          predicted: predictedBy(one, analyte, holdOuts),
          classes: classesBy(one, nutrient, holdOuts),
        })),
        baseline: baseline.plan.strategy,
        duplicates: pairsOf(job, rated, analyte),
        level: job.compare.level,
        seed: job.seed,
      }),
    ];
  });
}

/**
 * Ids of samples the job says were held out: those in its file of places. A laboratory's report often holds them beside
 * the bags of the plans, and they are neither unknown nor anyone's results.
 */
export async function heldOutIds(job: Job, field: Field, files: FileSet): Promise<ReadonlySet<string>> {
  const {places} = job.compare.holdOuts ?? {};
  // Read again with the hold-outs, and remarked on there.
  return new Set(places ? (await readPlaces(field, files, places, [])).map(({sampleId}) => idKey(sampleId)) : []);
}

async function readHoldOuts(
  job: Job,
  field: Field,
  rated: readonly RatedPlan[],
  files: FileSet,
  remarks: Remarks,
): Promise<HoldOut[]> {
  const {files: sources = [], places: placesFile} = job.compare.holdOuts ?? {};
  const read = await readReport(job, field, files, sources, remarks);
  const places = [...read.places, ...(placesFile ? await readPlaces(field, files, placesFile, remarks) : [])];
  const at = new Map(places.map(({sampleId, x, y}) => [idKey(sampleId), {x, y}]));
  const converted = job.lab?.toPpm ? toMgPerKg(read.tests) : {tests: read.tests, issues: []};
  // One report may hold the bags of the plans too; those without a place of their own are no hold-outs.
  const planned = new Set(
    rated.flatMap(({plan}) => [...plan.units, ...(plan.duplicates ?? [])].map(({id}) => idKey(id))),
  );
  const ids = [...new Set(converted.tests.map(({sampleId}) => sampleId))].filter(
    (id) => at.has(idKey(id)) || !planned.has(idKey(id)),
  );
  const values = valuesOf(new Map(ids.map((id) => [id, converted.tests.filter(({sampleId}) => sampleId === id)])));
  remarks.push(...remarksAt({}, [...converted.issues, ...values.issues]));
  return ids.map((id) => {
    const place = at.get(idKey(id));
    if (!place) {
      throw new FieldError("compare/hold-out-place", `Nobody knows where hold-out sample "${id}" was taken.`, {
        place: {featureId: id},
        hint: 'Give "x" and "y" columns of its file, or a "places" file.',
      });
    }
    return {place, tests: values.byUnit.get(id) ?? []};
  });
}

/** What a strategy says of the test at each hold-out: that of the unit it lies in, or of the pooled field. */
function predictedBy({plan, values}: RatedPlan, analyte: string, holdOuts: readonly HoldOut[]): number[] {
  const valueIn = (tests: readonly UnitValue[]) => tests.find((test) => test.analyte === analyte)?.value ?? Number.NaN;
  if (plan.pooled) {
    const {tests} = poolTests(plan.units.map((unit) => ({...unit, tests: values.get(unit.id) ?? []})));
    return holdOuts.map(() => valueIn(tests));
  }
  const parts = plan.units.map(({id, shape}) => ({shape, value: valueIn(values.get(id) ?? [])}));
  return valuesAt(
    parts,
    holdOuts.map(({place}) => place),
  );
}

function classesBy({plan, recommendations}: RatedPlan, nutrient: string, holdOuts: readonly HoldOut[]) {
  return holdOuts.map(({place: {x, y}}) => {
    const unit = plan.pooled ? "whole field" : plan.units.find(({shape}) => contains(shape, x, y))?.id;
    return recommendations.find((one) => one.unit === unit && one.nutrient === nutrient)?.testClass;
  });
}

/** The guide's class of a hold-out; undefined where its tests do not suffice. */
function classOf({rates, guide}: RatesSetting, {tests}: HoldOut, nutrient: "P2O5" | "K2O"): string | undefined {
  const crops = cropsOf(rates, "hold-out", undefined, []);
  try {
    return recommend(guide, {unit: "hold-out", tests, crops, options: recommendOptions(rates, [nutrient])})[0]
      ?.testClass;
  } catch (error) {
    if (isFieldError(error)) return undefined;
    throw error;
  }
}

function pairsOf(job: Job, rated: readonly RatedPlan[], analyte: string): [number, number][] {
  const results = new Map(rated.flatMap(({values}) => [...values]));
  const resultOf = (id: string) => results.get(id)?.find((test) => test.analyte === analyte)?.value;
  // Second bags of the plans are pairs without being named.
  const planned = rated.flatMap(({plan}) => (plan.duplicates ?? []).map(({of, id}) => [of, id] as const));
  return [...job.compare.duplicates, ...planned].flatMap(([one, other]): [number, number][] => {
    const [a, b] = [resultOf(one), resultOf(other)];
    return a === undefined || b === undefined ? [] : [[a, b]];
  });
}
