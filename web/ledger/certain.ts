import {formatNumber} from "../../src/units/format.ts";
import type {ProductCard, ResultCard, Strategy} from "../api/types.ts";
import {NAMES} from "../map/scenes.ts";

export interface Range {
  readonly low: number;
  readonly high: number;
}

/** Where a strategy's total lies, as far as cores and lab go; absent until it is worked out. */
export function intervalOf({evidence}: ResultCard, strategy: Strategy, {code}: ProductCard): Range | undefined {
  return evidence?.certainty.strategies
    .find((row) => row.strategy === strategy)
    ?.products.find((total) => total.code === code)?.totalLbInterval;
}

/** Ground short and over, measured by the best truth there is; absent for the strategy that is that truth. */
export function lossOf({evidence}: ResultCard, strategy: Strategy, {purpose}: ProductCard) {
  return evidence?.overUnder.find((one) => one.strategy === strategy && one.nutrient === purpose);
}

/** A few words on how a strategy's total differs from the baseline's. */
export function howSure({evidence, comparison}: ResultCard, strategy: Strategy, {code}: ProductCard): string {
  if (strategy === comparison.baseline) return "the baseline";
  if (!evidence) return "";
  const found = evidence.certainty.differences.find(
    (one) =>
      one.code === code &&
      [one.strategy, one.against].includes(strategy) &&
      [one.strategy, one.against].includes(comparison.baseline),
  );
  if (!found) return "";
  const baseline = NAMES[comparison.baseline].toLowerCase();
  if (found.verdict === "no clear difference") return `no clear difference from ${baseline}`;
  const flipped = found.strategy !== strategy;
  const verdict = flipped ? (found.verdict === "less" ? "more" : "less") : found.verdict;
  const ends = [found.interval.low, found.interval.high].map((end) => Math.abs(end)).sort((a, b) => a - b);
  return `clearly ${verdict} than ${baseline}, by ${formatNumber(ends[0] as number)} to ${formatNumber(ends[1] as number)} lb`;
}
