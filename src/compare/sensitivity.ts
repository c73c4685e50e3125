import type {Strategy} from "../sampling/plan.ts";

/** What a strategy would spread under other assumptions: lb over the field by product. */
export interface WhatIf {
  readonly strategy: Strategy;
  readonly products: readonly {
    readonly analysis: string;
    readonly totalLb: number;
    readonly pricePerLb?: number | undefined;
  }[];
}

export interface SensitivityCell {
  readonly priceFactor: number;
  readonly yieldFactor: number;
  readonly strategies: readonly {
    readonly strategy: Strategy;
    readonly productLb: number;
    /** Undefined when a product has no price. */
    readonly productCost: number | undefined;
    /** Against the first strategy. */
    readonly differenceCost: number | undefined;
  }[];
}

/**
 * Product cost of each strategy over price and yield goal: the data behind price sliders.
 *
 * @param totalsAt - What every strategy spreads when yield goals are multiplied by a factor: the guide and the machine run
 *   again. Called once for each factor. Pure.
 * @returns By yield factor, then price factor, in the order given.
 */
export function priceByYield(
  totalsAt: (yieldFactor: number) => readonly WhatIf[],
  yieldFactors: readonly number[] = [0.9, 1, 1.1],
  priceFactors: readonly number[] = [0.7, 1, 1.5],
): SensitivityCell[] {
  return yieldFactors.flatMap((yieldFactor) => {
    const totals = totalsAt(yieldFactor);
    return priceFactors.map((priceFactor): SensitivityCell => {
      const costs = totals.map(({products}) => costOf(products, priceFactor));
      const first = costs[0];
      return {
        priceFactor,
        yieldFactor,
        strategies: totals.map(({strategy, products}, s) => {
          const cost = costs[s];
          return {
            strategy,
            productLb: products.reduce((sum, {totalLb}) => sum + totalLb, 0),
            productCost: cost,
            differenceCost: cost === undefined || first === undefined ? undefined : cost - first,
          };
        }),
      };
    });
  });
}

function costOf(products: WhatIf["products"], factor: number): number | undefined {
  if (products.some(({pricePerLb}) => pricePerLb === undefined)) return undefined;
  return products.reduce((sum, {totalLb, pricePerLb = 0}) => sum + totalLb * pricePerLb * factor, 0);
}

/** The same results under another guide. */
export interface GuideRun {
  readonly guide: string;
  readonly edition: string;
  /** Why the guide could not be run on these results, in its own words; then `totals` is empty. */
  readonly refused?: string;
  readonly totals: readonly WhatIf[];
}

export interface GuideRow {
  readonly guide: string;
  readonly edition: string;
  readonly refused?: string;
  readonly strategy?: Strategy;
  readonly analysis?: string;
  readonly totalLb?: number;
  /** Against the first guide's total for the same strategy and product. */
  readonly differenceLb?: number;
}

/** Guide against guide on the same results: which guide is followed often moves more product than how the field was sampled. */
export function guideAgainstGuide(runs: readonly GuideRun[]): GuideRow[] {
  const [reference] = runs;
  return runs.flatMap(({guide, edition, refused, totals}, r): GuideRow[] => {
    if (refused !== undefined) return [{guide, edition, refused}];
    return totals.flatMap(({strategy, products}) =>
      products.map(({analysis, totalLb}): GuideRow => {
        const same = reference?.totals
          .find((other) => other.strategy === strategy)
          ?.products.find((other) => other.analysis === analysis);
        return {
          guide,
          edition,
          strategy,
          analysis,
          totalLb,
          ...(r > 0 && same && {differenceLb: totalLb - same.totalLb}),
        };
      }),
    );
  });
}
