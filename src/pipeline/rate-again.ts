import type {EvaluatedRates} from "../compare/certainty.ts";
import {isFieldError} from "../errors.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import {exactRates} from "../prescription/exact-rates.ts";
import {machineRate} from "../prescription/machine-rate.ts";
import {productLbFor} from "../prescription/parse-product.ts";
import type {MachineLimits, UnitSpread} from "../prescription/prescription.ts";
import {onTheGround} from "../prescription/spread-over.ts";
import {applyPolicy} from "../recommend/apply-policy.ts";
import {recommend} from "../recommend/recommend.ts";
import {mixingOf, type PlannedProduct} from "./make-prescriptions.ts";
import {cropsOf, type Goals, goalsFromHistory, NOT_MEASURED, type RatesSetting} from "./make-rates.ts";
import {policyOf, recommendOptions} from "./rate-options.ts";
import type {RatedPlan} from "./rate-plans.ts";

type Values = Readonly<Record<string, number>>;

/** The job's own way from test values to product rates, to be asked again with other values or yield goals. */
export interface RateAgain {
  /** Analytes the rates hang on. */
  readonly analytes: readonly string[];
  /** What the guide and the policy give one product's nutrient in a unit, without the working. */
  readonly recommended: (values: Values, unit: string, product: PlannedProduct) => BareRate;
  /** lb of each product an acre on the unit's ground: after limits, levels, merging and setbacks; and the classes. */
  readonly evaluate: (values: Values, unit: string) => EvaluatedRates;
}

/** lb of oxide an acre, the class, and the test in the guide's unit. */
export interface BareRate {
  readonly rateLbPerAcre: number;
  readonly testClass: string;
  readonly test: number;
}

/**
 * @param strategies - Whose units will be asked about; their lab results say by what methods and depths values are meant.
 * @param yieldFactor - Times every yield goal. Default 1.
 */
export function rateAgain(
  setting: RatesSetting,
  strategies: readonly RatedPlan[],
  products: readonly PlannedProduct[],
  limits: MachineLimits,
  yieldFactor = 1,
): RateAgain {
  const {rates, guide} = setting;
  const policy = policyOf(rates);
  const analytes = [
    ...new Set(
      guide.nutrients
        .filter(({nutrient}) => products.some((product) => product.nutrient === nutrient))
        .flatMap((rule) => [rule.test.analyte, ...("cec" in rule && rule.cec ? ["CEC"] : [])]),
    ),
  ];
  const forms = formsOf(strategies, analytes);
  const places = placesOf(setting, strategies);
  // Unless something is set for single units, equal tests get equal rates everywhere, and most have been seen before.
  const byUnit = hasUnitSettings(setting);
  const known = new Map<string, BareRate>();
  const rules = new Map(
    guide.nutrients.map((rule) => [
      rule.nutrient,
      {
        options: recommendOptions(rates, [rule.nutrient]),
        mine: analytes.filter((one) => one === rule.test.analyte || (one === "CEC" && "cec" in rule && rule.cec)),
      },
    ]),
  );
  const recommended: RateAgain["recommended"] = (values, unit, {nutrient}) => {
    const {options, mine = []} = rules.get(nutrient) ?? {};
    let key = byUnit ? `${unit} ${nutrient}` : nutrient;
    for (const analyte of mine) key += ` ${values[analyte]}`;
    const found = known.get(key);
    if (found) return found;
    const {zone, goals} = places.get(unit) ?? {zone: undefined, goals: []};
    const tests = mine.flatMap((analyte) => {
      const form = forms.get(analyte);
      const value = values[analyte];
      return form && value !== undefined ? [{...form, value}] : [];
    });
    const crops = cropsOf(rates, unit, zone, goals).map((crop) => ({...crop, yieldGoal: crop.yieldGoal * yieldFactor}));
    const bare = whereMeasured(rates, () => {
      const [made] = recommend(guide, {unit, tests, crops, ...(options && {options})});
      if (!made) throw new Error(`no rate for ${nutrient}`);
      const {rateLbPerAcre, testClass, test} = applyPolicy(made, policy);
      return {rateLbPerAcre, testClass, test: test.value};
    });
    known.set(key, bare);
    return bare;
  };
  const spread = spreadOf(strategies);
  const exact = exactAgain(setting, products);
  return {
    analytes,
    recommended,
    evaluate: (values, unit) => {
      const made = products.map((product) => recommended(values, unit, product));
      const lb = exact(
        made.map(({rateLbPerAcre}) => rateLbPerAcre),
        unit,
      );
      return {
        lbPerAcre: lb.map((rate, p) => {
          const own = machineRate(rate, limits).rateLbPerAcre;
          const ground = spread.get(unit)?.[p];
          return ground ? onTheGround(ground, own) : own;
        }),
        classes: made.map(({testClass}) => testClass),
      };
    },
  };
}

/** Nothing where a unit lacks the test, as in the prescriptions of such a job. */
function whereMeasured({missing}: RatesSetting["rates"], work: () => BareRate): BareRate {
  try {
    return work();
  } catch (error) {
    if (missing !== "zero" || !isFieldError(error) || !NOT_MEASURED.includes(error.code)) throw error;
    return {rateLbPerAcre: 0, testClass: "not measured", test: Number.NaN};
  }
}

/** What each unit gets of each product; the one of a pooled plan is called the whole field. */
function spreadOf(strategies: readonly RatedPlan[]): Map<string, readonly UnitSpread[]> {
  const found = new Map<string, UnitSpread[]>();
  for (const {plan, prescriptions} of strategies) {
    prescriptions.forEach(({spread}, p) => {
      for (const one of spread) {
        const unit = plan.pooled ? "whole field" : one.unit;
        const own = found.get(unit) ?? [];
        own[p] = one;
        found.set(unit, own);
      }
    });
  }
  return found;
}

/** Products for nutrient rates as the prescriptions have them. */
function exactAgain(
  {rates}: RatesSetting,
  products: readonly PlannedProduct[],
): (needs: readonly number[], unit: string) => readonly number[] {
  const mixing = mixingOf(rates);
  const alone = (needs: readonly number[]): number[] =>
    products.map(({product, nutrient}, p) => productLbFor(product, nutrient, needs[p] as number));
  if (!mixing) return alone;
  const known = new Map<string, readonly number[]>();
  return (needs, unit) => {
    const key = needs.join();
    let found = known.get(key);
    if (!found) {
      try {
        found = exactRates(products, needs, mixing, unit);
      } catch (error) {
        // A draw may ask for what no mix gives exactly, though the results themselves do not: each product then stands alone.
        if (!isFieldError(error)) throw error;
        found = alone(needs);
      }
      known.set(key, found);
    }
    return found;
  };
}

/** One lab result of each analyte: its method, unit and depth stand for all. */
function formsOf(strategies: readonly RatedPlan[], analytes: readonly string[]): Map<string, UnitValue> {
  const forms = new Map<string, UnitValue>();
  for (const {values} of strategies) {
    for (const value of [...values.values()].flat()) {
      if (analytes.includes(value.analyte) && !forms.has(value.analyte)) forms.set(value.analyte, value);
    }
  }
  return forms;
}

function placesOf(
  {rates, history}: RatesSetting,
  strategies: readonly RatedPlan[],
): Map<string, {zone: number | undefined; goals: readonly Goals[]}> {
  return new Map(
    strategies.flatMap(({plan}) => {
      const goals = goalsFromHistory(rates, plan, history, []);
      return plan.units.map(({id, zone}) => [id, {zone, goals}] as const);
    }),
  );
}

function hasUnitSettings({rates: {crops, goals, policy}}: RatesSetting): boolean {
  return (
    goals !== "as given" ||
    policy.overrides.length > 0 ||
    policy.credits.some((credit) => "byUnit" in credit && credit.byUnit !== undefined) ||
    crops.some(({byUnit, byZone}) => Object.keys(byUnit).length + Object.keys(byZone).length > 0)
  );
}
