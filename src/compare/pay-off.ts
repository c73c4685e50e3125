import {FieldError} from "../errors.ts";
import type {Strategy} from "../sampling/plan.ts";
import {type Interval, middleOf} from "../stats/interval.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {type Verdict, verdictOf} from "./certainty.ts";
import type {GroundNeed, NeedDraws} from "./redraw-needs.ts";
import {type ResponseCurve, relativeYieldGiven} from "./response-curve.ts";
import type {JudgedGround} from "./yardstick.ts";

/** Half a cent an acre: an interval that ends nearer to zero is printed as touching it. */
const HALF_A_CENT = 0.005;

export interface PayProduct {
  readonly analysis: string;
  readonly nutrient: Nutrient;
  /** Share of the nutrient in the product, 0 to 1. */
  readonly share: number;
  /** Dollars per lb of product. */
  readonly pricePerLb: number;
  /** Absent or "off": no yield is counted for this nutrient. */
  readonly curve?: ResponseCurve | "off";
}

export interface PayStrategy {
  readonly strategy: Strategy;
  /** Dollars a year for sampling, zone making included. */
  readonly samplingPerYear: number;
  /** Dollars a year for the passes. */
  readonly applicationPerYear: number;
  /** By product: the rates over the ground; `value` is the index of the yardstick's unit. */
  readonly ground: readonly (readonly JudgedGround<number>[])[];
}

export interface PayInput {
  readonly acres: number;
  readonly products: readonly PayProduct[];
  readonly strategies: readonly PayStrategy[];
  readonly baseline: Strategy;
  /** The strategy whose results stand for the truth; absent when the truth is not one of them. */
  readonly yardstick?: Strategy;
  /** What the ground may be: by draw, unit of the yardstick, spot and product. One draw of one spot for a known truth. */
  readonly truths: NeedDraws;
  /** The crops one application serves. */
  readonly crops: readonly {readonly crop: string; readonly yieldGoal: number; readonly pricePerUnit: number}[];
  readonly applicationYears: number;
  /** Share of its price that product beyond the need keeps in the soil, under the guide's limit. Default 0.75 (50 to 100 %). */
  readonly bankedShare?: number;
  /** The same where the guide calls for none. Default 0: it is not needed for years. */
  readonly bankedShareAboveLimit?: number;
  /** Times the crop prices. Default 0.75, 1, 1.25. */
  readonly grainFactors?: readonly number[];
  /** Times the product prices. Default 0.7, 1, 1.5. */
  readonly fertilizerFactors?: readonly number[];
  /** Default 0.9. */
  readonly level?: number;
}

/** Dollars per acre and year, mean over the draws. */
export interface PayParts {
  readonly strategy: Strategy;
  /** Yield not reached for want of nutrient. */
  readonly yieldLoss: number;
  /** Product beyond the need, less what stays of value in the soil. */
  readonly excess: number;
  readonly sampling: number;
  readonly application: number;
  readonly total: number;
  /** Total less that of the baseline, with its interval; absent on the baseline. Below zero is better. */
  readonly againstBaseline?: number;
  readonly interval?: Interval;
  readonly verdict?: Verdict;
}

export interface PayAtPrices {
  readonly grainFactor: number;
  readonly fertilizerFactor: number;
  readonly strategies: readonly PayParts[];
  /** The strategy with the least total. */
  readonly least: Strategy;
}

export interface PayOff {
  readonly acres: number;
  readonly baseline: Strategy;
  readonly yardstick?: Strategy;
  readonly level: number;
  readonly bankedShare: number;
  readonly bankedShareAboveLimit: number;
  /** By grain factor, then fertilizer factor, both rising. */
  readonly prices: readonly PayAtPrices[];
  readonly curves: readonly ResponseCurve[];
  readonly notes: readonly string[];
}

/**
 * What each strategy is expected to lose against feeding every spot exactly what it needs, over a range of prices.
 *
 * Loss per acre and year = yield not reached × grain price + product beyond the need × price × (1 − share banked) +
 * sampling + passes. Pounds short are not counted as saved: the soil pays them back later. No yield is credited without a
 * response curve, and none beyond the guide's own rate.
 *
 * @throws {FieldError} `compare/no-baseline`, `compare/bad-share`, `compare/no-truth`.
 */
export function payOff(input: PayInput): PayOff {
  const {acres, products, strategies, baseline, truths, level = 0.9} = input;
  const {bankedShare = 0.75, bankedShareAboveLimit = 0} = input;
  checkInput(input, [bankedShare, bankedShareAboveLimit]);
  const base = strategies.findIndex(({strategy}) => strategy === baseline);
  const losses = strategies.map(({ground}) =>
    truths.map((truth) => lossesIn(ground, truth, products, bankedShare, bankedShareAboveLimit)),
  );
  const fullValue = input.crops.reduce((sum, {yieldGoal, pricePerUnit}) => sum + yieldGoal * pricePerUnit, 0);
  const perAcreYear = 1 / (acres * input.applicationYears);
  const prices = rising(input.grainFactors ?? [0.75, 1, 1.25]).flatMap((grainFactor) =>
    rising(input.fertilizerFactors ?? [0.7, 1, 1.5]).map((fertilizerFactor): PayAtPrices => {
      const worked = strategies.map((strategy, s) => {
        const own = losses[s] as Loss[];
        const yieldDraws = own.map((loss) => loss.yieldAcres * fullValue * grainFactor * perAcreYear);
        const excessDraws = own.map((loss) => loss.excess * fertilizerFactor * perAcreYear);
        const fixed = (strategy.samplingPerYear + strategy.applicationPerYear) / acres;
        return {
          yieldDraws,
          excessDraws,
          totals: yieldDraws.map((loss, d) => loss + (excessDraws[d] as number) + fixed),
        };
      });
      const parts = strategies.map((strategy, s): PayParts => {
        const {yieldDraws, excessDraws, totals} = worked[s] as (typeof worked)[number];
        const against = totals.map((total, d) => total - (worked[base]?.totals[d] as number));
        const interval = middleOf(against, level);
        return {
          strategy: strategy.strategy,
          yieldLoss: meanOf(yieldDraws),
          excess: meanOf(excessDraws),
          sampling: strategy.samplingPerYear / acres,
          application: strategy.applicationPerYear / acres,
          total: meanOf(totals),
          ...(s !== base && {againstBaseline: meanOf(against), interval, verdict: verdictOf(interval, HALF_A_CENT)}),
        };
      });
      return {grainFactor, fertilizerFactor, strategies: parts, least: leastOf(parts)};
    }),
  );
  return {
    acres,
    baseline,
    ...(input.yardstick && {yardstick: input.yardstick}),
    level,
    bankedShare,
    bankedShareAboveLimit,
    prices,
    curves: products.flatMap(({curve}) => (curve && curve !== "off" ? [curve] : [])),
    notes: notesOn(input),
  };
}

/** The pay at the user's own prices. */
export function payAtGivenPrices({prices}: PayOff): PayAtPrices {
  const near = ({grainFactor, fertilizerFactor}: PayAtPrices): number =>
    Math.abs(Math.log(grainFactor)) + Math.abs(Math.log(fertilizerFactor));
  return prices.reduce((best, at) => (near(at) < near(best) ? at : best));
}

interface Loss {
  /** Sum over the ground of acres × share of yield lost. */
  readonly yieldAcres: number;
  /** Dollars at the given prices. */
  readonly excess: number;
}

function lossesIn(
  ground: PayStrategy["ground"],
  truth: NeedDraws[number],
  products: readonly PayProduct[],
  banked: number,
  bankedAboveLimit: number,
): Loss {
  let yieldAcres = 0;
  let excess = 0;
  products.forEach(({share, pricePerLb, curve}, p) => {
    for (const {rateLbPerAcre, areaM2, value} of ground[p] ?? []) {
      const spots = value === undefined ? undefined : truth[value];
      for (const spot of spots ?? []) {
        const {test, needLbPerAcre} = spot[p] as GroundNeed;
        const acres = areaM2 / SQUARE_METRES_PER_ACRE / (spots?.length ?? 1);
        const given = rateLbPerAcre * share;
        const beyond = Math.max(0, given - needLbPerAcre) / share;
        excess += acres * beyond * pricePerLb * (1 - (needLbPerAcre > 0 ? banked : bankedAboveLimit));
        if (curve && curve !== "off") yieldAcres += acres * (1 - relativeYieldGiven(curve, test, given, needLbPerAcre));
      }
    }
  });
  return {yieldAcres, excess};
}

function checkInput({strategies, baseline, truths, acres}: PayInput, shares: readonly number[]): void {
  if (!(acres > 0)) throw new Error(`a field of ${acres} acres`);
  if (!strategies.some(({strategy}) => strategy === baseline)) {
    throw new FieldError("compare/no-baseline", `The baseline ${baseline} is not among the strategies.`, {
      hint: "Plan it too, or choose another baseline.",
    });
  }
  const bad = shares.find((share) => !(share >= 0 && share <= 1));
  if (bad !== undefined) {
    throw new FieldError("compare/bad-share", `Nutrient in the soil cannot be worth ${bad} times its price.`, {
      hint: "Give a share from 0 to 1; 0.5 to 1 is usual.",
    });
  }
  if (truths.length === 0) {
    throw new FieldError("compare/no-truth", "There is nothing to judge the strategies by.", {
      hint: "Give the results of the densest sampling as the yardstick.",
    });
  }
}

function leastOf(parts: readonly PayParts[]): Strategy {
  return parts.reduce((best, part) => (part.total < best.total ? part : best)).strategy;
}

function rising(factors: readonly number[]): number[] {
  return [...factors].sort((a, b) => a - b);
}

function meanOf(values: readonly number[]): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}

function notesOn({products, yardstick}: PayInput): string[] {
  const off = products.filter(({curve}) => curve === undefined || curve === "off").map(({nutrient}) => nutrient);
  const assumed = products.some(({curve}) => curve && curve !== "off" && curve.basis === "placeholder");
  return [
    ...(off.length > 0 ? [`No yield is counted for ${off.join(" and ")}: the response curve is off.`] : []),
    ...(assumed
      ? [
          "How far yield falls on soils that lack is assumed, and trials often find no response: read the yield part as an upper guess.",
        ]
      : []),
    ...(yardstick
      ? [
          `Ground is judged by the ${yardstick.replace("-", " ")} samples, re-drawn with their own luck and with spots that scatter within a unit as cores do; that this strategy is judged by its own samples still flatters it.`,
        ]
      : []),
    "Pounds short of the guide are not counted as saved; the soil gives them now and asks for them later.",
  ];
}
