import {type Points, squaredDistance} from "./cluster-points.ts";
import type {Random} from "./random.ts";

/**
 * Starting centres far apart: each is drawn with a chance proportional to its squared distance from those before it,
 * the best of a few draws. Stops early when no row is left that differs from all of them.
 *
 * Source: Arthur and Vassilvitskii (2007), k-means++, Proc. SODA, 1027-1035, greedy form.
 */
export function spreadStart({values, dims}: Points, count: number, random: Random): Float64Array {
  const rows = values.length / dims;
  const draws = 2 + Math.floor(Math.log(count));
  const chosen = [random.integer(rows)];
  let nearest = distancesTo(values, dims, chosen[0] as number);
  while (chosen.length < count) {
    let total = 0;
    for (const d of nearest) total += d;
    if (!(total > 0)) break;
    let best = {row: -1, total: Infinity, nearest};
    for (let draw = 0; draw < draws; draw++) {
      const row = drawByWeight(nearest, random.next() * total);
      const closer = distancesTo(values, dims, row);
      let left = 0;
      for (let i = 0; i < rows; i++) {
        if ((nearest[i] as number) < (closer[i] as number)) closer[i] = nearest[i] as number;
        left += closer[i] as number;
      }
      if (left < best.total) best = {row, total: left, nearest: closer};
    }
    chosen.push(best.row);
    nearest = best.nearest;
  }
  const centres = new Float64Array(chosen.length * dims);
  chosen.forEach((row, j) => {
    centres.set(values.subarray(row * dims, (row + 1) * dims), j * dims);
  });
  return centres;
}

function distancesTo(values: Float64Array, dims: number, row: number): Float64Array {
  const out = new Float64Array(values.length / dims);
  for (let i = 0; i < out.length; i++) out[i] = squaredDistance(values, i, values, row, dims);
  return out;
}

/** The row on which a running sum of weights passes `target`; never one of weight 0. */
function drawByWeight(weights: Float64Array, target: number): number {
  let sum = 0;
  let last = -1;
  for (let i = 0; i < weights.length; i++) {
    if (!((weights[i] as number) > 0)) continue;
    sum += weights[i] as number;
    last = i;
    if (sum > target) break;
  }
  return last;
}
