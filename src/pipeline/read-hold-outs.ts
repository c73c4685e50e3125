import {type HoldOutResult, judgeByHoldOuts, valuesAt} from "../compare/hold-out.ts";
import {FieldError, type Issue, isFieldError} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {contains} from "../geo/measure.ts";
import type {XY} from "../geo/shapes.ts";
import {findAnalyte} from "../lab/analytes.ts";
import type {SamplePlace} from "../lab/assign-tests.ts";
import {toMgPerKg} from "../lab/convert.ts";
import {idKey} from "../lab/sample-id.ts";
import type {SoilTest, UnitValue} from "../lab/soil-test.ts";
import {valuesOf} from "../lab/values-of.ts";
import {poolTests} from "../recommend/pool-tests.ts";
import {recommend} from "../recommend/recommend.ts";
import {type ValidationSet, validationIds} from "../sampling/validation-set.ts";
import type {Job} from "./job.ts";
import {cropsOf, type RatesSetting} from "./make-rates.ts";
import {recommendOptions} from "./rate-options.ts";
import type {RatedPlan} from "./rate-plans.ts";
import {type Remarks, remarksAt} from "./read-inputs.ts";
import {readPlaces, readReport} from "./read-lab-files.ts";

/** One composite that no strategy was made from. */
interface HoldOut {
  readonly id: string;
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
 * Bags of the job's own validation plan are hold-outs without being named: their places are known, and their results are
 * looked for in the lab report where no file of hold-outs is given. Hold-outs that not every strategy says something of
 * are left out, with a remark.
 *
 * @throws {FieldError} `compare/hold-out-place` for samples nobody knows the place of, `compare/hold-out-unit` and
 *   `compare/hold-out-method` for results that cannot be held against those of the plans, and what the readers refuse.
 */
export async function judgeHoldOuts(
  job: Job,
  field: Field,
  setting: RatesSetting,
  rated: readonly RatedPlan[],
  validation: ValidationSet | undefined,
  files: FileSet,
  remarks: Remarks,
): Promise<HoldOutResult[]> {
  const holdOuts = await readHoldOuts(job, field, rated, validation, files, remarks);
  const baseline = rated.find(({plan}) => plan.strategy === job.baseline) ?? rated[0];
  if (!baseline || holdOuts.length === 0) return [];
  const judged = JUDGED.flatMap(({analyte, nutrient}) => {
    const found = holdOuts.map(({tests}) => tests.find((test) => test.analyte === analyte)?.value ?? Number.NaN);
    if (found.every(Number.isNaN)) return [];
    const predicted = rated.map((one) => predictedBy(one, analyte, holdOuts));
    return [{analyte, nutrient, found, predicted}];
  });
  remarks.push(...leftOut(holdOuts, rated, judged));
  return judged.map(({analyte, nutrient, found, predicted}) =>
    judgeByHoldOuts({
      what: `soil-test ${analyte}`,
      unit: unitWord(formOf(rated, analyte)?.unit ?? "mg/kg"),
      found,
      foundClasses: holdOuts.map((holdOut) => classOf(setting, holdOut, nutrient)),
      strategies: rated.map((one, s) => ({
        strategy: one.plan.strategy,
        predicted: predicted[s] as number[],
        classes: classesBy(one, nutrient, holdOuts),
      })),
      baseline: baseline.plan.strategy,
      duplicates: pairsOf(job, rated, analyte),
      level: job.compare.level,
      seed: job.seed,
    }),
  );
}

/**
 * Ids of samples the job says were held out: those of its validation plan and in its file of places. A laboratory's report
 * often holds them beside the bags of the plans, and they are neither unknown nor anyone's results.
 */
export async function heldOutIds(job: Job, field: Field, files: FileSet): Promise<ReadonlySet<string>> {
  const {places} = job.compare.holdOuts ?? {};
  const {validation, checkCharacter} = job.sampling;
  const planned = validation
    ? validationIds(field.name, {count: validation.count, prefix: job.field.prefix, checkCharacter})
    : [];
  // Read again with the hold-outs, and remarked on there.
  const placed = places ? (await readPlaces(field, files, places, [])).map(({sampleId}) => sampleId) : [];
  return new Set([...planned, ...placed].map(idKey));
}

async function readHoldOuts(
  job: Job,
  field: Field,
  rated: readonly RatedPlan[],
  validation: ValidationSet | undefined,
  files: FileSet,
  remarks: Remarks,
): Promise<HoldOut[]> {
  const {files: named, places: placesFile} = job.compare.holdOuts ?? {};
  const bags = (validation?.bags ?? []).map(({id, centre}): SamplePlace => ({sampleId: id, ...centre}));
  const sources = named ?? (bags.length > 0 ? (job.lab?.files ?? []) : []);
  // A lab report that is read a second time has been remarked on.
  const read = await readReport(job, field, files, sources, named ? remarks : []);
  // A file of places goes before the plan: bags may have been taken elsewhere.
  const places = [...bags, ...read.places, ...(placesFile ? await readPlaces(field, files, placesFile, remarks) : [])];
  const at = new Map(places.map(({sampleId, x, y}) => [idKey(sampleId), {x, y}]));
  // One report may hold the bags of the plans too; those without a place of their own are no hold-outs.
  const planned = new Set(
    [
      ...rated.flatMap(({plan}) => [...plan.units, ...(plan.duplicates ?? [])].map(({id}) => id)),
      ...Object.keys(job.lab?.accepted ?? {}),
    ].map(idKey),
  );
  const isHeldOut = (id: string): boolean => at.has(idKey(id)) || (named !== undefined && !planned.has(idKey(id)));
  const tests = read.tests.filter((test) => isHeldOut(test.sampleId) && !isChosenOut(job, test));
  const converted = job.lab?.toPpm ? toMgPerKg(tests) : {tests, issues: []};
  for (const test of converted.tests) checkForm(test, formOf(rated, test.analyte));
  const ids = [...new Set(converted.tests.map(({sampleId}) => sampleId))];
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
    return {id, place, tests: values.byUnit.get(id) ?? []};
  });
}

/** Whether a person said not to use this result. */
function isChosenOut({lab}: Job, test: SoilTest): boolean {
  return (lab?.choices ?? []).some(
    ({sampleId, analyte, choice}) =>
      choice !== "keep" &&
      idKey(sampleId) === idKey(test.sampleId) &&
      (findAnalyte(analyte) ?? analyte) === test.analyte,
  );
}

/** How the plans' results of an analyte were measured: the first stands for all. */
function formOf(rated: readonly RatedPlan[], analyte: string): UnitValue | undefined {
  for (const {values} of rated) {
    for (const tests of values.values()) {
      const found = tests.find((test) => test.analyte === analyte);
      if (found) return found;
    }
  }
  return undefined;
}

/** Numbers in two units or by two extractants are not held against each other. */
function checkForm({sampleId, analyte, unit, method, source}: SoilTest, form: UnitValue | undefined): void {
  if (!form || !JUDGED.some((one) => one.analyte === analyte)) return;
  const {file, row, column} = source;
  const refuse = (code: string, what: string, hint: string): FieldError =>
    new FieldError(code, `${analyte} of hold-out sample "${sampleId}" ${what}.`, {place: {file, row, column}, hint});
  if (unit !== form.unit) {
    throw refuse(
      "compare/hold-out-unit",
      `is in ${unitWord(unit)}, that of the plans in ${unitWord(form.unit)}`,
      'Set "toPpm": true under "lab", which converts both.',
    );
  }
  if (extractantOf(method, analyte) !== extractantOf(form.method, analyte)) {
    throw refuse(
      "compare/hold-out-method",
      `was measured by ${method}, that of the plans by ${form.method}`,
      "Have both measured the same way; results of two extractants are not compared.",
    );
  }
}

/** Potassium reads the same however a Mehlich-3 extract is looked at. */
function extractantOf(method: string, analyte: string): string {
  return analyte === "K" ? method.replace(/^(mehlich-3) (icp|colorimetric)$/, "$1") : method;
}

const unitWord = (unit: string): string => (unit === "mg/kg" ? "ppm" : unit);

/** Hold-outs that lack a result, or lie where a strategy says nothing: each with its reason. */
function leftOut(
  holdOuts: readonly HoldOut[],
  rated: readonly RatedPlan[],
  judged: readonly {analyte: string; found: readonly number[]; predicted: readonly (readonly number[])[]}[],
): Issue[] {
  const reasons = holdOuts.flatMap((holdOut, i) => {
    const byReason = new Map<string, string[]>();
    for (const {analyte, found, predicted} of judged) {
      const strategy = rated[predicted.findIndex((values) => Number.isNaN(values[i] as number))];
      const isMissing = Number.isNaN(found[i] as number);
      if (!strategy && !isMissing) continue;
      const why = isMissing || !strategy ? "has no result" : whyNothing(strategy, holdOut);
      byReason.set(why, [...(byReason.get(why) ?? []), analyte]);
    }
    return [...byReason].map(([why, analytes]) => `${holdOut.id} ${why} of ${analytes.join(" and ")}`);
  });
  if (reasons.length === 0) return [];
  return [
    {
      code: "compare/hold-out-left-out",
      severity: "warning",
      message: `Hold-outs that were left out: ${reasons.join("; ")}.`,
      hint: "A strategy is judged only where all of them say something.",
    },
  ];
}

function whyNothing({plan}: RatedPlan, {place: {x, y}}: HoldOut): string {
  const unit = plan.units.find(({shape}) => contains(shape, x, y));
  return unit
    ? `lies in ${unit.id}, which has no result`
    : `lies in no unit of the ${plan.strategy} plan, so no result`;
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
