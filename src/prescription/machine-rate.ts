import {FieldError, type Issue} from "../errors.ts";
import {formatShort, roundHalfAway} from "../units/format.ts";
import type {MachineLimits} from "./prescription.ts";

/** One rate as the machine can spread it. */
export interface MachineRate {
  readonly rateLbPerAcre: number;
  /** After rounding, before limits. */
  readonly roundedLbPerAcre: number;
  readonly heldBy?: "minimum" | "maximum";
}

/**
 * Fits an exact rate to a machine: to the nearest step (halves up), then into the limits.
 *
 * Zero stays zero whatever the minimum. A rate above zero that rounds below the minimum becomes zero or the minimum,
 * as the limits say. Every answer is zero or a whole number of steps between minimum and maximum.
 *
 * @param limits - As returned by `checkLimits`.
 */
export function machineRate(exactLbPerAcre: number, limits: MachineLimits): MachineRate {
  const {stepLbPerAcre: step, minLbPerAcre: min, maxLbPerAcre: max, belowMin} = limits;
  const roundedLbPerAcre = wholeSteps(roundHalfAway(exactLbPerAcre / step), step);
  if (exactLbPerAcre > 0 && roundedLbPerAcre < min) {
    return {rateLbPerAcre: belowMin === "zero" ? 0 : min, roundedLbPerAcre, heldBy: "minimum"};
  }
  if (roundedLbPerAcre > max) return {rateLbPerAcre: max, roundedLbPerAcre, heldBy: "maximum"};
  return {rateLbPerAcre: roundedLbPerAcre, roundedLbPerAcre};
}

/**
 * Limits that can all be honoured at once: minimum and maximum moved inwards to whole steps, with a note when that
 * changes them.
 *
 * @throws {FieldError} `prescription/bad-limits` when a limit is not a number, negative or contradicts another.
 */
export function checkLimits(limits: MachineLimits): {limits: MachineLimits; issues: readonly Issue[]} {
  const {stepLbPerAcre: step, minLbPerAcre: min, maxLbPerAcre: max, outsideLbPerAcre: outside} = limits;
  if (!(step > 0 && step < Infinity)) throw badLimits(`A rate step of ${step} lb/ac cannot be used.`);
  if (!(min >= 0)) throw badLimits(`A smallest rate of ${min} lb/ac cannot be used.`);
  if (!(max > 0 && max >= min && max < Infinity)) {
    throw badLimits(`A largest rate of ${max} lb/ac does not fit a smallest rate of ${min} lb/ac.`);
  }
  if (!(outside >= 0 && outside <= max)) {
    throw badLimits(`A rate outside the field of ${outside} lb/ac does not fit a largest rate of ${max} lb/ac.`);
  }
  const elsewhere = {"without a position": limits.lostPositionLbPerAcre, "before the map": limits.defaultLbPerAcre};
  for (const [where, rate] of Object.entries(elsewhere)) {
    if (rate === undefined || (rate >= 0 && rate <= max)) continue;
    throw badLimits(`A rate ${where} of ${rate} lb/ac does not fit a largest rate of ${max} lb/ac.`);
  }
  // The nudges undo binary representation error, as in 0.3 / 0.1 = 2.9999999999999996.
  const least = wholeSteps(Math.ceil(min / step - 1e-9), step);
  const most = wholeSteps(Math.floor(max / step + 1e-9), step);
  if (most < least || most === 0) {
    throw badLimits(`No whole number of ${step} lb/ac steps lies between ${min} and ${max} lb/ac.`);
  }
  const issues: Issue[] = [];
  const say = (which: string, given: number, used: number): void => {
    if (given === used) return;
    issues.push({
      code: "prescription/limit-between-steps",
      severity: "note",
      message: `The ${which} rate, ${formatShort(given)} lb/ac, is not a whole number of ${formatShort(step)} lb/ac steps: ${formatShort(used)} lb/ac is used.`,
    });
  };
  say("smallest", min, least);
  say("largest", max, most);
  return {limits: {...limits, minLbPerAcre: least, maxLbPerAcre: most}, issues};
}

function badLimits(message: string): FieldError {
  return new FieldError("prescription/bad-limits", message, {
    hint: "Give the step, the smallest and the largest rate of the machine, in lb of product per acre.",
  });
}

/** Six decimals, so that three steps of 0.1 are 0.3 and not 0.30000000000000004. */
function wholeSteps(count: number, step: number): number {
  return roundHalfAway(count * step, 6);
}
