import {distancesToCovariances, isotropicAxes, type VariogramModel} from "./covariance.ts";
import {dot, solveLower} from "./kriging-solve.ts";
import {choosePoints, type KrigingSystem, prepareKriging} from "./kriging-system.ts";

/** Measured values and where. */
export interface PointValues {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly values: Float64Array;
}

export interface KrigingOptions {
  /** Points that speak for a place. Default all: every point for every place. */
  readonly neighbours?: number;
  /** Fewer than this, and the place has no value. Default 1. */
  readonly fewest?: number;
  /** Points farther away say nothing (along the longer axis where the model has two). Default any distance. */
  readonly within?: number;
  /** Take neighbours evenly from quarters or eighths of the compass. Default the nearest, wherever they are. */
  readonly sectors?: 4 | 8;
  /** Side of the square about each place whose mean is wanted. Default 0: the value at the point itself. */
  readonly block?: number;
  /** The nugget is noise of measuring: tell what lies under it, also at a measured place. Default false: exact there. */
  readonly filtered?: boolean;
  /** A plane under the values, fitted along with them (universal kriging). Default "none". */
  readonly trend?: "none" | "plane";
  /** How many readings each value is the mean of: its nugget is divided by them. Default 1 each. */
  readonly readings?: Float64Array;
  /** For each place, the index of a point to pass over, −1 for none: leaving one out. */
  readonly without?: Int32Array;
}

export interface Kriged {
  readonly values: Float64Array;
  /** Expected squared error of each value. */
  readonly variance: Float64Array;
}

/** Nearer than this is the same place, in the unit of the coordinates squared: a thousandth of a millimetre. */
const SAME_PLACE2 = 1e-12;

/**
 * Best linear unbiased predictions at places, and their error, by ordinary kriging (universal with a plane).
 *
 * Points at one place are noisy repeats here: they differ by the nugget. Without a nugget they make the system singular;
 * it is then solved with a millionth of the sill on the diagonal. A place without enough points, or whose system cannot
 * be solved even so, is NaN.
 *
 * @param points - Without NaN.
 * @param places - Centres; NaN coordinates are not allowed.
 *
 * Deterministic. Block means by 4 × 4 Gauss-Legendre points, the nugget left out of the block's own variance. Source:
 * Matheron (1963), Isaaks and Srivastava (1989). Checked against gstat 2.1-0 to 1e-9.
 */
export function krige(
  points: PointValues,
  model: VariogramModel,
  places: {readonly x: Float64Array; readonly y: Float64Array},
  options: KrigingOptions = {},
): Kriged {
  if (!(model.nugget + model.partialSill > 0)) {
    // Values that do not vary: only the weights are wanted, and there is no error.
    const {values} = krige(points, {...model, nugget: 1}, places, options);
    return {values, variance: values.map((value) => 0 * value)};
  }
  const system = prepareKriging(points, model, options);
  const count = places.x.length;
  const values = new Float64Array(count).fill(Number.NaN);
  const variance = new Float64Array(count).fill(Number.NaN);
  const {along, across} = isotropicAxes(model);
  const fewest = Math.max(1, options.fewest ?? 1);
  for (let t = 0; t < count; t++) {
    const px = places.x[t] as number;
    const py = places.y[t] as number;
    const u = along[0] * px + along[1] * py;
    const v = across[0] * px + across[1] * py;
    if (choosePoints(system, u, v, options.without ? (options.without[t] as number) : -1) < fewest) continue;
    if (!system.solved) continue;
    predict(system, u, v, px, py, t, values, variance);
  }
  return {values, variance};
}

function predict(
  system: KrigingSystem,
  u: number,
  v: number,
  px: number,
  py: number,
  t: number,
  values: Float64Array,
  variance: Float64Array,
): void {
  const {model, n, packed, inverse, rows, room, p, rhs, trendRhs, gram, gramInverse, gramValues, centre} = system;
  const own = covariancesWithPlace(system, u, v);
  const explained = solveLower(packed, n, inverse, rhs, 0);
  // What of the trend at the place the points do not give by themselves; its middle is that of the block.
  for (let f = 0; f < p; f++) {
    const at = f === 0 ? 1 : ((f === 1 ? px : py) - (centre[f - 1] as number)) / centre[2];
    trendRhs[f] = at - dot(rows, f * room, rhs, 0, n);
  }
  const added = solveLower(gram, p, gramInverse, trendRhs, 0);
  values[t] = dot(rhs, 0, rows, p * room, n) + dot(trendRhs, 0, gramValues, 0, p);
  const left = own - explained + added;
  // Rounding leaves some −1e-16 at measured places.
  variance[t] = left > 1e-12 * (model.partialSill + model.nugget) ? left : 0;
}

/** Covariances of the held points with the place (its block), into `rhs`; returns the place's own variance. */
function covariancesWithPlace(system: KrigingSystem, u: number, v: number): number {
  const {
    index: {x, y},
    held,
    n,
    rhs,
    model,
    block,
    spread,
  } = system;
  if (!block) {
    let here = -1;
    for (let k = 0; k < n; k++) {
      const i = held[k] as number;
      const du = (x[i] as number) - u;
      const dv = (y[i] as number) - v;
      const d2 = du * du + dv * dv;
      rhs[k] = d2;
      if (d2 < SAME_PLACE2) here = k;
    }
    distancesToCovariances(rhs, n, model);
    if (!system.exact) return model.partialSill;
    if (here >= 0) rhs[here] = (rhs[here] as number) + (system.noise[held[here] as number] as number);
    return model.partialSill + (here >= 0 ? (system.noise[held[here] as number] as number) : model.nugget);
  }
  for (let k = 0; k < n; k++) {
    const i = held[k] as number;
    const du = (x[i] as number) - u;
    const dv = (y[i] as number) - v;
    for (let q = 0; q < 16; q++) {
      const eu = du - (block.u[q] as number);
      const ev = dv - (block.v[q] as number);
      spread[16 * k + q] = eu * eu + ev * ev;
    }
  }
  distancesToCovariances(spread, 16 * n, model);
  for (let k = 0; k < n; k++) rhs[k] = dot(spread, 16 * k, block.weights, 0, 16);
  return block.variance;
}
