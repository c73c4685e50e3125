import {ranks} from "./rank-correlation.ts";

/** Values compared by the groups they are in. */
export interface Anova {
  readonly count: number;
  /** Groups with at least one value. */
  readonly groups: number;
  /** By group label; NaN for a label without values. */
  readonly means: Float64Array;
  readonly sizes: Float64Array;
  /** Mean square within groups: the variance that the groups leave. NaN without degrees of freedom. */
  readonly withinMeanSquare: number;
  readonly f: number;
  /** Share of the sum of squares that the groups explain. Grows with the number of groups, also by chance. */
  readonly eta2: number;
  /** The same less what that many groups explain by chance: 1 − MSW / s². May fall below 0. */
  readonly epsilon2: number;
  /** The same as estimated for the population: (SSB − (k − 1) MSW) / (SST + MSW). May fall below 0. */
  readonly omega2: number;
  /** Welch's F, which does not assume that groups vary alike, and its second degrees of freedom. */
  readonly welchF: number;
  readonly welchDf: number;
  /** H of Kruskal and Wallis with the correction for ties: the same question asked of ranks. */
  readonly kruskalWallis: number;
}

/**
 * One-way analysis of variance.
 *
 * No probabilities: on values that lie side by side in a field these are worthless (a smooth layer that has nothing to do
 * with the zones "differs significantly" between them nearly always). See `zones/judge`.
 *
 * @param values - NaN is left out.
 * @param labels - Group of each value, whole numbers from 0.
 *
 * Source: Welch (1951), Biometrika 38:330–336; Kruskal and Wallis (1952), JASA 47:583–621; omega squared Hays (1963),
 * epsilon squared Kelley (1935).
 */
export function anova(values: ArrayLike<number>, labels: ArrayLike<number>): Anova {
  const known: number[] = [];
  let labelsUsed = 0;
  for (let i = 0; i < values.length; i++) {
    if (Number.isNaN(values[i] as number)) continue;
    known.push(i);
    labelsUsed = Math.max(labelsUsed, (labels[i] as number) + 1);
  }
  const own = Float64Array.from(known, (i) => values[i] as number);
  const group = Int32Array.from(known, (i) => labels[i] as number);
  const {sizes, means, within} = sumsByGroup(own, group, labelsUsed);
  const n = own.length;
  const groups = sizes.reduce((sum, size) => sum + (size > 0 ? 1 : 0), 0);
  const mean = own.reduce((sum, v) => sum + v, 0) / n;
  const total = own.reduce((sum, v) => sum + (v - mean) ** 2, 0);
  const ssw = within.reduce((sum, squares) => sum + squares, 0);
  const msw = n > groups ? ssw / (n - groups) : Number.NaN;
  const ssb = total - ssw;
  return {
    count: n,
    groups,
    means,
    sizes,
    withinMeanSquare: msw,
    f: ssb / (groups - 1) / msw,
    eta2: total > 0 ? 1 - ssw / total : 0,
    epsilon2: 1 - msw / (total / (n - 1)),
    omega2: (ssb - (groups - 1) * msw) / (total + msw),
    ...welch(sizes, means, within),
    kruskalWallis: kruskalWallis(own, group, labelsUsed),
  };
}

function sumsByGroup(
  values: Float64Array,
  group: Int32Array,
  count: number,
): {sizes: Float64Array; means: Float64Array; within: Float64Array} {
  const sizes = new Float64Array(count);
  const means = new Float64Array(count);
  const within = new Float64Array(count);
  values.forEach((v, i) => {
    const g = group[i] as number;
    sizes[g] = (sizes[g] as number) + 1;
    means[g] = (means[g] as number) + v;
  });
  for (let g = 0; g < count; g++) means[g] = (means[g] as number) / (sizes[g] as number);
  values.forEach((v, i) => {
    const g = group[i] as number;
    within[g] = (within[g] as number) + (v - (means[g] as number)) ** 2;
  });
  return {sizes, means, within};
}

function welch(sizes: Float64Array, means: Float64Array, within: Float64Array): {welchF: number; welchDf: number} {
  const used = [...sizes.keys()].filter((g) => (sizes[g] as number) > 0);
  const k = used.length;
  const weight = used.map((g) => (sizes[g] as number) / ((within[g] as number) / ((sizes[g] as number) - 1)));
  const sum = weight.reduce((a, w) => a + w, 0);
  const middle = used.reduce((a, g, i) => a + (weight[i] as number) * (means[g] as number), 0) / sum;
  const between = used.reduce((a, g, i) => a + (weight[i] as number) * ((means[g] as number) - middle) ** 2, 0);
  const spread = used.reduce((a, g, i) => a + (1 - (weight[i] as number) / sum) ** 2 / ((sizes[g] as number) - 1), 0);
  return {
    welchF: between / (k - 1) / (1 + (2 * (k - 2) * spread) / (k * k - 1)),
    welchDf: (k * k - 1) / (3 * spread),
  };
}

function kruskalWallis(values: Float64Array, group: Int32Array, count: number): number {
  const n = values.length;
  const ranked = ranks(values);
  const sums = new Float64Array(count);
  const sizes = new Float64Array(count);
  ranked.forEach((rank, i) => {
    const g = group[i] as number;
    sums[g] = (sums[g] as number) + rank;
    sizes[g] = (sizes[g] as number) + 1;
  });
  let h = 0;
  for (let g = 0; g < count; g++) if (sizes[g]) h += (sums[g] as number) ** 2 / (sizes[g] as number);
  const ties = new Map<number, number>();
  for (const rank of ranked) ties.set(rank, (ties.get(rank) ?? 0) + 1);
  let tied = 0;
  for (const t of ties.values()) tied += t ** 3 - t;
  return ((12 / (n * (n + 1))) * h - 3 * (n + 1)) / (1 - tied / (n ** 3 - n));
}
