import type {Random} from "../stats/random.ts";
import {truthDrawer} from "../stats/redraw-means.ts";
import {roundHalfAway} from "../units/format.ts";
import type {CertaintyInput, EvaluatedRates, NoisyStrategy} from "./certainty.ts";
import {type AnalyteNoise, compositeSd} from "./composite-noise.ts";

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
  const tested = units.filter(({values}) => Object.keys(values).length > 0);
  const analytes = [...new Set(tested.flatMap(({values}) => Object.keys(values)))];
  const columns = analytes.map((analyte) => columnOf(analyte, tested, noise[analyte]));
  const all = tested.reduce((sum, {acres}) => sum + acres, 0);
  // A pooled strategy has one rate for all its ground, also for units without results.
  const grounds = pooled
    ? [{id: WHOLE_FIELD, acres: units.reduce((sum, {acres}) => sum + acres, 0)}]
    : tested.map(({id, acres}) => ({id, acres}));

  const valuesAt = (rows: readonly (Float64Array | undefined)[]): Record<string, number>[] => {
    const own = tested.map((unit, i) =>
      Object.fromEntries(
        analytes.flatMap((analyte, a) => {
          const column = columns[a] as Column;
          const at = column.position[i] as number;
          if (at < 0) return [];
          const drawn = rows[a];
          return [[analyte, drawn ? column.back(drawn[at] as number) : (unit.values[analyte] as number)]];
        }),
      ),
    );
    return pooled ? [pool(own, tested, analytes, all)] : own;
  };
  const evaluated = (rows: readonly (Float64Array | undefined)[]): EvaluatedRates[] =>
    tested.length === 0 ? [] : valuesAt(rows).map((values, i) => evaluate(values, (grounds[i] as {id: string}).id));

  const first = evaluated(columns.map(() => undefined));
  const kept = first.map(() => Array.from({length: products}, () => new Float64Array(draws)));
  const totals = Array.from({length: products}, () => new Float64Array(draws));
  const classes = Array.from({length: products}, () => new Map<string, Float64Array>());
  const scratch = columns.map(({draw}, a) => (draw ? new Float64Array((columns[a] as Column).count) : undefined));
  for (let d = 0; d < draws; d++) {
    for (const [a, {draw}] of columns.entries()) draw?.(random, scratch[a] as Float64Array);
    evaluated(scratch).forEach((rates, i) => {
      const {acres} = grounds[i] as {acres: number};
      for (let p = 0; p < products; p++) {
        const rate = rates.lbPerAcre[p] as number;
        (kept[i]?.[p] as Float64Array)[d] = rate;
        (totals[p] as Float64Array)[d] = (totals[p]?.[d] as number) + rate * acres;
        const name = rates.classes?.[p];
        if (name !== undefined) addAcres(classes[p] as Map<string, Float64Array>, name, d, acres, draws);
      }
    });
  }
  return {
    asSampled: totals.map((_, p) => first.reduce((sum, r, i) => sum + at(r.lbPerAcre, p) * at(grounds, i).acres, 0)),
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

/** One analyte over the units that have it. */
interface Column {
  readonly count: number;
  /** Where each tested unit stands in the column, −1 where it has no such result. */
  readonly position: Int32Array;
  /** Absent for an analyte taken as known. */
  readonly draw: ((random: Random, into: Float64Array) => void) | undefined;
  readonly back: (drawn: number) => number;
}

/** Below this a share of nothing would be nothing: a tenth of a unit stands in for a zero. */
const LEAST = 0.1;

function columnOf(analyte: string, units: NoisyStrategy["units"], noise: AnalyteNoise | undefined): Column {
  const position = new Int32Array(units.length).fill(-1);
  const readings: number[] = [];
  const sds: number[] = [];
  const inLogs = noise?.scale === "share";
  units.forEach(({values, cores}, i) => {
    const value = values[analyte];
    if (value === undefined) return;
    position[i] = readings.length;
    readings.push(inLogs ? Math.log(Math.max(LEAST, value)) : value);
    sds.push(noise ? compositeSd(noise, Math.max(1, cores)) : 0);
  });
  return {
    count: readings.length,
    position,
    draw: noise && truthDrawer(Float64Array.from(readings), Float64Array.from(sds)),
    back: inLogs ? Math.exp : (v) => v,
  };
}

/** Means weighted by area over the units that have a value, rounded as pooled tests are. */
function pool(
  own: readonly Readonly<Record<string, number>>[],
  units: NoisyStrategy["units"],
  analytes: readonly string[],
  allAcres: number,
): Record<string, number> {
  return Object.fromEntries(
    analytes.map((analyte) => {
      let sum = 0;
      let acres = 0;
      own.forEach((values, i) => {
        const value = values[analyte];
        if (value === undefined) return;
        const share = at(units, i).acres / allAcres;
        sum += value * share;
        acres += share;
      });
      return [analyte, roundHalfAway(sum / acres, 6)];
    }),
  );
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
