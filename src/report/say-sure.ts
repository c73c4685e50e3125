import type {CertainDifference, CertainStrategy, CertainTotal, Certainty} from "../compare/certainty.ts";
import type {Strategy} from "../sampling/plan.ts";
import type {Interval} from "../stats/interval.ts";
import {formatNumber} from "../units/format.ts";

/** What people call the strategies. */
export const STRATEGY_NAMES: Readonly<Record<Strategy, string>> = {
  "whole-field": "Whole field",
  grid: "Grid",
  zone: "Zones",
};

/** "16,800–21,500"; a minus on either side parts the ends with "to", and one figure alone "does not move". */
export function intervalText({low, high}: Interval, decimals = 0): string {
  const [from, to] = [formatNumber(low, decimals), formatNumber(high, decimals)];
  if (from === to) return "does not move";
  return from.includes("−") || to.includes("−") ? `${from} to ${to}` : `${from}–${to}`;
}

/** The total of a product in a strategy, if it was worked out. */
export function certainTotal(
  certainty: Certainty | undefined,
  strategy: Strategy,
  analysis: string,
  nutrient: string,
): CertainTotal | undefined {
  const row = certainty?.strategies.find((other: CertainStrategy) => other.strategy === strategy);
  return row?.products.find((total) => total.analysis === analysis && total.nutrient === nutrient);
}

/** "grid calls for clearly less than whole field (−5,600 lb, −7,100 to −4,200)". */
export function sayDifference({strategy, against, lb, interval, verdict}: CertainDifference): string {
  const [a, b] = [inText(strategy), inText(against)];
  if (verdict === "no clear difference")
    return `no clear difference between ${a} and ${b} (${intervalText(interval)} lb)`;
  const call = strategy === "zone" ? "call" : "calls";
  const by = `${lb > 0 ? "+" : ""}${formatNumber(lb)} lb, ${intervalText(interval)}`;
  return `${a} ${call} for clearly ${verdict} than ${b} (${by})`;
}

/** One plain sentence for each product: which totals differ clearly, and which do not. */
export function sureSentences({differences, level, strategies}: Certainty): string[] {
  const products = strategies[0]?.products ?? [];
  return products.map(({analysis, code}) => {
    const mine = differences.filter((difference) => difference.code === code);
    if (mine.length === 0) return `${analysis}: one strategy, nothing to compare.`;
    const percent = formatNumber(100 * level);
    if (mine.every(({verdict}) => verdict === "no clear difference")) {
      return `${analysis}: no clear difference between any two strategies; the luck of cores and lab could explain what there is (${percent} % intervals).`;
    }
    return `${analysis}: ${mine.map(sayDifference).join("; ")} (${percent} % intervals).`;
  });
}

/** Totals that hang on which side of a guide's limit one mean falls: all or nothing by the luck of the cores. */
export function nearLimitSentences({strategies}: Certainty): string[] {
  return strategies.flatMap(({strategy, products}) =>
    products.flatMap(({analysis, totalLb, totalLbInterval: {low, high}}) => {
      const name = STRATEGY_NAMES[strategy];
      if (totalLb === 0 && high > 0) {
        return [
          `${name}: no ${analysis} is called for, but the test stands so near the guide's limit that another day's cores could call for up to ${formatNumber(high)} lb.`,
        ];
      }
      if (totalLb > 0 && low === 0) {
        return [
          `${name}: ${formatNumber(totalLb)} lb of ${analysis} hang on tests so near the guide's limit that another day's cores could call for none.`,
        ];
      }
      return [];
    }),
  );
}

function inText(strategy: Strategy): string {
  return STRATEGY_NAMES[strategy].toLowerCase();
}
