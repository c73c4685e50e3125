import type {Strategy} from "../sampling/plan.ts";
import {type Interval, middleOf} from "../stats/interval.ts";
import {seededRandom} from "../stats/random.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {type AnalyteNoise, USUAL_NOISE} from "./composite-noise.ts";
import {redrawStrategy, type StrategyDraws} from "./redraw-strategy.ts";

/** One sampling unit with its results, as the lab gave them and the guide reads them. */
export interface NoisyUnit {
  readonly id: string;
  readonly acres: number;
  /** Cores in its composite. */
  readonly cores: number;
  /** By analyte. Empty for a unit without results: it gets no product. */
  readonly values: Readonly<Record<string, number>>;
}

export interface NoisyStrategy {
  readonly strategy: Strategy;
  /** One rate from the mean of all units weighted by area. */
  readonly pooled: boolean;
  readonly units: readonly NoisyUnit[];
  /** Noise of this strategy's composites where it differs, as measured by its own duplicates. */
  readonly noise?: Readonly<Record<string, AnalyteNoise>>;
}

/** What guide, rounding and machine limits make of one set of test values. */
export interface EvaluatedRates {
  /** lb of product per acre, in the order of the products. */
  readonly lbPerAcre: readonly number[];
  /** The guide's class of each product's test. */
  readonly classes?: readonly string[];
}

export interface CertainProduct {
  readonly code: string;
  readonly analysis: string;
  readonly nutrient: Nutrient;
  readonly pricePerLb?: number | undefined;
}

export interface CertaintyInput {
  /** In the order of the ledger. */
  readonly strategies: readonly NoisyStrategy[];
  readonly products: readonly CertainProduct[];
  /**
   * From test values to product rates, by the same guide, rounding and limits as the prescriptions. Called once for each
   * unit and draw: for a pooled strategy with the id `"whole field"`. Pure.
   */
  readonly evaluate: (values: Readonly<Record<string, number>>, unit: string) => EvaluatedRates;
  /** By analyte; overrides `USUAL_NOISE`. Analytes with noise in neither are taken as known. */
  readonly noise?: Readonly<Record<string, AnalyteNoise>>;
  /** Default 400. */
  readonly draws?: number;
  /** Default 0.9. */
  readonly level?: number;
  readonly seed: number;
  /** lb of product per acre by which a unit's rate must move to count as another rate. Default 30. */
  readonly toleranceLbPerAcre?: number;
}

export type Verdict = "less" | "more" | "no clear difference";

/** One product's total with its interval. */
export interface CertainTotal {
  readonly code: string;
  readonly analysis: string;
  readonly nutrient: Nutrient;
  /** From the results as they are: the ledger's own figure. */
  readonly totalLb: number;
  readonly totalLbInterval: Interval;
  readonly meanLbPerAcreInterval: Interval;
  /** Mean over the draws: where it differs from `totalLb`, noise alone moves the total. */
  readonly meanOfDrawsLb: number;
  readonly cost?: number;
  readonly costInterval?: Interval;
  /** Acres in each of the guide's classes; absent when the callback names none. */
  readonly acresByClass?: readonly {readonly testClass: string; readonly acres: number; readonly interval: Interval}[];
}

export interface CertainUnit {
  readonly unit: string;
  readonly code: string;
  readonly lbPerAcre: number;
  readonly interval: Interval;
  /** Chance that its true mean calls for a rate off by more than the tolerance. */
  readonly chanceOfAnotherRate: number;
}

export interface CertainStrategy {
  readonly strategy: Strategy;
  readonly products: readonly CertainTotal[];
  readonly productCost?: number;
  readonly productCostInterval?: Interval;
  readonly units: readonly CertainUnit[];
}

export interface CertainDifference {
  readonly strategy: Strategy;
  readonly against: Strategy;
  readonly code: string;
  readonly analysis: string;
  readonly lb: number;
  readonly interval: Interval;
  /** "less" and "more" only when the whole interval is on one side of zero and does not touch it. */
  readonly verdict: Verdict;
}

/** Dollars of all products together, one strategy against another. */
export interface CertainCost {
  readonly strategy: Strategy;
  readonly against: Strategy;
  readonly dollars: number;
  readonly interval: Interval;
  readonly verdict: Verdict;
}

/** How sure the ledger's totals are, as far as cores and lab go. */
export interface Certainty {
  readonly level: number;
  readonly draws: number;
  readonly seed: number;
  readonly toleranceLbPerAcre: number;
  readonly strategies: readonly CertainStrategy[];
  /** Every two strategies, the later one against the earlier. */
  readonly differences: readonly CertainDifference[];
  /** The same of what all products cost; none unless each has a price. */
  readonly costDifferences: readonly CertainCost[];
  readonly noise: readonly (AnalyteNoise & {readonly analyte: string; readonly strategy?: Strategy})[];
  readonly notes: readonly string[];
}

/**
 * Carries core and lab noise to the totals: each composite's true mean is re-drawn from what its result allows, guide and
 * rounding are run again, and the totals are taken over many such draws.
 *
 * An interval covers the total the guide would give if every unit's mean were known without error. It does not cover
 * differences within units (that is what finer sampling finds), errors of the guide, or of the spreader.
 *
 * Strategies are drawn apart: each had bags of its own.
 *
 * Checked against: a linear rate by hand (normal error), and 200 re-drawn sampling days of a field with a hidden truth
 * (docs/methods/certainty.md).
 */
export function certaintyOf(input: CertaintyInput): Certainty {
  const {strategies, products, seed, draws = 400, level = 0.9, toleranceLbPerAcre = 30} = input;
  if (!(Number.isInteger(draws) && draws >= 20)) throw new Error(`${draws} draws make no interval`);
  const drawn = strategies.map((strategy) =>
    redrawStrategy(
      strategy,
      products.length,
      input.evaluate,
      noiseFor(input, strategy),
      draws,
      toleranceLbPerAcre,
      seededRandom(seed, `compare/certainty/${strategy.strategy}`),
    ),
  );
  const rows = strategies.map((strategy, s) => sumUp(strategy, drawn[s] as StrategyDraws, products, level));
  return {
    level,
    draws,
    seed,
    toleranceLbPerAcre,
    strategies: rows,
    differences: differencesOf(strategies, drawn, products, level),
    costDifferences: costDifferencesOf(strategies, drawn, products, level),
    noise: noiseUsed(input),
    notes: notesOn(input, rows),
  };
}

function noiseFor({noise}: CertaintyInput, strategy: NoisyStrategy): Readonly<Record<string, AnalyteNoise>> {
  return {...USUAL_NOISE, ...noise, ...strategy.noise};
}

function sumUp(
  {strategy, units, pooled}: NoisyStrategy,
  drawn: StrategyDraws,
  products: readonly CertainProduct[],
  level: number,
): CertainStrategy {
  const acres = units.reduce((sum, unit) => sum + unit.acres, 0);
  const totals = products.map((product, p): CertainTotal => {
    const lb = drawn.totals[p] as Float64Array;
    const totalLb = drawn.asSampled[p] as number;
    const interval = middleOf(lb, level);
    const price = product.pricePerLb;
    const classes = drawn.classAcres[p];
    return {
      code: product.code,
      analysis: product.analysis,
      nutrient: product.nutrient,
      totalLb,
      totalLbInterval: interval,
      meanLbPerAcreInterval: scaled(interval, 1 / acres),
      meanOfDrawsLb: lb.reduce((sum, value) => sum + value, 0) / lb.length,
      ...(price !== undefined && {cost: totalLb * price, costInterval: scaled(interval, price)}),
      ...(classes && {
        acresByClass: classes.map(({testClass, acres: sum, draws}) => ({
          testClass,
          acres: sum,
          interval: middleOf(draws, level),
        })),
      }),
    };
  });
  const cost = costDraws(drawn, products);
  return {
    strategy,
    products: totals,
    ...(cost && {
      productCost: totals.reduce((sum, total) => sum + (total.cost as number), 0),
      productCostInterval: middleOf(cost, level),
    }),
    units: drawn.rates.map(({unit, product, asSampled, draws, changed}) => ({
      unit: pooled ? "whole field" : unit,
      code: (products[product] as CertainProduct).code,
      lbPerAcre: asSampled,
      interval: middleOf(draws, level),
      chanceOfAnotherRate: changed / draws.length,
    })),
  };
}

/** Dollars of all products in each draw; undefined unless all have a price. */
function costDraws(drawn: StrategyDraws, products: readonly CertainProduct[]): Float64Array | undefined {
  if (products.length === 0 || products.some(({pricePerLb}) => pricePerLb === undefined)) return undefined;
  return (drawn.totals[0] as Float64Array).map((_, d) =>
    products.reduce((sum, {pricePerLb = 0}, p) => sum + (drawn.totals[p]?.[d] as number) * pricePerLb, 0),
  );
}

function differencesOf(
  strategies: readonly NoisyStrategy[],
  drawn: readonly StrategyDraws[],
  products: readonly CertainProduct[],
  level: number,
): CertainDifference[] {
  const found: CertainDifference[] = [];
  for (let b = 0; b < strategies.length; b++) {
    for (let a = b + 1; a < strategies.length; a++) {
      products.forEach(({code, analysis}, p) => {
        const [mine, theirs] = [drawn[a], drawn[b]] as [StrategyDraws, StrategyDraws];
        const interval = middleOf(
          (mine.totals[p] as Float64Array).map((lb, d) => lb - (theirs.totals[p]?.[d] as number)),
          level,
        );
        found.push({
          strategy: (strategies[a] as NoisyStrategy).strategy,
          against: (strategies[b] as NoisyStrategy).strategy,
          code,
          analysis,
          lb: (mine.asSampled[p] as number) - (theirs.asSampled[p] as number),
          interval,
          verdict: verdictOf(interval, NEGLIGIBLE_LB),
        });
      });
    }
  }
  return found;
}

function costDifferencesOf(
  strategies: readonly NoisyStrategy[],
  drawn: readonly StrategyDraws[],
  products: readonly CertainProduct[],
  level: number,
): CertainCost[] {
  const costs = drawn.map((draws) => costDraws(draws, products));
  const asSampled = drawn.map((draws) =>
    products.reduce((sum, {pricePerLb = 0}, p) => sum + (draws.asSampled[p] as number) * pricePerLb, 0),
  );
  return strategies.flatMap(({strategy: against}, b) =>
    strategies.slice(b + 1).flatMap(({strategy}, n): CertainCost[] => {
      const a = b + 1 + n;
      const [mine, theirs] = [costs[a], costs[b]];
      if (!mine || !theirs) return [];
      const interval = middleOf(
        mine.map((dollars, d) => dollars - (theirs[d] as number)),
        level,
      );
      const dollars = (asSampled[a] as number) - (asSampled[b] as number);
      return [{strategy, against, dollars, interval, verdict: verdictOf(interval)}];
    }),
  );
}

/** lb over a field: an interval that ends nearer to zero than this is read, and printed, as touching it. */
const NEGLIGIBLE_LB = 2;

/** Says which way a difference goes only when its interval leaves no doubt; one that touches zero leaves some. */
export function verdictOf({low, high}: Interval, negligible = 0): Verdict {
  return high < -negligible ? "less" : low > negligible ? "more" : "no clear difference";
}

function scaled({low, high}: Interval, by: number): Interval {
  return {low: low * by, high: high * by};
}

function noiseUsed(input: CertaintyInput): Certainty["noise"] {
  const analytes = [
    ...new Set(input.strategies.flatMap(({units}) => units.flatMap(({values}) => Object.keys(values)))),
  ];
  const shared = {...USUAL_NOISE, ...input.noise};
  return analytes.flatMap((analyte) => [
    ...(shared[analyte] ? [{analyte, ...shared[analyte]}] : []),
    ...input.strategies.flatMap(({strategy, noise}) =>
      noise?.[analyte] ? [{analyte, strategy, ...noise[analyte]}] : [],
    ),
  ]);
}

function notesOn(input: CertaintyInput, rows: readonly CertainStrategy[]): string[] {
  const still = rows.some(({products}) => products.some(({totalLbInterval: {low, high}}) => low === high && low > 0));
  const assumed = noiseUsed(input).filter(
    (noise) =>
      noise.basis === "placeholder" &&
      (noise.strategy !== undefined || input.strategies.some((s) => s.noise?.[noise.analyte] === undefined)),
  );
  const names = [...new Set(assumed.map(({analyte}) => analyte))];
  return [
    "The intervals hold the luck of cores and lab. They do not hold differences within a unit, errors of the guide, or what the spreader does.",
    ...(still
      ? [
          "A total that does not move at all rests on a rate far from the guide's limits: the luck of sampling cannot change it. That makes it firm, not right for every spot.",
        ]
      : []),
    ...(names.length > 0
      ? [
          `How far cores and lab scatter is assumed for ${names.join(", ")}, not measured here; duplicate bags of ten units would tell.`,
        ]
      : []),
  ];
}
