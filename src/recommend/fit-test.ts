import {FieldError, type Issue} from "../errors.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import {METRES_PER_INCH} from "../units/factors.ts";
import {formatShort} from "../units/format.ts";
import type {Guide, TestNeed} from "./guide.ts";

/** The user's word that a guide may be run on tests it was not made for. */
export interface AcceptMethod {
  /** Why; it is repeated wherever the rate is shown. */
  readonly reason: string;
}

/**
 * The unit's soil test that the rule was made for.
 *
 * With `accept`, a test by another method or from another depth is taken as it stands, unconverted, and the rate
 * carries the issue `recommend/arithmetic-only`. A test in another unit is never taken: the number would mean
 * something else.
 *
 * @throws {FieldError} `recommend/no-test` when the analyte was not measured, `recommend/guide-does-not-fit` when it
 *   was, but not the way the guide needs it.
 */
export function fitTest(
  guide: Guide,
  need: TestNeed,
  unit: string,
  tests: readonly UnitValue[],
  accept?: AcceptMethod,
): {test: UnitValue; issues: readonly Issue[]} {
  const measured = tests.filter(({analyte}) => analyte === need.analyte);
  const [first] = measured;
  if (!first) {
    throw new FieldError("recommend/no-test", `Unit "${unit}" has no soil test for ${need.analyte}.`, {
      place: {featureId: unit},
      hint: `${guide.cite} needs ${needInWords(need)}.`,
    });
  }
  const fitting = measured.find((test) => misfits(need, test).length === 0);
  if (fitting) return {test: fitting, issues: []};
  // The one with the least against it, so that the message is about the nearest miss.
  const inUnit = measured.filter(({unit: u}) => u === need.unit);
  const nearest = inUnit.find(({method}) => need.methods.includes(method)) ?? inUnit[0] ?? first;
  const reasons = misfits(need, nearest).join(", and ");
  const reason = accept?.reason.trim() ?? "";
  if (reason !== "" && nearest.unit === need.unit) {
    const issue: Issue = {
      code: "recommend/arithmetic-only",
      severity: "warning",
      message: `For arithmetic only: in unit "${unit}" ${reasons}. ${guide.cite} needs ${needInWords(need)}. Reason given: ${reason}`,
      place: {featureId: unit},
      hint: "Do not spread by this rate; use a guide made for the test in hand.",
    };
    return {test: nearest, issues: [issue]};
  }
  const remedy =
    nearest.unit === need.unit
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

function misfits(need: TestNeed, {analyte, method, unit, depthM}: UnitValue): string[] {
  const reasons: string[] = [];
  if (!need.methods.includes(method)) reasons.push(`${analyte} was measured by ${method}`);
  if (unit !== need.unit) reasons.push(`${analyte} is in ${unit}`);
  const [from, to] = need.depthM;
  if (depthM < from || depthM > to) {
    reasons.push(`the sample reaches ${formatShort(depthM / METRES_PER_INCH, 1)} in deep`);
  }
  return reasons;
}
