import {studentQuantile} from "../stats/student-t.ts";

/**
 * How many cores carry the mean of a bag to within ± `errorPct` of the truth, with a given confidence.
 *
 * The smallest n with n ≥ (t · CV / E)², t with n − 1 degrees of freedom: right when the spread is judged from these
 * very cores. `spreadKnown` takes the normal quantile instead, as most printed charts do.
 *
 * Not an answer to "how good is the map": it speaks of one bag.
 *
 * @param cvPct - Coefficient of variation of single cores within the unit, percent of the mean.
 * @param errorPct - Half-width wanted, percent of the mean.
 * @param confidence - Two-sided, a share: 0.95.
 *
 * Checked against: Kansas State's chart, 21 cores for ± 15 % (CV 35 %, 95 %, spread known).
 */
export function coresNeeded(cvPct: number, errorPct: number, confidence: number, spreadKnown = false): number {
  if (!(cvPct >= 0 && errorPct > 0)) {
    throw new Error(`a CV of ${cvPct} % and an error of ${errorPct} % need no negative, no zero error`);
  }
  const p = (1 + confidence) / 2;
  const least = (quantile: number): number => ((quantile * cvPct) / errorPct) ** 2;
  let n = Math.max(1, Math.ceil(least(studentQuantile(p, Infinity))));
  if (spreadKnown) return n;
  n = Math.max(2, n);
  while (n < least(studentQuantile(p, n - 1))) n++;
  return n;
}

/**
 * Half-width of the interval around the mean of a bag of `cores` cores, percent, for a known spread.
 *
 * @param cvPct - Coefficient of variation of single cores, percent.
 * @param confidence - Two-sided, a share: 0.95.
 */
export function expectedErrorPct(cvPct: number, cores: number, confidence: number): number {
  return studentQuantile((1 + confidence) / 2, Infinity) * compositeCvPct(cvPct, cores, 0);
}

/** Coefficient of variation of a bag's result, percent: cores and laboratory together. */
export function compositeCvPct(coreCvPct: number, cores: number, labCvPct: number): number {
  return Math.sqrt(coreCvPct ** 2 / cores + labCvPct ** 2);
}
