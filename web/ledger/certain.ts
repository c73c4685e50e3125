import type {EvidenceCard, ProductCard, Strategy} from "../api/types.ts";
import {NAMES} from "../map/scenes.ts";
import {figures, say} from "../units/shown.ts";

export interface Range {
  readonly low: number;
  readonly high: number;
}

/** A product's total with its intervals, as far as cores and lab go; absent for lime. */
export function totalOf({certainty}: EvidenceCard, strategy: Strategy, {code, purpose}: ProductCard) {
  return certainty.strategies
    .find((row) => row.strategy === strategy)
    ?.products.find((total) => total.code === code && total.nutrient === purpose);
}

/** Ground short and over, measured by the best truth there is; absent for the strategy that is that truth. */
export function lossOf({overUnder}: EvidenceCard, strategy: Strategy, {purpose}: ProductCard) {
  return overUnder.find((one) => one.strategy === strategy && one.nutrient === purpose);
}

/** A few words on how a strategy's total differs from the baseline's. */
export function howSure(
  {certainty}: EvidenceCard,
  strategy: Strategy,
  baseline: Strategy,
  {code}: ProductCard,
): string {
  const found = certainty.differences.find(
    (one) =>
      one.code === code &&
      [one.strategy, one.against].includes(strategy) &&
      [one.strategy, one.against].includes(baseline),
  );
  if (!found) return "";
  const base = NAMES[baseline].toLowerCase();
  if (found.verdict === "no clear difference") return `no clear difference from ${base}`;
  const flipped = found.strategy !== strategy;
  const verdict = flipped ? (found.verdict === "less" ? "more" : "less") : found.verdict;
  const [least, most] = [found.interval.low, found.interval.high].map(Math.abs).sort((a, b) => a - b) as [
    number,
    number,
  ];
  return `clearly ${verdict} than ${base}, by ${figures(least, "lb")} to ${say(most, "lb")}`;
}
