import {indexPoints, nearest, roomFor} from "./point-index.ts";
import type {Random} from "./random.ts";

/** How much less neighbours differ than any two points of the field. */
export interface NeighbourLikeness {
  readonly count: number;
  /**
   * 1 − (half the mean squared difference of nearest neighbours) / variance. 0: a neighbour tells nothing. 1: neighbours
   * are alike.
   */
  readonly share: number;
  /** Chance of a share this high when values are shuffled over the places; small: there is a pattern. */
  readonly p: number;
  /** Mean distance to the neighbours used, in the unit of the coordinates. */
  readonly distance: number;
}

/**
 * Whether values near each other are alike, by the ratio of von Neumann (1941) turned into a share, over the `k` nearest
 * neighbours of each point. Values far out of the rest rule it: give logarithms of skewed tests.
 *
 * @param draws - Shuffles for `p`, as in 999.
 * @returns NaN share for fewer than 4 points or constant values.
 */
export function neighbourLikeness(
  x: Float64Array,
  y: Float64Array,
  values: Float64Array,
  random: Random,
  k = 4,
  draws = 999,
): NeighbourLikeness {
  const n = values.length;
  if (n < 4) return {count: n, share: Number.NaN, p: Number.NaN, distance: Number.NaN};
  const {pairs, distance} = neighbourPairs(x, y, Math.min(k, n - 1));
  let mean = 0;
  for (const v of values) mean += v / n;
  let variance = 0;
  for (const v of values) variance += (v - mean) ** 2 / (n - 1);
  if (!(variance > 0)) return {count: n, share: Number.NaN, p: Number.NaN, distance};
  const shareOf = (of: Float64Array): number => {
    let squares = 0;
    for (let i = 0; i < pairs.length; i += 2) {
      squares += ((of[pairs[i] as number] as number) - (of[pairs[i + 1] as number] as number)) ** 2;
    }
    return 1 - squares / pairs.length / variance;
  };
  const share = shareOf(values);
  const shuffled = Float64Array.from(values);
  let asHigh = 0;
  for (let d = 0; d < draws; d++) {
    shuffle(shuffled, random);
    if (shareOf(shuffled) >= share) asHigh++;
  }
  return {count: n, share, p: (1 + asHigh) / (1 + draws), distance};
}

/** Indexes of each point and one of its nearest, pair after pair. */
function neighbourPairs(x: Float64Array, y: Float64Array, k: number): {pairs: Int32Array; distance: number} {
  const points = indexPoints(x, y);
  const found = roomFor(k);
  const pairs: number[] = [];
  let total = 0;
  for (let i = 0; i < x.length; i++) {
    const count = nearest(points, x[i] as number, y[i] as number, found, Infinity, i);
    for (let j = 0; j < count; j++) {
      const other = found.index[j] as number;
      pairs.push(i, other);
      total += Math.hypot((x[i] as number) - (x[other] as number), (y[i] as number) - (y[other] as number));
    }
  }
  return {pairs: Int32Array.from(pairs), distance: total / (pairs.length / 2)};
}

/** Fisher and Yates. */
function shuffle(values: Float64Array, random: Random): void {
  for (let i = values.length - 1; i > 0; i--) {
    const j = random.integer(i + 1);
    const kept = values[i] as number;
    values[i] = values[j] as number;
    values[j] = kept;
  }
}
