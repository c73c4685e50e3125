import {type Interval, middleOf} from "./interval.ts";
import type {Random} from "./random.ts";
import {studentQuantile} from "./student-t.ts";

/**
 * Interval of a statistic of a small sample by drawing from the sample with replacement.
 *
 * Percentile intervals of few values are too narrow; the percentiles are moved out as a Student interval is wider than a
 * normal one (the "expanded percentile" of Hesterberg 2015, The American Statistician 69: 371–386).
 *
 * @param count - Values in the sample; from 2.
 * @param statistic - Of the values with these indexes, repeats included. NaN results are left out.
 * @param level - As in 0.9.
 * @param draws - As in 1000.
 */
export function bootstrapInterval(
  count: number,
  statistic: (indexes: Int32Array) => number,
  level: number,
  draws: number,
  random: Random,
): Interval {
  if (count < 2) return {low: Number.NaN, high: Number.NaN};
  const indexes = new Int32Array(count);
  const found = new Float64Array(draws);
  for (let d = 0; d < draws; d++) {
    for (let i = 0; i < count; i++) indexes[i] = random.integer(count);
    found[d] = statistic(indexes);
  }
  return middleOf(found, expandedLevel(level, count));
}

/**
 * Interval of the mean of a small sample of values that are never negative and lean to the right, such as squared errors:
 * a studentised bootstrap of the logarithm of the mean (Efron and Tibshirani 1993, chapter 12), which percentile intervals
 * of such values fall well short of.
 *
 * @returns Both ends the mean itself when all values are alike; NaN for fewer than two.
 */
export function bootstrapMeanOfSkewed(values: Float64Array, level: number, draws: number, random: Random): Interval {
  const n = values.length;
  if (n < 2) return {low: Number.NaN, high: Number.NaN};
  const own = logMean(values);
  if (!(own.error > 0)) return {low: Math.exp(own.log), high: Math.exp(own.log)};
  const again = new Float64Array(n);
  const ratios = new Float64Array(draws);
  for (let d = 0; d < draws; d++) {
    for (let i = 0; i < n; i++) again[i] = values[random.integer(n)] as number;
    const {log, error} = logMean(again);
    // A draw of one value n times over has no error of its own; it says nothing.
    ratios[d] = error > 0 ? (log - own.log) / error : Number.NaN;
  }
  const {low, high} = middleOf(ratios, level);
  return {low: Math.exp(own.log - high * own.error), high: Math.exp(own.log - low * own.error)};
}

/** Logarithm of the mean and its standard error by the delta method. */
function logMean(values: Float64Array): {log: number; error: number} {
  const n = values.length;
  let mean = 0;
  for (const value of values) mean += value / n;
  let squares = 0;
  for (const value of values) squares += (value - mean) ** 2;
  return {log: Math.log(mean), error: Math.sqrt(squares / (n - 1) / n) / mean};
}

/** The normal level whose half-width is √(n / (n − 1)) × the Student half-width of `level`. */
function expandedLevel(level: number, count: number): number {
  const reach = Math.sqrt(count / (count - 1)) * studentQuantile((1 + level) / 2, count - 1);
  return Math.min(1 - 1e-9, 2 * normalBelow(reach) - 1);
}

/** Standard normal distribution function by Abramowitz and Stegun (1972) 26.2.17, to 7.5e-8. */
function normalBelow(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail =
    (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z > 0 ? 1 - tail : tail;
}
