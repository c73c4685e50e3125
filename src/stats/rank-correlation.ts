/**
 * Spearman's rank correlation of two columns: Pearson's correlation of their ranks, ties sharing their mean rank.
 *
 * @returns NaN when fewer than 3 pairs have both numbers, or one column is constant over them.
 */
export function spearman(a: ArrayLike<number>, b: ArrayLike<number>): number {
  const pairs: number[] = [];
  for (let i = 0; i < a.length; i++) {
    if (Number.isFinite(a[i] as number) && Number.isFinite(b[i] as number)) pairs.push(i);
  }
  if (pairs.length < 3) return Number.NaN;
  return correlation(
    ranks(Float64Array.from(pairs, (i) => a[i] as number)),
    ranks(Float64Array.from(pairs, (i) => b[i] as number)),
  );
}

/** 1-based ranks, ties sharing their mean rank. No value may be NaN. */
export function ranks(values: Float64Array): Float64Array {
  // Sorted values tell where each tie begins and ends, which is faster than sorting indexes with a comparison.
  const sorted = Float64Array.from(values).sort();
  const ranked = new Float64Array(values.length);
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    ranked[i] = (firstAt(sorted, value, false) + firstAt(sorted, value, true) + 1) / 2;
  }
  return ranked;
}

/** Index of the first sorted value that is not below (or, with `past`, that is above) a value. */
function firstAt(sorted: Float64Array, value: number, past: boolean): number {
  let low = 0;
  let high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    const at = sorted[middle] as number;
    if (at < value || (past && at === value)) low = middle + 1;
    else high = middle;
  }
  return low;
}

function correlation(a: Float64Array, b: Float64Array): number {
  // Ranks of n values, ties or not, have the mean (n + 1) / 2.
  const mean = (a.length + 1) / 2;
  let ab = 0;
  let aa = 0;
  let bb = 0;
  for (let i = 0; i < a.length; i++) {
    const da = (a[i] as number) - mean;
    const db = (b[i] as number) - mean;
    ab += da * db;
    aa += da * da;
    bb += db * db;
  }
  return aa > 0 && bb > 0 ? ab / Math.sqrt(aa * bb) : Number.NaN;
}
