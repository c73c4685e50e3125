import {
  distancesToCovariances,
  effectiveRange,
  VARIOGRAM_SHAPES,
  type VariogramModel,
  type VariogramShape,
} from "./covariance.ts";
import type {SampleVariogram, VariogramClass} from "./variogram.ts";

export interface FittedModel {
  readonly model: VariogramModel;
  /** Σ pairs / distance² × (found − model)². */
  readonly weightedSse: number;
  /** The search ended at its limit: the range is at or under the first class, or beyond what the classes show. */
  readonly rangeLimit?: "short" | "long";
}

export interface VariogramFit extends FittedModel {
  /** Nugget over nugget and partial sill, 0 to 1. */
  readonly nuggetShare: number;
  /** The best of every shape tried, in the order of the shapes. */
  readonly tried: readonly FittedModel[];
}

const RANGES_TRIED = 60;
/** Narrows a bracket by this many golden sections: to about 1e-10 of its width. */
const SECTIONS = 48;
const GOLDEN = (Math.sqrt(5) - 1) / 2;

/**
 * The model that comes nearest to a sample variogram by weighted least squares with weights pairs / distance².
 *
 * Cannot diverge: given a range, nugget and partial sill follow in closed form, both held at or above 0; the range is
 * then a search in one dimension, over 60 ranges evenly spaced on the logarithm and by golden section between the two
 * beside the best. Effective ranges reach from the first class to twice the cutoff.
 *
 * @param shapes - Default all five; the least weighted error wins, the earlier shape at equal error.
 * @returns undefined with fewer than three classes: nothing can be told.
 *
 * Deterministic. Weights: practice of gstat, no theory behind them (its help says so). Checked against gstat 2.1-0.
 */
export function fitVariogram(
  {classes, cutoff}: Pick<SampleVariogram, "classes" | "cutoff">,
  shapes: readonly VariogramShape[] = VARIOGRAM_SHAPES,
): VariogramFit | undefined {
  const usable = classes.filter(({distance}) => distance > 0);
  if (usable.length < 3) return undefined;
  const tried = shapes.map((shape) => fitShape(usable, cutoff, shape));
  const best = tried.reduce((a, b) => (b.weightedSse < a.weightedSse ? b : a));
  const {nugget, partialSill} = best.model;
  return {...best, nuggetShare: nugget + partialSill > 0 ? nugget / (nugget + partialSill) : 1, tried};
}

/** A class whose weight was settled elsewhere, as when its distance is measured in a stretched plane. */
export interface WeightedClass extends VariogramClass {
  readonly weight?: number;
}

/** The best model of one shape; as `fitVariogram`. */
export function fitShape(classes: readonly WeightedClass[], cutoff: number, shape: VariogramShape): FittedModel {
  const reach = effectiveRange({shape, range: 1});
  const shortest = classes.reduce((least, {distance}) => Math.min(least, distance), Infinity) / reach;
  const longest = Math.max((2 * cutoff) / reach, 2 * shortest);
  const step = (longest / shortest) ** (1 / (RANGES_TRIED - 1));
  const room = new Float64Array(classes.length);
  const at = (range: number): FittedModel => sillsFor(classes, {shape, range}, room);

  let best = at(shortest);
  let place = 0;
  for (let k = 1; k < RANGES_TRIED; k++) {
    const next = at(shortest * step ** k);
    if (next.weightedSse < best.weightedSse) [best, place] = [next, k];
  }
  let low = shortest * step ** Math.max(0, place - 1);
  let high = shortest * step ** Math.min(RANGES_TRIED - 1, place + 1);
  for (let s = 0; s < SECTIONS; s++) {
    const inner = high - GOLDEN * (high - low);
    const outer = low + GOLDEN * (high - low);
    const [a, b] = [at(inner), at(outer)];
    if (a.weightedSse <= b.weightedSse) high = outer;
    else low = inner;
    const better = a.weightedSse <= b.weightedSse ? a : b;
    if (better.weightedSse < best.weightedSse) best = better;
  }
  if (best.model.partialSill === 0) return best;
  if (best.model.range > longest * 0.999) return {...best, rangeLimit: "long"};
  return best.model.range < shortest * 1.001 ? {...best, rangeLimit: "short"} : best;
}

/** Nugget and partial sill at or above 0 with the least weighted error for a given range. */
function sillsFor(
  classes: readonly WeightedClass[],
  {shape, range}: Pick<VariogramModel, "shape" | "range">,
  rise: Float64Array,
): FittedModel {
  classes.forEach(({distance}, k) => {
    rise[k] = distance * distance;
  });
  distancesToCovariances(rise, classes.length, {shape, nugget: 0, partialSill: 1, range});
  let [w1, wr, wrr, wg, wrg] = [0, 0, 0, 0, 0];
  classes.forEach((of, k) => {
    const weight = weightOf(of);
    const {semivariance} = of;
    const r = 1 - (rise[k] as number);
    rise[k] = r;
    w1 += weight;
    wr += weight * r;
    wrr += weight * r * r;
    wg += weight * semivariance;
    wrg += weight * r * semivariance;
  });
  const fitted = (nugget: number, partialSill: number): FittedModel => {
    let weightedSse = 0;
    classes.forEach((of, k) => {
      const miss = of.semivariance - nugget - partialSill * (rise[k] as number);
      weightedSse += weightOf(of) * miss * miss;
    });
    return {model: {shape, nugget, partialSill, range}, weightedSse};
  };
  const determinant = w1 * wrr - wr * wr;
  const nugget = (wrr * wg - wr * wrg) / determinant;
  const partialSill = (w1 * wrg - wr * wg) / determinant;
  if (determinant > 1e-12 * w1 * wrr && nugget >= 0 && partialSill >= 0) return fitted(nugget, partialSill);
  // The least of a convex bowl that lies outside the quarter plane is found on its edges.
  const flat = fitted(wg / w1, 0);
  const steep = wrr > 0 ? fitted(0, Math.max(0, wrg / wrr)) : flat;
  return steep.weightedSse < flat.weightedSse ? steep : flat;
}

function weightOf({pairs, distance, weight}: WeightedClass): number {
  return weight ?? pairs / (distance * distance);
}
