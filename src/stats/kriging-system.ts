import {distancesToCovariances, isotropicAxes, type VariogramModel} from "./covariance.ts";
import type {KrigingOptions, PointValues} from "./kriging.ts";
import {type Block, blockOf} from "./kriging-block.ts";
import {dot, factorTriangle, solveLower} from "./kriging-solve.ts";
import {type FoundAround, indexPoints, nearest, nearestAround, type PointIndex, roomAround} from "./point-index.ts";

/** Share of the sill added to the diagonal when a system cannot be solved, as with a Gaussian without nugget. */
const RIDGE = 1e-6;

/** Everything one run of kriging needs, with room for its largest system, so that the loop over places allocates nothing. */
export interface KrigingSystem {
  readonly model: VariogramModel;
  /** Points in the plane where the model is the same in every direction. */
  readonly index: PointIndex;
  readonly values: Float64Array;
  /** Nugget of each point. */
  readonly noise: Float64Array;
  readonly exact: boolean;
  readonly block: Block | undefined;
  readonly sectors: 4 | 8 | undefined;
  readonly within: number;
  /** All points for every place: no search. */
  readonly global: boolean;
  readonly found: FoundAround;
  /** Trend functions: p of them, one row of n for each, in centred and scaled coordinates. */
  readonly p: number;
  readonly trend: Float64Array;
  readonly centre: readonly [number, number, number];
  /** The points of the factor held now, and a stamp on each of them. */
  readonly held: Int32Array;
  readonly stamps: Int32Array;
  stamp: number;
  n: number;
  solved: boolean;
  readonly packed: Float64Array;
  readonly inverse: Float64Array;
  /** L⁻¹ of the trend functions and of the values: p + 1 runs of `room`. */
  readonly rows: Float64Array;
  readonly room: number;
  readonly gram: Float64Array;
  readonly gramInverse: Float64Array;
  readonly gramValues: Float64Array;
  readonly rhs: Float64Array;
  readonly trendRhs: Float64Array;
  readonly spread: Float64Array;
}

export function prepareKriging(points: PointValues, model: VariogramModel, options: KrigingOptions): KrigingSystem {
  const n = points.values.length;
  const {within = Infinity, filtered = false, block = 0, trend = "none", readings} = options;
  const room = Math.min(options.neighbours ?? n, n);
  const {along, across} = isotropicAxes(model);
  const u = points.x.map((px, i) => along[0] * px + along[1] * (points.y[i] as number));
  const v = points.x.map((px, i) => across[0] * px + across[1] * (points.y[i] as number));
  const p = trend === "plane" ? 3 : 1;
  const centre = centreOf(points);
  const functions = new Float64Array(p * n).fill(1, 0, n);
  for (let i = 0; p === 3 && i < n; i++) {
    functions[n + i] = ((points.x[i] as number) - centre[0]) / centre[2];
    functions[2 * n + i] = ((points.y[i] as number) - centre[1]) / centre[2];
  }
  return {
    model,
    index: indexPoints(u, v),
    values: points.values,
    noise: Float64Array.from(points.values, (_, i) => model.nugget / (readings?.[i] ?? 1)),
    exact: !filtered && block === 0,
    block: block > 0 ? blockOf(model, block) : undefined,
    sectors: options.sectors,
    within,
    global: room === n && within === Infinity && options.without === undefined,
    found: roomAround(room),
    p,
    trend: functions,
    centre,
    held: new Int32Array(room),
    stamps: new Int32Array(n),
    stamp: 0,
    n: 0,
    solved: false,
    packed: new Float64Array((room * (room + 1)) / 2),
    inverse: new Float64Array(room),
    rows: new Float64Array((p + 1) * room),
    room,
    gram: new Float64Array((p * (p + 1)) / 2),
    gramInverse: new Float64Array(p),
    gramValues: new Float64Array(p),
    rhs: new Float64Array(room),
    trendRhs: new Float64Array(p),
    spread: new Float64Array(room * 16),
  };
}

/** Middle of the points and a length of their order. */
function centreOf({x, y}: PointValues): [number, number, number] {
  const n = x.length;
  let [cx, cy, size] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    cx += (x[i] as number) / n;
    cy += (y[i] as number) / n;
  }
  for (let i = 0; i < n; i++) size = Math.max(size, Math.abs((x[i] as number) - cx), Math.abs((y[i] as number) - cy));
  return [cx, cy, size || 1];
}

/** Finds the points for a place and factors their system, unless it is the one held already. */
export function choosePoints(system: KrigingSystem, u: number, v: number, without: number): number {
  const {found, held, stamps} = system;
  if (system.global) {
    if (system.stamp === 0) {
      for (let i = 0; i < held.length; i++) held[i] = i;
      factor(system, held.length);
    }
    return system.n;
  }
  const count = system.sectors
    ? nearestAround(system.index, u, v, found, system.sectors, system.within, without)
    : nearest(system.index, u, v, found, system.within, without);
  let same = count === system.n && system.stamp > 0;
  for (let k = 0; same && k < count; k++) same = stamps[found.index[k] as number] === system.stamp;
  if (same) return count;
  // Kept in rising order, so that a result does not depend on which place was asked about before.
  for (let k = 0; k < count; k++) {
    const i = found.index[k] as number;
    let at = k;
    while (at > 0 && (held[at - 1] as number) > i) {
      held[at] = held[at - 1] as number;
      at--;
    }
    held[at] = i;
  }
  factor(system, count);
  return count;
}

/** The factor of the held points' covariances, and the trend and values seen through it. */
function factor(system: KrigingSystem, n: number): void {
  const {held, stamps, packed, inverse, rows, room, p, trend, values, gram, gramInverse, gramValues} = system;
  system.n = n;
  system.stamp++;
  for (let k = 0; k < n; k++) stamps[held[k] as number] = system.stamp;
  fillCovariances(system, n, 0);
  system.solved = factorTriangle(packed, n, inverse);
  if (!system.solved) {
    fillCovariances(system, n, RIDGE * (system.model.partialSill + system.model.nugget));
    system.solved = factorTriangle(packed, n, inverse);
    if (!system.solved) return;
  }
  for (let k = 0; k < n; k++) {
    const i = held[k] as number;
    for (let f = 0; f < p; f++) rows[f * room + k] = trend[f * values.length + i] as number;
    rows[p * room + k] = values[i] as number;
  }
  for (let f = 0; f <= p; f++) solveLower(packed, n, inverse, rows, f * room);
  for (let f = 0, row = 0; f < p; row += ++f) {
    for (let g = 0; g <= f; g++) gram[row + g] = dot(rows, f * room, rows, g * room, n);
    gramValues[f] = dot(rows, f * room, rows, p * room, n);
  }
  // Points on a line do not fix a plane.
  system.solved = factorTriangle(gram, p, gramInverse);
  if (system.solved) solveLower(gram, p, gramInverse, gramValues, 0);
}

function fillCovariances({index: {x, y}, held, packed, noise, model}: KrigingSystem, n: number, ridge: number): void {
  for (let k = 0, row = 0; k < n; row += ++k) {
    const i = held[k] as number;
    const u = x[i] as number;
    const v = y[i] as number;
    for (let l = 0; l <= k; l++) {
      const j = held[l] as number;
      const du = (x[j] as number) - u;
      const dv = (y[j] as number) - v;
      packed[row + l] = du * du + dv * dv;
    }
  }
  distancesToCovariances(packed, (n * (n + 1)) / 2, model);
  for (let k = 0, at = 0; k < n; at += ++k + 1) {
    packed[at] = (packed[at] as number) + (noise[held[k] as number] as number) + ridge;
  }
}
