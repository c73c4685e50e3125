import type {Strategy} from "../sampling/plan.ts";
import {formatNumber} from "../units/format.ts";
import type {SamplingPrices, StrategyResult} from "./compare-input.ts";
import {USUAL_PRICES} from "./prices.ts";

/**
 * The sentences a ledger is never shown without: overrides in force first, then what the figures leave out, the
 * caution last.
 */
export function ledgerNotes(
  strategies: readonly StrategyResult[],
  prices: SamplingPrices,
  given: readonly string[],
  intervalsShown = false,
  pricesStandIn = false,
): string[] {
  return [
    ...given,
    ...arithmeticOnly(strategies),
    ...fromMemory(strategies),
    ...withoutLab(strategies),
    ...withoutPrices(strategies, prices, pricesStandIn),
    ...carriedAlong(strategies),
    ...(prices.yearsServed !== undefined && prices.yearsServed !== 1
      ? [`Totals count sampling in full; it serves ${formatNumber(prices.yearsServed)} years.`]
      : []),
    "No gain in yield is promised for any strategy, and this table counts none.",
    intervalsShown
      ? "The figures rest on one day's sampling; intervals hold the luck of its cores and of the lab, nothing else."
      : "The figures rest on one day's sampling; the full comparison (loamwright compare) tells how sure the differences are.",
    "Rates come from published guides and your own data. Check them against local nutrient rules and setbacks, have a " +
      "licensed or certified adviser sign, and see that the controller reads the file as meant before you spread.",
  ];
}

function arithmeticOnly(strategies: readonly StrategyResult[]): string[] {
  const touched = strategies
    .map(({plan, recommendations = []}) => {
      const units = recommendations.filter((r) => r.issues.some((i) => i.code === "recommend/arithmetic-only"));
      return {strategy: inWords(plan.strategy), count: units.length};
    })
    .filter(({count}) => count > 0);
  if (touched.length === 0) return [];
  const where = touched.map(({strategy, count}) => `${strategy} ${formatNumber(count)}`).join(", ");
  return [
    `For arithmetic only: rates worked out from soil tests the guide was not made for (${where}). Do not spread by them.`,
  ];
}

function fromMemory(strategies: readonly StrategyResult[]): string[] {
  const guides = strategies.flatMap(({recommendations = []}) =>
    recommendations
      .filter(({working}) => working.some((step) => step.basis === "from memory"))
      .map(({guide}) => `${guide.title}, ${guide.edition}`),
  );
  return [...new Set(guides)].map(
    (guide) =>
      `Some numbers of ${guide} are from memory and still to be checked against the bulletin; the working marks them.`,
  );
}

function withoutLab(strategies: readonly StrategyResult[]): string[] {
  const waiting = strategies.filter(({recommendations = []}) => recommendations.length === 0);
  if (waiting.length === 0) return [];
  if (waiting.length === strategies.length) return ["No lab results yet: the table compares the sampling alone."];
  return [`No rates yet for ${waiting.map(({plan}) => inWords(plan.strategy)).join(" and ")}.`];
}

function withoutPrices(
  strategies: readonly StrategyResult[],
  prices: SamplingPrices,
  pricesStandIn: boolean,
): string[] {
  const notes: string[] = [];
  const products = strategies.flatMap(({prescriptions = []}) => prescriptions.map(({product}) => product));
  const unpriced = new Set(products.filter((p) => p.pricePerLb === undefined).map((p) => p.analysis));
  if (unpriced.size > 0)
    notes.push(`No price was given for ${[...unpriced].join(" and ")}, so no total cost is shown.`);
  const lacking = [
    ...(prices.labPerSample === undefined ? ["lab"] : []),
    ...(prices.perCore === undefined ? ["cores"] : []),
  ];
  // Zone making or a crew paid by the hour may have a price where lab and cores have none.
  const counted = prices.zoneMakingPerAcre !== undefined || prices.crew !== undefined;
  if (lacking.length === 2 && counted)
    notes.push("No price was given for lab or cores: sampling costs leave those out.");
  else if (lacking.length === 2)
    notes.push(
      pricesStandIn
        ? `No price was given for lab or cores. Dollars over the field leave sampling out; money by acre and year counts it at published prices and placeholders (${formatNumber(USUAL_PRICES.labPerSample.value)} $ a sample, ${formatNumber(USUAL_PRICES.labourPerHour.value)} $ an hour) until you set yours.`
        : "No price was given for lab or cores, so sampling costs are not counted.",
    );
  else if (lacking.length === 1) notes.push(`No price was given for ${lacking[0]}: sampling costs leave that out.`);
  if (prices.year !== undefined) notes.push(`Sampling prices are of ${prices.year}.`);
  return notes;
}

/** What a product brings besides the nutrient it was bought for is on no other line of the table. */
function carriedAlong(strategies: readonly StrategyResult[]): string[] {
  const prescriptions = strategies.flatMap(({prescriptions: made = []}) => made);
  return (["N", "P2O5", "K2O"] as const).flatMap((nutrient) => {
    const carriers = prescriptions.filter((p) => p.nutrient !== nutrient && p.totals.nutrientLb[nutrient] > 0);
    if (carriers.length === 0) return [];
    const products = [...new Set(carriers.map(({product}) => product.analysis))].join(" and ");
    const plan = nutrient === "N" ? "take it off the nitrogen plan" : `no ${nutrient} rate here takes it into account`;
    return [`${nutrient === "N" ? "Nitrogen" : nutrient} comes along in ${products}: ${plan}.`];
  });
}

function inWords(strategy: Strategy): string {
  return strategy.replace("-", " ");
}
