import type {Random} from "../stats/random.ts";
import type {CertaintyInput, EvaluatedRates, NoisyStrategy} from "./certainty.ts";
import type {AnalyteNoise} from "./composite-noise.ts";
import {poolValues, type UnitValues, valueDrawer} from "./value-drawer.ts";

/** What one strategy would spread, draw by draw. */
export interface StrategyDraws {
  /** lb over the field, by product, from the results as they are. */
  readonly asSampled: readonly number[];
  /** The same for each draw, by product. */
  readonly totals: readonly Float64Array[];
  /** By product; undefined when no classes are named. Classes in order of first appearance, as sampled first. */
  readonly classAcres: readonly (readonly ClassDraws[] | undefined)[];
  readonly rates: readonly RateDraws[];
}

interface ClassDraws {
  readonly testClass: string;
  readonly acres: number;
  readonly draws: Float64Array;
}

interface RateDraws {
  readonly unit: string;
  readonly product: number;
  readonly asSampled: number;
  readonly draws: Float64Array;
  /** Draws whose rate is off by more than the tolerance. */
  readonly changed: number;
}

const WHOLE_FIELD = "whole field";

/** lb over the field by product, from the results as they are: what `redrawStrategy` gives as `asSampled`, with no draws. */
export function totalsAsSampled(
  strategy: Pick<NoisyStrategy, "units" | "pooled">,
  products: number,
  evaluate: CertaintyInput["evaluate"],
): number[] {
  const {grounds, first} = groundsOf(strategy, evaluate);
  return Array.from({length: products}, (_, p) => sumOver(grounds, first, p));
}

/** The ground each rate is for, and the rates of the results as they are. */
function groundsOf({units, pooled}: Pick<NoisyStrategy, "units" | "pooled">, evaluate: CertaintyInput["evaluate"]) {
  const tested = units.filter(({values}) => Object.keys(values).length > 0);
  // A pooled strategy has one rate for all its ground, also for units without results.
  const grounds = pooled
    ? [{id: WHOLE_FIELD, acres: units.reduce((sum, {acres}) => sum + acres, 0)}]
    : tested.map(({id, acres}) => ({id, acres}));
  const evaluated = (own: readonly UnitValues[]): EvaluatedRates[] =>
    tested.length === 0
      ? []
      : (pooled ? [poolValues(own, tested)] : own).map((values, i) => evaluate(values, at(grounds, i).id));
  return {tested, grounds, evaluated, first: evaluated(tested.map(({values}) => values))};
}

function sumOver(
  grounds: readonly {readonly acres: number}[],
  rates: readonly EvaluatedRates[],
  product: number,
): number {
  return rates.reduce((sum, {lbPerAcre}, i) => sum + at(lbPerAcre, product) * at(grounds, i).acres, 0);
}

/** Re-draws every unit's true means, evaluates them and keeps the sums. */
export function redrawStrategy(
  {units, pooled}: NoisyStrategy,
  products: number,
  evaluate: CertaintyInput["evaluate"],
  noise: Readonly<Record<string, AnalyteNoise>>,
  draws: number,
  toleranceLbPerAcre: number,
  random: Random,
): StrategyDraws {
  const {tested, grounds, evaluated, first} = groundsOf({units, pooled}, evaluate);
  const draw = valueDrawer(tested, noise);
  const kept = first.map(() => Array.from({length: products}, () => new Float64Array(draws)));
  const totals = Array.from({length: products}, () => new Float64Array(draws));
  const classes = Array.from({length: products}, () => new Map<string, Float64Array>());
  for (let d = 0; d < draws; d++) {
    evaluated(draw(random)).forEach((rates, i) => {
      const {acres} = at(grounds, i);
      for (let p = 0; p < products; p++) {
        const rate = at(rates.lbPerAcre, p);
        at(at(kept, i), p)[d] = rate;
        at(totals, p)[d] = at(at(totals, p), d) + rate * acres;
        const name = rates.classes?.[p];
        if (name !== undefined) addAcres(at(classes, p), name, d, acres, draws);
      }
    });
  }
  return {
    asSampled: totals.map((_, p) => sumOver(grounds, first, p)),
    totals,
    classAcres: classes.map((drawn, p) => classDraws(drawn, p, first, grounds, draws)),
    rates: first.flatMap((rates, i) =>
      Array.from({length: products}, (_, product): RateDraws => {
        const asSampled = at(rates.lbPerAcre, product);
        const of = at(at(kept, i), product);
        const changed = of.reduce((sum, rate) => sum + (Math.abs(rate - asSampled) > toleranceLbPerAcre ? 1 : 0), 0);
        return {unit: at(grounds, i).id, product, asSampled, draws: of, changed};
      }),
    ),
  };
}

function addAcres(into: Map<string, Float64Array>, name: string, d: number, acres: number, draws: number): void {
  let drawn = into.get(name);
  if (!drawn) {
    drawn = new Float64Array(draws);
    into.set(name, drawn);
  }
  drawn[d] = (drawn[d] as number) + acres;
}

function classDraws(
  drawn: ReadonlyMap<string, Float64Array>,
  product: number,
  first: readonly EvaluatedRates[],
  grounds: readonly {readonly acres: number}[],
  draws: number,
): ClassDraws[] | undefined {
  if (drawn.size === 0) return undefined;
  const asSampled = new Map<string, number>();
  first.forEach(({classes}, i) => {
    const name = classes?.[product];
    if (name !== undefined) asSampled.set(name, (asSampled.get(name) ?? 0) + at(grounds, i).acres);
  });
  return [...new Set([...asSampled.keys(), ...drawn.keys()])].map((testClass) => ({
    testClass,
    acres: asSampled.get(testClass) ?? 0,
    draws: drawn.get(testClass) ?? new Float64Array(draws),
  }));
}

function at<T>(list: {readonly [i: number]: T}, i: number): T {
  return list[i] as T;
}
