import type {Prescription, RatePolygon} from "../prescription/prescription.ts";
import type {Strategy} from "../sampling/plan.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {judgedGround, type Yardstick} from "./yardstick.ts";

/** How one strategy's nutrient falls against what the yardstick calls for. */
export interface OverUnder {
  readonly strategy: Strategy;
  readonly nutrient: Nutrient;
  readonly toleranceLbPerAcre: number;
  readonly acresOver: number;
  readonly acresUnder: number;
  readonly acresWithin: number;
  /** Ground the yardstick knows nothing of; in no other figure. */
  readonly acresUnknown: number;
  /** Ground within setbacks, whatever it needs; in no other figure. Absent where there is none. */
  readonly acresSetBack?: number;
  /** lb of nutrient above (or short of) the need on the ground over (or under) by more than the tolerance; positive. */
  readonly lbOver: number;
  readonly lbShort: number;
  /** lb of nutrient per acre, given − needed, weighted by area. */
  readonly meanError: number;
  readonly rootMeanSquareError: number;
}

/**
 * Acres and pounds over and under, against the best available truth about what each spot needs.
 *
 * A strategy measured by its own results is always right: leave it out, or say so beside the figures.
 *
 * @param need - lb of nutrient per acre.
 * @param toleranceLbPerAcre - lb of nutrient. Default 15, about 30 lb of 11-52-0; an assumption.
 * @param setBack - Ids of rate polygons within setbacks: what they get is by a rule, not by the sampling.
 */
export function overAndUnder(
  {strategy, product, nutrient, polygons}: Prescription<Nutrient>,
  need: Yardstick<number>,
  toleranceLbPerAcre = 15,
  setBack: ReadonlySet<string> = new Set(),
): OverUnder {
  const share = product.percent[nutrient] / 100;
  const acres = {over: 0, under: 0, within: 0, unknown: 0, setBack: 0};
  let lbOver = 0;
  let lbShort = 0;
  let errors = 0;
  let squares = 0;
  for (const {polygon, rateLbPerAcre, areaM2, value} of judgedGround(polygons, need)) {
    const size = areaM2 / SQUARE_METRES_PER_ACRE;
    if (setBack.has((polygons[polygon] as RatePolygon).unit)) {
      acres.setBack += size;
      continue;
    }
    if (value === undefined || Number.isNaN(value)) {
      acres.unknown += size;
      continue;
    }
    const error = rateLbPerAcre * share - value;
    errors += size * error;
    squares += size * error * error;
    if (error > toleranceLbPerAcre) {
      acres.over += size;
      lbOver += size * error;
    } else if (error < -toleranceLbPerAcre) {
      acres.under += size;
      lbShort -= size * error;
    } else acres.within += size;
  }
  const known = acres.over + acres.under + acres.within;
  return {
    strategy,
    nutrient,
    toleranceLbPerAcre,
    acresOver: acres.over,
    acresUnder: acres.under,
    acresWithin: acres.within,
    acresUnknown: acres.unknown,
    ...(acres.setBack > 0 && {acresSetBack: acres.setBack}),
    lbOver,
    lbShort,
    meanError: known > 0 ? errors / known : Number.NaN,
    rootMeanSquareError: known > 0 ? Math.sqrt(squares / known) : Number.NaN,
  };
}

/** A level of the soil test above which no more should go on, and whose rule it is. */
export interface TestLimit {
  readonly label: string;
  readonly value: number;
  readonly unit: string;
  readonly source: string;
}

/** What goes on ground that already tests above a limit. */
export interface AboveLimit {
  readonly strategy: Strategy;
  readonly nutrient: Nutrient;
  readonly limit: TestLimit;
  /** Ground at or above the limit, spread on or not. */
  readonly acresAbove: number;
  /** Of it, ground that gets any. */
  readonly acresSpread: number;
  readonly productLb: number;
  readonly nutrientLb: number;
}

/**
 * Environmental soil-test phosphorus by Ohio's field guidance: no agronomic need above 50 ppm Mehlich-3, none to be applied
 * above 120 ppm. Other states differ: it is a setting, and no rule of this program.
 */
export const OHIO_P_LIMITS: readonly TestLimit[] = [
  {label: "no agronomic need", value: 50, unit: "ppm Mehlich-3 P", source: "Ohio State University field guidance"},
  {label: "apply none", value: 120, unit: "ppm Mehlich-3 P", source: "Ohio State University field guidance"},
];

/**
 * Pounds put where the test is already above the guide's limit, or above an environmental threshold.
 *
 * @param test - In the unit of the limits; at the limit counts as above, as the guide's rate is zero there.
 */
export function poundsAbove(
  {strategy, product, nutrient, polygons}: Prescription<Nutrient>,
  test: Yardstick<number>,
  limits: readonly TestLimit[],
): AboveLimit[] {
  const ground = judgedGround(polygons, test);
  return limits.map((limit) => {
    const above = ground.filter(({value}) => value !== undefined && value >= limit.value);
    const sum = (of: (piece: (typeof above)[number]) => number): number =>
      above.reduce((total, piece) => total + of(piece), 0) / SQUARE_METRES_PER_ACRE;
    const productLb = sum(({areaM2, rateLbPerAcre}) => areaM2 * rateLbPerAcre);
    return {
      strategy,
      nutrient,
      limit,
      acresAbove: sum(({areaM2}) => areaM2),
      acresSpread: sum(({areaM2, rateLbPerAcre}) => (rateLbPerAcre > 0 ? areaM2 : 0)),
      productLb,
      nutrientLb: productLb * (product.percent[nutrient] / 100),
    };
  });
}
