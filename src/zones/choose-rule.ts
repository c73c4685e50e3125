import {formatArea, formatNumber} from "../units/format.ts";
import type {SquareMetres} from "../units/quantity.ts";
import type {CountRow} from "./count-rows.ts";
import {evidenceOf} from "./verdict.ts";

/** A count with what sampling it takes. */
export interface Costed extends CountRow {
  /** Samples to send to the lab: one for each zone, more where a zone is larger than one may speak for. */
  readonly composites: number;
  /** Dollars for one round, when a price was given. */
  readonly cost?: number;
}

/** Why the count is what it is. */
export type CountReason =
  | "no-pattern"
  | "too-small"
  | "over-budget"
  | "no-evidence"
  | "little-gain"
  | "next-adds-little"
  | "least-fuzzy"
  | "most-that-fit";

export interface Recommendation {
  /** 1 means: do not zone this field. */
  readonly count: number;
  readonly reason: CountReason;
  /** One sentence. */
  readonly sentence: string;
  /** What single indices would choose. They often disagree, and in a field without sharp borders they mostly say 2. */
  readonly preferred: {
    readonly fpi: number;
    readonly entropyByLog: number;
    /** Least sum of both, each scaled to run from 0 to 1 over the counts. */
    readonly fpiAndEntropy: number;
    readonly silhouette: number;
    readonly calinskiHarabasz: number;
  };
}

export interface RuleInput {
  readonly minArea: SquareMetres;
  readonly budget: number | undefined;
  /** No layer shows a pattern. */
  readonly onlyNoise: boolean;
  /** Whether shares held out are of layers the zones were not made from. */
  readonly independent: boolean;
}

/** A further zone must explain so much more. Own limit, after the gains that published zone counts level off at. */
const LEAST_GAIN = 0.05;

export function costed(row: CountRow, maxArea: SquareMetres, price: number | undefined): Costed {
  const composites = row.areas.reduce((sum, area) => sum + Math.max(1, Math.ceil(area / maxArea)), 0);
  return {...row, composites, ...(price !== undefined && {cost: composites * price})};
}

/**
 * The fewest zones after which one more explains under 5 points more of what was held out, among counts that a machine
 * can follow and the budget allows; one zone when even the first division does not reach that, or chance does as well.
 *
 * When nothing independent was kept back, the other half of the field is foretold the better the more zones there are;
 * then no more zones than FPI and entropy together choose.
 *
 * @param rows - From one zone upwards.
 */
export function recommendCount(rows: readonly Costed[], input: RuleInput): Recommendation {
  const {count, reason} = decide(rows, input);
  return {count, reason, sentence: sentenceFor(rows, count, reason, input), preferred: preferredBy(rows)};
}

function decide(rows: readonly Costed[], input: RuleInput): {count: number; reason: CountReason} {
  const {minArea, budget, onlyNoise, independent} = input;
  if (onlyNoise) return {count: 1, reason: "no-pattern"};
  const followed = rows.filter((row) => row.left === row.count && row.smallest.tidied >= minArea - 1e-6);
  if (!followed.some(({count}) => count > 1)) return {count: 1, reason: "too-small"};
  const payable = followed.filter(({cost, count}) => count === 1 || withinBudget(cost, budget));
  if (!payable.some(({count}) => count > 1)) return {count: 1, reason: "over-budget"};

  const at = elbow(payable);
  if (at.count === 1) return {count: 1, reason: independent ? "no-evidence" : "little-gain"};
  const {byChance} = at.heldOut;
  if (byChance && evidenceOf(at.count, held(at), byChance.p) === "none") return {count: 1, reason: "no-evidence"};
  const clearest = independent ? at.count : leastFuzzy(payable);
  if (clearest < at.count) return {count: clearest, reason: "least-fuzzy"};
  return {count: at.count, reason: at === payable.at(-1) && at !== rows.at(-1) ? "most-that-fit" : "next-adds-little"};
}

/** Goes up as long as some larger count explains enough more for each zone added. */
function elbow(rows: readonly Costed[]): Costed {
  let at = rows[0] as Costed;
  for (;;) {
    const from = at;
    const better = rows.find(
      (row) => row.count > from.count && (held(row) - held(from)) / (row.count - from.count) >= LEAST_GAIN,
    );
    if (!better) return at;
    at = better;
  }
}

const withinBudget = (cost: number | undefined, budget: number | undefined): boolean =>
  cost === undefined || budget === undefined || cost <= budget + 1e-9;

const held = ({heldOut}: Costed): number => (Number.isNaN(heldOut.explained) ? 0 : heldOut.explained);

function sentenceFor(rows: readonly Costed[], count: number, reason: CountReason, input: RuleInput): string {
  const least = formatArea(input.minArea);
  switch (reason) {
    case "no-pattern":
      return "Do not zone this field: in none of its layers are neighbouring cells more alike than by chance.";
    case "too-small":
      return `Do not zone this field: even two zones do not keep a piece of ${least} each, the least that is worth a rate of its own.`;
    case "over-budget":
      return `Do not zone this field: sampling two zones costs ${dollars(rows[1]?.cost)}, over the budget of ${dollars(input.budget)}.`;
    case "no-evidence": {
      const best = rows.slice(1).reduce((a, b) => (held(b) > held(a) ? b : a));
      const p = best.heldOut.byChance?.p;
      const chance = p === undefined ? "" : `; maps laid anywhere do as well in ${formatNumber(100 * p)} of 100 cases`;
      return `Do not zone this field: of what was kept back the best of the counts, ${best.count}, explains ${percent(held(best))}${chance}.`;
    }
    case "little-gain":
      return `Do not zone this field: no further zone explains ${formatNumber(100 * LEAST_GAIN)} points more of the half of the field it was not made from.`;
    default:
      return makeZones(rows, count, reason, input);
  }
}

function makeZones(rows: readonly Costed[], count: number, reason: CountReason, input: RuleInput): string {
  const row = rows.find((one) => one.count === count) as Costed;
  const {byChance} = row.heldOut;
  const chance = byChance ? ` (of 100 maps laid by chance 95 explain under ${percent(byChance.high)})` : "";
  const explains = input.independent
    ? `of what was kept back they explain ${percent(held(row))}${chance}`
    : `found in one half of the field they explain ${percent(held(row))} of the other, though nothing was kept back to show that they help`;
  const budget = input.budget === undefined ? "" : ` of a budget of ${dollars(input.budget)}`;
  const sampling =
    row.cost === undefined
      ? `${row.composites} composites to sample`
      : `${row.composites} composites cost ${dollars(row.cost)}${budget}`;
  return `Make ${count} zones: ${explains}, ${whyNoMore(rows, row, reason, input)}, the smallest has ${formatArea(row.smallest.tidied)}, and ${sampling}.`;
}

function whyNoMore(rows: readonly Costed[], row: Costed, reason: CountReason, {budget}: RuleInput): string {
  if (reason === "least-fuzzy") return "they are the least fuzzy of the counts";
  const next = rows.find(({count}) => count === row.count + 1);
  if (!next) return "more were not tried";
  if (reason === "most-that-fit") {
    return withinBudget(next.cost, budget) ? "more would leave pieces too small" : "more are over the budget";
  }
  const gain = 100 * (held(next) - held(row));
  return `one more would explain ${formatNumber(Math.abs(gain), 1)} points ${gain < 0 ? "less" : "more"}`;
}

const percent = (share: number): string => `${formatNumber(100 * share)} %`;
const dollars = (amount: number | undefined): string => `$${formatNumber(amount ?? Number.NaN, 2)}`;

function preferredBy(rows: readonly Costed[]): Recommendation["preferred"] {
  return {
    fpi: least(rows, (row) => row.fpi),
    entropyByLog: least(rows, (row) => row.entropyByLog),
    fpiAndEntropy: leastFuzzy(rows),
    silhouette: least(rows, (row) => -row.silhouette),
    calinskiHarabasz: least(rows, (row) => -row.calinskiHarabasz),
  };
}

/** The count of the least value; an index without a value, as of one zone, is never the least. */
function least(rows: readonly Costed[], of: (row: Costed) => number): number {
  return rows.reduce<{count: number; value: number}>(
    (found, row) => (of(row) < found.value ? {count: row.count, value: of(row)} : found),
    {count: 1, value: Infinity},
  ).count;
}

function leastFuzzy(rows: readonly Costed[]): number {
  const zoned = rows.filter(({count}) => count > 1);
  const scaled = (of: (row: Costed) => number): ((row: Costed) => number) => {
    const all = zoned.map(of);
    const low = Math.min(...all);
    const range = Math.max(...all) - low;
    return (row) => (range > 0 ? (of(row) - low) / range : 0);
  };
  const fpi = scaled((row) => row.fpi);
  const entropy = scaled((row) => row.entropyByLog);
  return least(zoned, (row) => fpi(row) + entropy(row));
}
