import {finite} from "./robust.ts";

/** How far predictions are from what was found. Errors are predicted − found. */
export interface PredictionError {
  readonly count: number;
  /** Bias: above 0 when predictions are too high. */
  readonly meanError: number;
  readonly meanAbsoluteError: number;
  readonly rootMeanSquareError: number;
}

/** Pairs with a NaN on either side are left out; all NaN when none is left. */
export function predictionError(predicted: ArrayLike<number>, found: ArrayLike<number>): PredictionError {
  const errors = finite(Float64Array.from(predicted, (value, i) => value - (found[i] as number)));
  const mean = (of: (error: number) => number): number =>
    errors.length === 0 ? Number.NaN : errors.reduce((sum, error) => sum + of(error), 0) / errors.length;
  return {
    count: errors.length,
    meanError: mean((e) => e),
    meanAbsoluteError: mean(Math.abs),
    rootMeanSquareError: Math.sqrt(mean((e) => e * e)),
  };
}

/**
 * 100 × (1 − MSE / MSE of the reference), percent: 100 is without error, 0 no better than the reference, below 0 worse.
 *
 * Source: Mueller and others 2001, Soil Sci. Soc. Am. J. 65: 1547, there against the field mean.
 *
 * @returns NaN when the reference is without error.
 */
export function predictionEfficiencyPct(rmse: number, rmseOfReference: number): number {
  return rmseOfReference > 0 ? 100 * (1 - (rmse / rmseOfReference) ** 2) : Number.NaN;
}

/** Share of labels that agree, and Cohen's kappa (1960): agreement beyond what the two sets of labels give by chance. */
export function agreement(
  a: readonly (string | undefined)[],
  b: readonly (string | undefined)[],
): {
  readonly count: number;
  readonly same: number;
  /** NaN when both have one and the same label throughout: there is nothing to agree on. */
  readonly kappa: number;
} {
  const pairs = a.flatMap((label, i) => (label !== undefined && b[i] !== undefined ? [[label, b[i]] as const] : []));
  const count = pairs.length;
  if (count === 0) return {count, same: Number.NaN, kappa: Number.NaN};
  const same = pairs.filter(([x, y]) => x === y).length / count;
  const labels = [...new Set(pairs.flat())];
  const share = (side: 0 | 1, label: string | undefined): number =>
    pairs.filter((pair) => pair[side] === label).length / count;
  const byChance = labels.reduce((sum, label) => sum + share(0, label) * share(1, label), 0);
  return {count, same, kappa: byChance < 1 ? (same - byChance) / (1 - byChance) : Number.NaN};
}

/**
 * Spread of one reading, from pairs that should have read alike: √(Σ d² / 2m). What no prediction of a single reading
 * can beat. NaN without pairs.
 */
export function duplicateSd(pairs: readonly (readonly [number, number])[]): number {
  const squares = finite(pairs.map(([a, b]) => (a - b) ** 2));
  return Math.sqrt(squares.reduce((sum, d2) => sum + d2, 0) / (2 * squares.length));
}
