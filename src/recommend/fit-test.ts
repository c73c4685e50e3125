import {FieldError, type Issue} from "../errors.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import {METRES_PER_INCH} from "../units/factors.ts";
import {formatShort, roundHalfAway} from "../units/format.ts";
import type {Guide, TestNeed} from "./guide.ts";
import {convertMethod, findRelation, type MethodRelation} from "./method-relations.ts";
import type {WorkingStep} from "./recommendation.ts";

/** The user's word that a guide may be run on tests it was not made for. */
export interface AcceptMethod {
  /** Why; it is repeated wherever the rate is shown. */
  readonly reason: string;
}

/** The user's wish to have a test of another method converted, by a relation the guide allows. */
export interface ConvertMethod {
  /** Id of a published relation; by default the guide's first that fits the test. */
  readonly relation?: string;
}

export interface FitOptions {
  /** Runs the guide on tests it was not made for; each rate it touches then says "for arithmetic only". */
  readonly acceptMethod?: AcceptMethod;
  /** Converts a test of another method where the guide allows it and none fits as it stands. */
  readonly convertMethod?: ConvertMethod;
}

/** The test a rule is evaluated on, in the guide's unit, with the lines that show how it got there. */
export interface FittedTest {
  readonly test: UnitValue;
  readonly steps: readonly WorkingStep[];
  readonly issues: readonly Issue[];
}

/**
 * The unit's soil test that the rule was made for.
 *
 * A test in the second unit a guide gives is brought to its first by the guide's own factor. With `convertMethod` a
 * test of another method is converted by a published relation that the guide allows. With `acceptMethod` a test by
 * another method or from another depth is taken as it stands, unconverted, and the rate carries the issue
 * `recommend/arithmetic-only`. A test in any other unit is never taken: the number would mean something else.
 *
 * @throws {FieldError} `recommend/no-test` when the analyte was not measured, `recommend/guide-does-not-fit` when it
 *   was, but not the way the guide needs it, `recommend/no-relation` when no relation can be used as asked.
 */
export function fitTest(
  guide: Guide,
  need: TestNeed,
  unit: string,
  tests: readonly UnitValue[],
  {acceptMethod, convertMethod: convert}: FitOptions = {},
): FittedTest {
  const measured = tests.filter(({analyte}) => analyte === need.analyte);
  const [first] = measured;
  if (!first) {
    throw new FieldError("recommend/no-test", `Unit "${unit}" has no soil test for ${need.analyte}.`, {
      place: {featureId: unit},
      hint: `${guide.cite} needs ${needInWords(need)}.`,
    });
  }
  const fitting = measured.find((test) => misfits(need, test).length === 0);
  if (fitting) return {...inGuideUnit(need, fitting), issues: calcareous(unit, fitting, tests)};
  if (convert) {
    const converted = convertFor(guide, need, unit, measured, convert);
    if (converted) return converted;
  }
  // The one with the least against it, so that the message is about the nearest miss.
  const inUnit = measured.filter((test) => hasUnit(need, test));
  const nearest = inUnit.find(({method}) => need.methods.includes(method)) ?? inUnit[0] ?? first;
  const reasons = misfits(need, nearest).join(", and ");
  const reason = acceptMethod?.reason.trim() ?? "";
  if (reason !== "" && hasUnit(need, nearest)) {
    const issue: Issue = {
      code: "recommend/arithmetic-only",
      severity: "warning",
      message: `For arithmetic only: in unit "${unit}" ${reasons}. ${guide.cite} needs ${needInWords(need)}. Reason given: ${reason}`,
      place: {featureId: unit},
      hint: "Do not spread by this rate; use a guide made for the test in hand.",
    };
    return {...inGuideUnit(need, nearest), issues: [issue]};
  }
  const remedy = hasUnit(need, nearest)
    ? "use a guide made for the test in hand."
    : `convert ${nearest.unit} to ${need.unitLabel} when reading the lab's file.`;
  throw new FieldError("recommend/guide-does-not-fit", `${guide.cite} does not fit unit "${unit}": ${reasons}.`, {
    place: {featureId: unit},
    hint: `The guide needs ${needInWords(need)}; ${remedy}`,
  });
}

/** "P by mehlich-3 icp in ppm, sampled 0 to 8 in". */
export function needInWords({analyte, methods, unitLabel, depthLabel}: TestNeed): string {
  return `${analyte} by ${methods.join(" or ")} in ${unitLabel}, sampled ${depthLabel}`;
}

/** What speaks against a test, in words; empty when it fits. */
export function misfits(need: TestNeed, test: UnitValue): string[] {
  const {analyte, method, unit, depthM} = test;
  const reasons: string[] = [];
  if (!need.methods.includes(method)) reasons.push(`${analyte} was measured by ${method}`);
  if (!hasUnit(need, test)) reasons.push(`${analyte} is in ${unit}`);
  const [from, to] = need.depthM;
  if (depthM < from || depthM > to) {
    reasons.push(`the sample reaches ${formatShort(depthM / METRES_PER_INCH, 1)} in deep`);
  }
  return reasons;
}

/**
 * What a refusal of `fitTest` is about, read from its own words: for hosts that know what to do about each.
 *
 * @param message - Of an error `recommend/guide-does-not-fit`.
 */
export function misfitsIn(message: string): {kind: "method" | "unit" | "depth"; analyte?: string; found?: string}[] {
  if (!message.includes(" does not fit unit ")) return [];
  const [, analyte, found] = /(\S+) was measured by ([^,.]+?)(?=, and |\.$)/.exec(message) ?? [];
  return [
    ...(analyte && found ? [{kind: "method", analyte, found} as const] : []),
    ...(/ is in \S/.test(message) ? [{kind: "unit"} as const] : []),
    ...(/ in deep/.test(message) ? [{kind: "depth"} as const] : []),
  ];
}

function hasUnit(need: TestNeed, {unit}: UnitValue): boolean {
  return unit === need.unit || unit === need.alsoIn?.unit;
}

/** The lab's number as the first line of the working, and the guide's own factor where the unit is its second. */
function inGuideUnit(need: TestNeed, test: UnitValue): Pick<FittedTest, "test" | "steps"> {
  const {alsoIn} = need;
  const label = alsoIn && test.unit === alsoIn.unit ? unitWord(test) : need.unitLabel;
  const read: WorkingStep = {
    text: `soil-test ${test.analyte} by ${test.method}: ${test.from}`,
    value: test.value,
    unit: label,
    source: "lab result",
    basis: "user",
  };
  if (!alsoIn || test.unit !== alsoIn.unit || test.unit === need.unit) return {test, steps: [read]};
  const value = roundHalfAway(test.value * alsoIn.factor, 6);
  const step: WorkingStep = {
    text: `in the guide's unit: ${formatShort(test.value)} ${alsoIn.rule}`,
    value,
    unit: need.unitLabel,
    source: "convention",
    basis: "arithmetic",
  };
  return {test: {...test, value, unit: need.unit}, steps: [read, step]};
}

function convertFor(
  guide: Guide,
  need: TestNeed,
  unit: string,
  measured: readonly UnitValue[],
  {relation: asked}: ConvertMethod,
): FittedTest | undefined {
  const allowed = (guide.conversions ?? []).map(findRelation).filter(({analyte}) => analyte === need.analyte);
  const chosen = asked === undefined ? undefined : findRelation(asked);
  const wanted = chosen?.analyte === need.analyte ? chosen : undefined;
  if (wanted && !allowed.includes(wanted)) {
    throw new FieldError("recommend/no-relation", `${guide.cite} does not allow the conversion "${wanted.id}".`, {
      place: {featureId: unit},
      hint: allowed.length > 0 ? `It allows ${allowed.map(({id}) => id).join(", ")}.` : "It allows none.",
    });
  }
  const candidates: readonly MethodRelation[] = wanted ? [wanted] : allowed;
  for (const relation of candidates) {
    if (!need.methods.includes(relation.to)) continue;
    const from = measured.find(
      (test) =>
        relation.from.includes(test.method) &&
        test.unit === "mg/kg" &&
        misfits(need, {...test, method: relation.to}).length === 0,
    );
    if (!from) continue;
    const {test, step, issues} = convertMethod(from, relation);
    const fitted = inGuideUnit({...need, methods: [from.method]}, from);
    return {
      test,
      steps: [...fitted.steps, step],
      issues: issues.map((issue) => ({...issue, place: {featureId: unit}})),
    };
  }
  return undefined;
}

/** Bray-1's acid is used up by lime: on calcareous soils it reads too low (Iowa State University Extension, 2023). */
function calcareous(unit: string, test: UnitValue, tests: readonly UnitValue[]): readonly Issue[] {
  const pH = tests.find(({analyte}) => analyte === "pH");
  if (test.method !== "bray-1" || !pH || pH.value <= 7.3) return [];
  return [
    {
      code: "recommend/bray-on-calcareous",
      severity: "warning",
      message: `P was measured by bray-1 at pH ${formatShort(pH.value, 1)} in unit "${unit}": where the soil holds free lime that test reads too low.`,
      place: {featureId: unit},
      hint: "Ask the lab for Olsen or Mehlich-3 phosphorus.",
    },
  ];
}

const unitWord = ({unit}: UnitValue): string => (unit === "mg/kg" ? "ppm" : unit);
