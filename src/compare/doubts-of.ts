import type {Strategy} from "../sampling/plan.ts";
import {formatNumber} from "../units/format.ts";
import type {CertainTotal, Certainty} from "./certainty.ts";
import type {OverUnder} from "./over-and-under.ts";

export interface Doubt {
  readonly doubt: string;
  /** A sentence on what would settle it. */
  readonly decidedBy: string;
}

/** Share of the ground a sampling may leave short before it is no longer called enough; an assumption. */
const MOST_SHORT = 0.25;

/** An interval from less than this share of its high end is one from next to nothing; an assumption. */
const NEXT_TO_NOTHING = 0.1;

/**
 * What forbids to call a strategy's sampling enough: totals that may be nothing or much, and much ground short.
 *
 * @param overUnder - By the results of single spots; none where nothing is known of them.
 */
export function doubtsOf(
  strategy: Strategy,
  certainty: Certainty | undefined,
  overUnder: readonly OverUnder[] = [],
): Doubt[] {
  const totals = certainty?.strategies.find((one) => one.strategy === strategy)?.products ?? [];
  return [
    ...totals.filter(isNothingOrMuch).map((total) => hanging(strategy, total)),
    ...overUnder.filter((one) => one.strategy === strategy).flatMap(shortOnMuch),
  ];
}

/** All or nothing by the luck of the cores; the ledger's notes on totals near a guide's limit speak of no others. */
function isNothingOrMuch({totalLb, totalLbInterval: {low, high}}: CertainTotal): boolean {
  return totalLb === 0 ? high > 0 : low === 0 || low < NEXT_TO_NOTHING * high;
}

function hanging(strategy: Strategy, {analysis, totalLbInterval: {low, high}}: CertainTotal): Doubt {
  return {
    doubt: `the ${strategy} total of ${analysis} hangs on the guide's limit and could be anything from ${formatNumber(low)} to ${formatNumber(high)} lb`,
    decidedBy: `What would decide ${analysis}: ${strategy} sampling done again with more bags, until the mean is clear of the limit.`,
  };
}

function shortOnMuch({strategy, nutrient, acresUnder, acresOver, acresWithin}: OverUnder): Doubt[] {
  const known = acresUnder + acresOver + acresWithin;
  if (acresUnder <= MOST_SHORT * known) return [];
  return [
    {
      doubt: `${strategy} sampling leaves ${formatNumber(acresUnder)} of ${formatNumber(known)} ac short of ${nutrient} by the finer samples`,
      decidedBy: "What would decide the shortage: ten hold-out samples, or the finer sampling done a second time.",
    },
  ];
}
