import type {Strategy} from "../sampling/plan.ts";
import type {Money, StrategyMoney} from "./money.ts";
import type {PayOff} from "./pay-off.ts";
import {payAtGivenPrices} from "./pay-off.ts";

/** What finer sampling has to bring, and at which price it would. */
export interface BreakEven {
  readonly strategy: Strategy;
  readonly against: Strategy;
  /** Dollars per acre and year more than the baseline for sampling and passes; below zero it costs less. */
  readonly extraPerAcrePerYear: number;
  /** Yield that would pay for it, in units of the first crop per acre and year. */
  readonly neededYield?: {readonly crop: string; readonly perAcrePerYear: number};
  /** Product that would have to be saved to pay for it, lb per acre and year, by product. */
  readonly neededLb: readonly {readonly analysis: string; readonly lbPerAcrePerYear: number}[];
  /** Dollars per acre and year it spends less on product; below zero it spends more. */
  readonly productSavedPerAcrePerYear: number;
  /** Times the product prices at which the product saved alone pays for the extra; undefined where none is saved. */
  readonly productPriceFactor?: number;
  /** Lab price per sample at which the product saved alone pays; undefined where no price can. */
  readonly labPerSample?: number;
  /** The same with waste and yield counted, at the given prices; undefined without a pay-off. */
  readonly labPerSampleAllCounted?: number;
}

/**
 * Break-even prices of each strategy against the baseline. Arithmetic only: saved product is not always rightly saved.
 *
 * @param samples - Lab samples by strategy.
 * @param products - With prices, as in the money.
 */
export function breakEvens(
  money: Money,
  samples: Readonly<Partial<Record<Strategy, number>>>,
  products: readonly {readonly analysis: string; readonly pricePerLb: number}[],
  crop?: {readonly crop: string; readonly pricePerUnit: number},
  pay?: PayOff,
): BreakEven[] {
  const base = money.strategies.find(({strategy}) => strategy === money.baseline) as StrategyMoney;
  const at = pay && payAtGivenPrices(pay);
  return money.strategies
    .filter((row) => row !== base)
    .map((row): BreakEven => {
      const perAcre = (dollars: number): number => dollars / money.acres;
      const extra = perAcre(
        row.samplingPerYear - base.samplingPerYear + row.applicationPerYear - base.applicationPerYear,
      );
      const saved = perAcre(base.productPerYear - row.productPerYear);
      const factor = saved > 0 && extra > 0 ? extra / saved : undefined;
      // Each dollar on the lab price costs the extra samples of a cycle.
      const extraSamples = (samples[row.strategy] ?? 0) - (samples[base.strategy] ?? 0);
      const labAt = (benefitPerAcre: number): number | undefined => {
        if (extraSamples <= 0) return undefined;
        const room = ((benefitPerAcre - extra) * money.acres * money.samplingYears) / extraSamples;
        const price = money.prices.labPerSample.value + room;
        return price > 0 ? price : undefined;
      };
      const mine = at?.strategies.find(({strategy}) => strategy === row.strategy);
      const theirs = at?.strategies.find(({strategy}) => strategy === base.strategy);
      const benefit = mine && theirs ? theirs.yieldLoss + theirs.excess - mine.yieldLoss - mine.excess : undefined;
      const lab = labAt(saved);
      const labAll = benefit === undefined ? undefined : labAt(benefit);
      return {
        strategy: row.strategy,
        against: base.strategy,
        extraPerAcrePerYear: extra,
        ...(crop && {neededYield: {crop: crop.crop, perAcrePerYear: extra / crop.pricePerUnit}}),
        neededLb: products.map(({analysis, pricePerLb}) => ({analysis, lbPerAcrePerYear: extra / pricePerLb})),
        productSavedPerAcrePerYear: saved,
        ...(factor !== undefined && {productPriceFactor: factor}),
        ...(lab !== undefined && {labPerSample: lab}),
        ...(labAll !== undefined && {labPerSampleAllCounted: labAll}),
      };
    });
}
