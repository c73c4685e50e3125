import type {NoisyStrategy} from "../compare/certainty.ts";
import type {Comparison} from "../compare/comparison.ts";
import type {AnalyteNoise} from "../compare/composite-noise.ts";
import type {Money} from "../compare/money.ts";
import {addAboveLimits, nutrientOfMix} from "../compare/nutrient-rates.ts";
import {type AboveLimit, OHIO_P_LIMITS, type OverUnder, overAndUnder, poundsAbove} from "../compare/over-and-under.ts";
import {type PayOff, payOff} from "../compare/pay-off.ts";
import {type GroundNeed, redrawNeeds} from "../compare/redraw-needs.ts";
import {USUAL_CURVES} from "../compare/response-curve.ts";
import {judgedGround, type Yardstick} from "../compare/yardstick.ts";
import {FieldError} from "../errors.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import type {Job} from "./job.ts";
import {mixingOf, type PlannedProduct} from "./make-prescriptions.ts";
import type {RatesSetting} from "./make-rates.ts";
import type {RateAgain} from "./rate-again.ts";
import type {RatedPlan} from "./rate-plans.ts";

/** How the other strategies fare by the results of the one that sampled most finely. */
export interface JudgedStrategies {
  readonly overUnder: readonly OverUnder[];
  readonly aboveLimits: readonly AboveLimit[];
  readonly pay?: PayOff;
  /** Why there is none, where prices are not what is missing. */
  readonly withoutPay?: string;
}

/**
 * Takes the strategy with the most units of its own as the best available truth: acres and pounds over and under, pounds
 * on ground that tests high, and what each strategy is expected to lose. Nothing where every strategy is pooled.
 *
 * @throws {FieldError} `compare/crop-price` for a price in another measure than the yield goal.
 */
export function judgeAgainstGrid(
  job: Job,
  setting: RatesSetting,
  rated: readonly RatedPlan[],
  noisy: readonly NoisyStrategy[],
  planned: readonly PlannedProduct[],
  again: RateAgain,
  noise: Readonly<Record<string, AnalyteNoise>>,
  money: Money,
  comparison: Comparison,
  applicationYears: number,
): JudgedStrategies {
  const at = yardstickOf(rated);
  const [yardstick, measured] = [rated[at], noisy[at]];
  if (!yardstick || !measured) return {overUnder: [], aboveLimits: []};
  const units = yardstick.plan.units;
  const parts = (of: (unit: string, index: number) => number): Yardstick<number> => ({
    kind: "parts",
    parts: units.map(({id, shape}, i) => ({shape, value: of(id, i)})),
  });
  const made = (unit: string, nutrient: string) =>
    yardstick.recommendations.find((one) => one.unit === unit && one.nutrient === nutrient);
  // A mix meets a nutrient with several products: what counts is their sum.
  const mixed = mixingOf(setting.rates) !== undefined;
  const nutrients = planned.map(({nutrient}) => nutrient);
  const judged = mixed ? nutrients.map((nutrient, p) => nutrients.indexOf(nutrient) === p) : nutrients.map(() => true);
  const overUnder = planned.flatMap(({nutrient}, p) =>
    rated.flatMap((other) => {
      const prescription = other === yardstick || !judged[p] ? undefined : other.prescriptions[p];
      const need = parts((unit) => made(unit, nutrient)?.rateLbPerAcre ?? Number.NaN);
      if (!prescription) return [];
      const carriers = mixed ? other.prescriptions.filter((one) => one.product.percent[nutrient] > 0) : [prescription];
      const given = mixed ? nutrientOfMix(other.prescriptions, nutrient) : prescription;
      return [overAndUnder(given, need, undefined, withinSetbacks(carriers))];
    }),
  );
  const phosphate = planned.findIndex(({nutrient}) => nutrient === "P2O5");
  const aboveLimits = rated.flatMap(({prescriptions}) => {
    const prescription = prescriptions[phosphate];
    const test = parts((unit) => made(unit, "P2O5")?.test.value ?? Number.NaN);
    if (!prescription) return [];
    const carriers = mixed ? prescriptions.filter(({product}) => product.percent.P2O5 > 0) : [prescription];
    return addAboveLimits(carriers.map((carrier) => poundsAbove({...carrier, nutrient: "P2O5"}, test, OHIO_P_LIMITS)));
  });
  const crops = pricedCrops(job, setting);
  const priced = planned.every(({product}) => product.pricePerLb !== undefined);
  // What a pound more of a nutrient earns is asked product by product.
  const several = mixed && new Set(nutrients).size < nutrients.length;
  if (!crops || !priced) return {overUnder, aboveLimits};
  if (several) {
    const withoutPay = "a mix in which several products carry one nutrient cannot be judged spot by spot";
    return {overUnder, aboveLimits, withoutPay};
  }
  const pay = payOff({
    acres: comparison.acres,
    products: planned.map(({product, nutrient}) => ({
      analysis: product.analysis,
      nutrient,
      share: product.percent[nutrient] / 100,
      pricePerLb: product.pricePerLb ?? 0,
      curve: curveOf(job, nutrient),
    })),
    strategies: rated.map(({plan, prescriptions}, s) => ({
      strategy: plan.strategy,
      samplingPerYear: money.strategies[s]?.samplingPerYear ?? 0,
      applicationPerYear: money.strategies[s]?.applicationPerYear ?? 0,
      ground: prescriptions.map(({polygons}) =>
        judgedGround(
          polygons,
          parts((_, i) => i),
        ),
      ),
    })),
    baseline: comparison.baseline,
    yardstick: yardstick.plan.strategy,
    truths: redrawNeeds(
      withEveryTest(measured, again.analytes),
      (values, unit) =>
        planned.map((product): GroundNeed => {
          const {rateLbPerAcre, test} = again.recommended(values, unit, product);
          return {test, needLbPerAcre: rateLbPerAcre};
        }),
      {noise, seed: job.seed},
    ),
    crops,
    applicationYears,
    bankedShare: job.compare.bankedShare,
    bankedShareAboveLimit: job.compare.bankedShareAboveLimit,
    level: job.compare.level,
  });
  return {overUnder, aboveLimits, pay};
}

/** Rate polygons within setbacks: the same ground under every strategy, also where one calls for nothing there. */
function withinSetbacks(prescriptions: readonly BuiltPrescription[]): Set<string> {
  return new Set(prescriptions.flatMap(({setbacks = []}) => setbacks.flatMap(({polygons}) => polygons)));
}

/** A unit that lacks one test is no yardstick of what its ground needs. */
function withEveryTest(strategy: NoisyStrategy, analytes: readonly string[]): NoisyStrategy {
  const used = analytes.filter((analyte) => strategy.units.some(({values}) => values[analyte] !== undefined));
  return {
    ...strategy,
    units: strategy.units.map((unit) =>
      used.every((analyte) => unit.values[analyte] !== undefined) ? unit : {...unit, values: {}},
    ),
  };
}

/** The strategy that says most about single spots; a pooled one says nothing. */
function yardstickOf(rated: readonly RatedPlan[]): number {
  let best = -1;
  rated.forEach(({plan}, i) => {
    if (plan.pooled) return;
    if (best < 0 || plan.units.length > (rated[best] as RatedPlan).plan.units.length) best = i;
  });
  return best;
}

function curveOf(job: Job, nutrient: PlannedProduct["nutrient"]) {
  const id = nutrient === "N" ? "off" : job.compare.curves[nutrient];
  const found = USUAL_CURVES.find((curve) => curve.id === id);
  return found && found.nutrient === nutrient ? found : "off";
}

/** Every crop with its goal and price; undefined unless all have one. */
function pricedCrops(job: Job, {rates}: RatesSetting) {
  const crops = rates.crops.map(({crop, yieldGoal}) => ({crop, yieldGoal, price: job.prices?.crops[crop]}));
  for (const {crop, yieldGoal, price} of crops) {
    if (!price || yieldGoal.unit === `${price.per}/ac`) continue;
    throw new FieldError(
      "compare/crop-price",
      `The price of ${crop} is in $/${price.per}, its yield goal in ${yieldGoal.unit}.`,
      {
        hint: "Give both by the same measure.",
      },
    );
  }
  if (crops.some(({price}) => price === undefined)) return undefined;
  return crops.map(({crop, yieldGoal, price}) => ({
    crop,
    yieldGoal: yieldGoal.amount,
    pricePerUnit: price?.dollars ?? 0,
  }));
}
