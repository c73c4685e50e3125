import {formatNumber} from "../../src/units/format.ts";
import type {EvidenceCard, Strategy} from "../api/types.ts";

export interface Ends {
  readonly low: number;
  readonly high: number;
}

/** What a strategy costs, $/ac a year; each dollar is spread over the years it serves. */
export interface CostRow {
  readonly strategy: Strategy;
  readonly product: number;
  readonly sampling: number;
  readonly spreading: number;
  readonly total: number;
  /** Absent where a product has no price. */
  readonly interval?: Ends;
}

/** One strategy's total less the baseline's, $/ac a year. */
export interface CostDifference {
  readonly strategy: Strategy;
  readonly dollars: number;
  readonly interval?: Ends;
}

export interface Costs {
  readonly baseline: Strategy;
  /** Share of re-drawn sampling days that an interval holds. */
  readonly level: number;
  readonly rows: readonly CostRow[];
  /** None for the baseline. */
  readonly differences: readonly CostDifference[];
}

/**
 * The money of the evidence by acre and year. Intervals are those of what product costs; sampling is as billed and
 * spreading as planned, so they only move the ends along.
 */
export function costsOf({money, certainty}: Pick<EvidenceCard, "money" | "certainty">): Costs {
  const {acres, applicationYears, baseline} = money;
  const byYear = acres * applicationYears;
  const rows = money.strategies.map(({strategy, productPerYear, samplingPerYear, applicationPerYear}): CostRow => {
    const [product, sampling, spreading] = [productPerYear, samplingPerYear, applicationPerYear].map(
      (dollars) => dollars / acres,
    ) as [number, number, number];
    const found = certainty.strategies.find((one) => one.strategy === strategy)?.productCostInterval;
    return {
      strategy,
      product,
      sampling,
      spreading,
      total: product + sampling + spreading,
      ...(found && {interval: moved(found, 1 / byYear, sampling + spreading)}),
    };
  });
  const base = rows.find(({strategy}) => strategy === baseline);
  const differences = rows.flatMap((row): CostDifference[] => {
    if (!base || row === base) return [];
    const dollars = row.total - base.total;
    const rest = row.sampling + row.spreading - base.sampling - base.spreading;
    const found = certainty.costDifferences.find(
      (one) => [one.strategy, one.against].includes(row.strategy) && [one.strategy, one.against].includes(baseline),
    );
    // Kept once for each two strategies, either way round.
    const sign = found?.against === row.strategy ? -1 : 1;
    return [{strategy: row.strategy, dollars, ...(found && {interval: moved(found.interval, sign / byYear, rest)})}];
  });
  return {baseline, level: certainty.level, rows, differences};
}

function moved({low, high}: Ends, by: number, along: number): Ends {
  const [a, b] = [low * by + along, high * by + along];
  return {low: Math.min(a, b), high: Math.max(a, b)};
}

/** Whether a difference is more than the luck of cores and lab; one whose interval is printed as touching 0 is not. */
export function isClear({low, high}: Ends): boolean {
  return low >= 0.005 || high <= -0.005;
}

/** How money by area is said: figures of $/ac, and of what. */
export interface SaidBy {
  /** "2.10" of 2.1 $/ac, or of the same by hectare. */
  readonly figures: (dollarsPerAcre: number) => string;
  /** "an acre". */
  readonly area: string;
}

/** A plain sentence for each strategy beside the baseline. */
export function costSentences(
  {baseline, level, differences}: Costs,
  names: Readonly<Record<Strategy, string>>,
  {figures, area}: SaidBy,
): string[] {
  const base = names[baseline].toLowerCase();
  const says = (dollars: number): string => {
    const text = figures(Math.abs(dollars));
    return text === figures(0) ? "the same" : `$${text} ${dollars < 0 ? "less" : "more"}`;
  };
  return differences.map(({strategy, dollars, interval}) => {
    const name = names[strategy];
    const cost = `${name} ${strategy === "zone" ? "cost" : "costs"}`;
    const much = says(dollars);
    const what = much === "the same" ? `the same as ${base}` : `${much} ${area} a year than ${base}`;
    if (!interval) return `${cost} ${what}; how sure that is cannot be told without a price for each product.`;
    if (says(interval.low) === says(interval.high)) return `${cost} ${what}; cores and lab cannot move that.`;
    if (isClear(interval)) {
      return `${cost} ${what}, clearly: ${between(interval, figures)} (${formatNumber(100 * level)} % interval).`;
    }
    return `${cost} ${what}, which is no clear difference: another day's cores could make it anything from ${says(interval.low)} to ${says(interval.high)} (${formatNumber(100 * level)} % interval).`;
  });
}

/** Both ends on one side of zero: "between $0.40 and $2.10". */
function between({low, high}: Ends, figures: SaidBy["figures"]): string {
  const [a, b] = [Math.abs(low), Math.abs(high)].sort((one, other) => one - other) as [number, number];
  return `between $${figures(a)} and $${figures(b)}`;
}
