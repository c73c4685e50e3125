import type {Anova} from "./anova.ts";
import {normalProbability} from "./normal-probability.ts";

/** How far apart the means of two groups are, and what the data leave open. */
export interface MeanDifference {
  readonly from: number;
  readonly to: number;
  /** Mean of `to` less mean of `from`. */
  readonly difference: number;
  readonly low: number;
  readonly high: number;
}

/**
 * Differences of all pairs of group means with intervals that hold together at the level given.
 *
 * For values taken independently of each other, such as lab samples far apart; neighbouring cells of a field are not.
 *
 * @param level - As in 0.95.
 * @returns Nothing for fewer than two groups or no degrees of freedom.
 *
 * Source: Tukey (1949) and, for unequal sizes, Kramer (1956), Biometrics 12:307–310.
 */
export function meanDifferences(found: Anova, level: number): MeanDifference[] {
  const {sizes, means, withinMeanSquare: msw, groups, count} = found;
  if (groups < 2 || !(count > groups)) return [];
  const q = studentizedRangeQuantile(level, groups, count - groups);
  const used = [...sizes.keys()].filter((g) => (sizes[g] as number) > 0);
  return used.flatMap((from, i) =>
    used.slice(i + 1).map((to) => {
      const difference = (means[to] as number) - (means[from] as number);
      const reach = q * Math.sqrt((msw / 2) * (1 / (sizes[from] as number) + 1 / (sizes[to] as number)));
      return {from, to, difference, low: difference - reach, high: difference + reach};
    }),
  );
}

/** The value that the studentized range of `groups` means stays under with a probability; to 1e-8. */
export function studentizedRangeQuantile(p: number, groups: number, df: number): number {
  const over = (q: number): number => studentizedRangeProbability(q, groups, df) - p;
  let [low, atLow] = [0, -p];
  let [high, atHigh] = [4, over(4)];
  while (atHigh < 0 && high < 1e6) [low, atLow, high, atHigh] = [high, atHigh, 2 * high, over(2 * high)];
  // False position that halves the weight of an end kept twice (the Illinois method).
  for (let round = 0; round < 60 && Math.abs(high - low) > 1e-9 * high; round++) {
    const q = (low * atHigh - high * atLow) / (atHigh - atLow);
    const at = over(q);
    if (Math.abs(at) < 1e-12) return q;
    if (at * atHigh < 0) [low, atLow] = [high, atHigh];
    else atLow /= 2;
    [high, atHigh] = [q, at];
  }
  return (low + high) / 2;
}

/**
 * Probability that the range of `groups` standard normal means over an independent estimate of their standard deviation
 * with `df` degrees of freedom stays under `q`.
 *
 * By numerical integration: P = ∫ f(s) W(q s) ds, with W the distribution of the range of normal values and f the density
 * of √(χ² / df). Checked against R 4.2's ptukey and qtukey.
 */
export function studentizedRangeProbability(q: number, groups: number, df: number): number {
  if (!(q > 0)) return 0;
  // The density of s is narrow for many degrees of freedom: 9 standard deviations on each side, never below 0.
  const spread = 1 / Math.sqrt(2 * df);
  const from = Math.max(0, 1 - 9 * spread);
  const to = 1 + Math.max(9 * spread, 6 / df);
  const logScale = (df / 2) * Math.log(df / 2) - logGamma(df / 2) + Math.LN2;
  return integrate(from, to, 24, (s) =>
    s > 0 ? Math.exp(logScale + (df - 1) * Math.log(s) - (df * s * s) / 2) * rangeProbability(q * s, groups) : 0,
  );
}

/** Distribution of the range of normal values: k ∫ φ(z) [Φ(z) − Φ(z − w)]^(k−1) dz. */
function rangeProbability(w: number, groups: number): number {
  return Math.min(
    1,
    groups *
      integrate(
        -8.5,
        8.5,
        16,
        (z) =>
          (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
          (normalProbability(z) - normalProbability(z - w)) ** (groups - 1),
      ),
  );
}

/** Abscissas and weights of Gauss and Legendre for 8 points; Abramowitz and Stegun (1972), table 25.4. */
const GAUSS = [
  [0.1834346424956498, 0.362683783378362],
  [0.525532409916329, 0.3137066458778873],
  [0.7966664774136267, 0.2223810344533745],
  [0.9602898564975363, 0.1012285362903763],
] as const;

function integrate(from: number, to: number, pieces: number, f: (x: number) => number): number {
  const half = (to - from) / pieces / 2;
  let sum = 0;
  for (let piece = 0; piece < pieces; piece++) {
    const middle = from + (2 * piece + 1) * half;
    for (const [x, weight] of GAUSS) sum += weight * (f(middle - half * x) + f(middle + half * x));
  }
  return sum * half;
}

/** Lanczos (1964) with g = 7 and nine terms, to 1e-14 for positive numbers. */
function logGamma(x: number): number {
  const terms = [
    676.5203681218851, -1259.1392167224028, 771.3234287776531, -176.6150291621406, 12.507343278686905,
    -0.13857109526572012, 9.984369578019572e-6, 1.5056327351493116e-7,
  ];
  if (x < 0.5) return Math.log(Math.PI / Math.sin(Math.PI * x)) - logGamma(1 - x);
  const sum = terms.reduce((a, term, i) => a + term / (x + i), 0.9999999999998099);
  const t = x + 6.5;
  return 0.5 * Math.log(2 * Math.PI) + (x - 0.5) * Math.log(t) - t + Math.log(sum);
}
