import {finite, MAD_TO_SD, mad, median, quantiles} from "./robust.ts";

/** How numbers are brought to a common scale: clipped to [low, high], then (value - centre) / spread. */
export interface Scale {
  readonly low: number;
  readonly high: number;
  readonly centre: number;
  readonly spread: number;
}

/** A spread this small beside the mean is rounding, not variation. */
const LEAST_RELATIVE_SPREAD = 1e-10;

/**
 * The clipped z-score of a set of numbers, by mean and population standard deviation of the clipped numbers: a few wild
 * values neither set the scale nor reach far on it.
 *
 * @param values - NaN and infinities are skipped.
 * @param tail - Share clipped at each end. Default 0.01.
 * @returns undefined when there are no numbers, or all are the same once clipped: such a set has no scale.
 */
export function clippedScale(values: ArrayLike<number>, tail = 0.01): Scale | undefined {
  const known = finite(values);
  if (known.length === 0) return undefined;
  const [low, high] = quantiles(known, [tail, 1 - tail]) as [number, number];
  const clipped = known.map((v) => Math.min(high, Math.max(low, v)));
  let sum = 0;
  for (const v of clipped) sum += v;
  const mean = sum / clipped.length;
  let squares = 0;
  for (const v of clipped) squares += (v - mean) ** 2;
  const sd = Math.sqrt(squares / clipped.length);
  return sd > LEAST_RELATIVE_SPREAD * Math.abs(mean) ? {low, high, centre: mean, spread: sd} : undefined;
}

/**
 * The robust z-score: clipped alike, but by median and median absolute deviation (times 1.4826, which makes it the
 * standard deviation of normal numbers). Long tails do not widen the scale, so the bulk of the numbers keeps its say.
 *
 * When over half of the numbers are one and the same the deviation is nought though they vary; then the spread is the
 * standard deviation of the clipped numbers.
 *
 * @returns undefined in the same cases as `clippedScale`.
 */
export function robustScale(values: ArrayLike<number>, tail = 0.01): Scale | undefined {
  const scale = clippedScale(values, tail);
  if (!scale) return undefined;
  const centre = median(values);
  const spread = MAD_TO_SD * mad(values);
  return {...scale, centre, spread: spread > LEAST_RELATIVE_SPREAD * Math.abs(centre) ? spread : scale.spread};
}

/** A number on the scale; NaN stays NaN. */
export function zScore(scale: Scale, value: number): number {
  return (Math.min(scale.high, Math.max(scale.low, value)) - scale.centre) / scale.spread;
}
