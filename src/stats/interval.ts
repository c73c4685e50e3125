import {quantiles} from "./robust.ts";

/** Where a number lies with a stated chance. */
export interface Interval {
  readonly low: number;
  readonly high: number;
}

/**
 * The middle share of a set of draws: from the (1 − level) / 2 quantile to its mirror image (type 7 of Hyndman and Fan
 * 1996).
 *
 * @param level - Above 0 and below 1, as in 0.9.
 * @returns NaN ends when there is no number among the draws.
 */
export function middleOf(draws: ArrayLike<number>, level: number): Interval {
  if (!(level > 0 && level < 1)) throw new Error(`an interval of level ${level} does not exist`);
  const [low, high] = quantiles(draws, [(1 - level) / 2, (1 + level) / 2]) as [number, number];
  return {low, high};
}
