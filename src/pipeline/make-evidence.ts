import {adviseSampling, type SamplingAdvice} from "../compare/advise-sampling.ts";
import {type BreakEven, breakEvens} from "../compare/break-even.ts";
import {type CertainProduct, type Certainty, certaintyOf, type NoisyStrategy} from "../compare/certainty.ts";
import type {Comparison} from "../compare/comparison.ts";
import {type DifferenceMap, differenceMap} from "../compare/difference-map.ts";
import type {HoldOutResult} from "../compare/hold-out.ts";
import {type Money, moneyOf} from "../compare/money.ts";
import type {AboveLimit, OverUnder} from "../compare/over-and-under.ts";
import type {PayOff} from "../compare/pay-off.ts";
import {totalsAsSampled} from "../compare/redraw-strategy.ts";
import {
  type GuideRow,
  guideAgainstGuide,
  priceByYield,
  type SensitivityCell,
  type WhatIf,
} from "../compare/sensitivity.ts";
import {type ThinResult, thinGrid} from "../compare/thin-grid.ts";
import {isFieldError} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {centroid} from "../geo/measure.ts";
import {findGuide} from "../recommend/find-guide.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {breathe, type Host} from "./host.ts";
import type {Job} from "./job.ts";
import {judgeAgainstGrid} from "./judge-against-grid.ts";
import {limitsOf, productsOf} from "./make-prescriptions.ts";
import type {RatesSetting} from "./make-rates.ts";
import {plannedHours} from "./make-sampling-papers.ts";
import {duplicateNoise, givenNoise, noisyStrategies} from "./noisy-strategies.ts";
import {type RateAgain, rateAgain} from "./rate-again.ts";
import type {RatedPlan} from "./rate-plans.ts";

/** What is known of how far the ledger can be trusted, and what finer sampling is worth. */
export interface Evidence {
  readonly certainty: Certainty;
  readonly money: Money;
  readonly differences: readonly DifferenceMap[];
  readonly overUnder: readonly OverUnder[];
  readonly aboveLimits: readonly AboveLimit[];
  readonly holdOuts: readonly HoldOutResult[];
  readonly thinned: readonly ThinResult[];
  /** Absent without prices of product and crops. */
  readonly pay?: PayOff;
  readonly breakEvens: readonly BreakEven[];
  readonly sensitivity: readonly SensitivityCell[];
  readonly guides: readonly GuideRow[];
  readonly advice: SamplingAdvice;
}

/**
 * Everything that stands beside the ledger: intervals, money by year, where product goes, whether finer sampling pays.
 *
 * @returns undefined where there is nothing to judge: no rates or no products yet.
 */
export async function evidenceOf(
  host: Host,
  job: Job,
  field: Field,
  setting: RatesSetting | undefined,
  strategies: readonly RatedPlan[],
  comparison: Comparison,
  holdOuts: readonly HoldOutResult[],
): Promise<Evidence | undefined> {
  const planned = productsOf(job);
  const rated = strategies.filter(({prescriptions}) => prescriptions.length > 0);
  if (!setting || planned.length === 0 || rated.length === 0) return undefined;
  const {level, draws, tolerance, placement, thinTo} = job.compare;
  const {baseline} = comparison;
  const again = rateAgain(setting, rated, planned, limitsOf(job));
  const noise = {...givenNoise(job), ...duplicateNoise(job, rated)};
  const noisy = noisyStrategies(rated, again.analytes);
  const products = planned.map(
    ({product: {code, analysis, pricePerLb}, nutrient}): CertainProduct => ({code, analysis, nutrient, pricePerLb}),
  );
  const drawn = {strategies: noisy, products, noise, seed: job.seed};
  const certainty = certaintyOf({...drawn, evaluate: again.evaluate, level, draws, toleranceLbPerAcre: tolerance});
  await breathe(host);
  const years = cropYearsOf(setting);
  const money = moneyOf(
    {areaM2: field.area, strategies: rated, baseline},
    {
      year: job.prices?.year,
      prices: {
        ...samplingPrices(job),
        broadcastPerAcre: job.prices?.broadcast,
        subsurfacePerAcre: job.prices?.subsurface,
        variableRatePerAcre: job.prices?.variableRate,
      },
      placement,
      hours: Object.fromEntries(rated.map(({plan}) => [plan.strategy, plannedHours(job, plan)])),
      samplingYears: job.prices?.yearsServed,
      applicationYears: years,
    },
  );
  const judged = judgeAgainstGrid(job, setting, rated, noisy, planned, again, noise, money, comparison, years);
  await breathe(host);
  const samples = Object.fromEntries(rated.map(({plan}) => [plan.strategy, plan.units.length]));
  const thinned = thinPlan(job, rated, noisy, again, thinTo);
  return {
    certainty,
    money,
    differences: differencesOf(rated, planned.length, tolerance),
    overUnder: judged.overUnder,
    aboveLimits: judged.aboveLimits,
    holdOuts,
    thinned,
    ...(judged.pay && {pay: judged.pay}),
    breakEvens: breakEvensOf(job, setting, money, samples, products, judged.pay),
    sensitivity: priceByYield((factor) =>
      totalsOf(noisy, factor === 1 ? again : rateAgain(setting, rated, planned, limitsOf(job), factor), products),
    ),
    guides: otherGuides(job, setting, rated, products),
    advice: adviseSampling({
      baseline,
      samples,
      certainty,
      thinned,
      holdOuts,
      overUnder: judged.overUnder,
      money,
      ...(judged.pay && {pay: judged.pay}),
      ...(judged.withoutPay !== undefined && {withoutPay: judged.withoutPay}),
    }),
  };
}

/** The ledger's own: once a job gives prices, what it leaves out is not counted there either. */
function samplingPrices({prices}: Job) {
  if (!prices) return {};
  const {lab = 0, core = 0, zoneMaking = 0, labour = 0} = prices;
  return {labPerSample: lab, perCore: core, zoneMakingPerAcre: zoneMaking, labourPerHour: labour};
}

/** Crop years one application serves; crops of one year count once. */
export function cropYearsOf({rates: {crops}}: RatesSetting): number {
  return new Set(crops.map(({year}, i) => (year === undefined ? `crop ${i}` : `year ${year}`))).size;
}

function differencesOf(strategies: readonly RatedPlan[], products: number, tolerance: number): DifferenceMap[] {
  return Array.from({length: products}, (_, p) => p).flatMap((p) =>
    strategies.flatMap((mine, a) =>
      strategies.slice(0, a).flatMap((theirs) => {
        const [one, two] = [mine.prescriptions[p], theirs.prescriptions[p]];
        return one && two ? [differenceMap(one, two, tolerance)] : [];
      }),
    ),
  );
}

/** Fewer samples than this cannot be thinned. */
const FEWEST_TO_THIN = 8;

function thinPlan(
  job: Job,
  rated: readonly RatedPlan[],
  noisy: readonly NoisyStrategy[],
  {analytes}: RateAgain,
  times: readonly number[],
): ThinResult[] {
  const at = rated.findIndex(({plan}) => plan.strategy === "grid");
  const [grid, values] = [rated[at], noisy[at]];
  if (!grid || !values) return [];
  const centres = grid.plan.units.map(({shape}) => centroid(shape));
  const cellM2 = job.sampling.grid.cellArea ?? 2.5 * SQUARE_METRES_PER_ACRE;
  return analytes
    .filter((analyte) => analyte !== "CEC")
    .flatMap((analyte): ThinResult[] => {
      const found = Float64Array.from(values.units, (unit) => unit.values[analyte] ?? Number.NaN);
      if (found.filter((value) => Number.isFinite(value)).length < FEWEST_TO_THIN) return [];
      return [
        thinGrid({
          what: `soil-test ${analyte}`,
          unit: "ppm",
          x: Float64Array.from(centres, ({x}) => x),
          y: Float64Array.from(centres, ({y}) => y),
          values: found,
          areasM2: times.map((factor) => factor * cellM2),
          seed: job.seed,
        }),
      ];
    });
}

function breakEvensOf(
  job: Job,
  {rates}: RatesSetting,
  money: Money,
  samples: Readonly<Record<string, number>>,
  products: readonly CertainProduct[],
  pay: PayOff | undefined,
): BreakEven[] {
  if (products.some(({pricePerLb}) => pricePerLb === undefined)) return [];
  const crop = rates.crops[0]?.crop ?? "";
  const price = job.prices?.crops[crop];
  return breakEvens(
    money,
    samples,
    products.map(({analysis, pricePerLb = 0}) => ({analysis, pricePerLb})),
    price && {crop, pricePerUnit: price.dollars},
    pay,
  );
}

/** What every strategy would spread by other rates, from the results as they are. */
function totalsOf(
  strategies: readonly NoisyStrategy[],
  {evaluate}: RateAgain,
  products: readonly CertainProduct[],
): WhatIf[] {
  return strategies.map((strategy) => {
    const totals = totalsAsSampled(strategy, products.length, evaluate);
    return {
      strategy: strategy.strategy,
      products: products.map(({analysis, pricePerLb}, p) => ({analysis, totalLb: totals[p] ?? 0, pricePerLb})),
    };
  });
}

function otherGuides(
  job: Job,
  setting: RatesSetting,
  rated: readonly RatedPlan[],
  products: readonly CertainProduct[],
): GuideRow[] {
  if (job.compare.otherGuides.length === 0) return [];
  const guides = [setting.guide, ...job.compare.otherGuides.map(findGuide)];
  return guideAgainstGuide(
    guides.map((guide) => {
      const named = {guide: guide.title, edition: guide.edition};
      try {
        const again = rateAgain({...setting, guide}, rated, productsOf(job), limitsOf(job));
        return {
          ...named,
          totals: totalsOf(noisyStrategies(rated, again.analytes), again, products),
        };
      } catch (error) {
        if (!isFieldError(error)) throw error;
        return {...named, refused: error.message, totals: []};
      }
    }),
  );
}
