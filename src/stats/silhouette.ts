import {type Points, squaredDistance} from "./cluster-points.ts";
import {seededRandom} from "./random.ts";

/**
 * Mean silhouette: how much nearer rows are to their own cluster than to the next, (b-a) / max(a, b), from -1 to 1.
 *
 * Every row is compared with every other, so of many rows a sample is taken, drawn without replacement, and compared
 * among itself; then the figure is an estimate.
 *
 * @param labels - From 0. Rows alone in their cluster count 0. NaN when all are in one cluster.
 * @param options.most - Rows compared at most. Default 2,000.
 *
 * Randomness: `options.seed`, for the sample.
 * Source: Rousseeuw (1987), J. Comput. Appl. Math. 20:53-65. Checked against: scikit-learn 1.2.1 on iris.
 */
export function silhouette(points: Points, labels: Int32Array, {most = 2000, seed = 1} = {}): number {
  const {values, dims} = points;
  const rows = sampleOf(labels.length, most, seed);
  const count = labels.reduce((top, label) => Math.max(top, label), 0) + 1;
  const sizes = new Float64Array(count);
  for (const row of rows) sizes[labels[row] as number] = (sizes[labels[row] as number] as number) + 1;
  if (sizes.filter((size) => size > 0).length < 2) return Number.NaN;

  const sums = new Float64Array(rows.length * count); // of distances, from each row to each cluster
  for (let a = 0; a < rows.length; a++) {
    for (let b = 0; b < a; b++) {
      const d = Math.sqrt(squaredDistance(values, rows[a] as number, values, rows[b] as number, dims));
      const toB = a * count + (labels[rows[b] as number] as number);
      const toA = b * count + (labels[rows[a] as number] as number);
      sums[toB] = (sums[toB] as number) + d;
      sums[toA] = (sums[toA] as number) + d;
    }
  }
  let total = 0;
  rows.forEach((row, a) => {
    const own = labels[row] as number;
    const others = (sizes[own] as number) - 1;
    if (others === 0) return;
    const within = (sums[a * count + own] as number) / others;
    let next = Infinity;
    for (let j = 0; j < count; j++) {
      if (j !== own && (sizes[j] as number) > 0) {
        next = Math.min(next, (sums[a * count + j] as number) / (sizes[j] as number));
      }
    }
    const larger = Math.max(within, next);
    total += larger > 0 ? (next - within) / larger : 0;
  });
  return total / rows.length;
}

/** Numbers of the rows to compare, rising. */
function sampleOf(rows: number, most: number, seed: number): Int32Array {
  const order = Int32Array.from({length: rows}, (_, i) => i);
  if (rows <= most) return order;
  const random = seededRandom(seed, "silhouette");
  for (let i = 0; i < most; i++) {
    const other = i + random.integer(rows - i);
    [order[i], order[other]] = [order[other] as number, order[i] as number];
  }
  return order.subarray(0, most).sort();
}
