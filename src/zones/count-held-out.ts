import type {Grid} from "../grid/grid.ts";
import type {Layer} from "../grid/layer.ts";
import {inertiaOf, nearestCentres, type Points} from "../stats/cluster-points.ts";
import {kMeans} from "../stats/kmeans.ts";
import type {FeatureMatrix} from "./feature-matrix.ts";
import {
  compareWithNull,
  drawShifts,
  explainedUnderShifts,
  type NullComparison,
  type PlacedValues,
  type Shift,
} from "./spatial-null.ts";
import {completeRows} from "./theme-components.ts";

/** Zones of one count made without a layer, and the layer. */
export interface LabelledWithout {
  readonly layer: Layer;
  /** Zone of each grid cell from 1; 0 outside. */
  readonly zones: Uint8Array;
}

/** What zones explain of what they were not made from. */
export interface HeldOutShare {
  /** Mean share of variance explained, 0 to 1. */
  readonly explained: number;
  /** What the same maps explain laid elsewhere on the field. Left out where no independent layer was kept back. */
  readonly byChance?: NullComparison;
}

/** Squares of the halves in turn: as many on the longer side of the grid. */
const SQUARES_ALONG = 8;

/** Shifts that chance is judged by, the same for every count. */
export function shiftsFor(grid: Grid, draws: number, seed: number): Shift[] {
  return drawShifts(grid, draws, seed);
}

/** Mean over layers, each by the zones made without it, against the same mean of maps laid by chance. */
export function heldOutShare(grid: Grid, tried: readonly LabelledWithout[], shifts: readonly Shift[]): HeldOutShare {
  const all = tried.map(({layer, zones}) => explainedUnderShifts(grid, zones, [valuesIn(layer, zones)], shifts));
  const mean = (of: (one: (typeof all)[number]) => number): number =>
    all.reduce((sum, one) => sum + of(one), 0) / all.length;
  const explained = mean(({found}) => found[0] as number);
  const slid = Float64Array.from(shifts, (_, s) => mean((one) => one.slid[0]?.[s] as number));
  return {explained, byChance: compareWithNull(explained, slid)};
}

/**
 * How well centres found in one half of the field fit the other: 1 - (squared distances to the nearest of them) /
 * (squared distances to the mean of the first half), both ways round. Below 0 when the halves have nothing in common.
 *
 * The halves are the dark and the light squares of a board of 8 squares along the longer side of the grid: neighbouring
 * cells, which are alike whatever the zones, are mostly on one side. The layers are still those zones are made from.
 */
export function otherHalfShare(
  grid: Grid,
  matrix: FeatureMatrix,
  count: number,
  options: {seed: number; restarts: number; mostIterations: number},
): number {
  const side = Math.max(1, Math.ceil(Math.max(grid.cols, grid.rows) / SQUARES_ALONG));
  const dark = (row: number): boolean => {
    const cell = matrix.cells[row] as number;
    return (Math.floor((cell % grid.cols) / side) + Math.floor(cell / grid.cols / side)) % 2 === 0;
  };
  const complete = completeRows(matrix);
  const halves = [complete.filter(dark), complete.filter((row) => !dark(row))].map((rows) => pick(matrix, rows));
  const [a, b] = halves as [Points, Points];
  if (a.values.length / a.dims < count || b.values.length / b.dims < count) return Number.NaN;
  return (predicted(a, b, count, options) + predicted(b, a, count, options)) / 2;
}

function predicted(
  from: Points,
  to: Points,
  count: number,
  options: {seed: number; restarts: number; mostIterations: number},
): number {
  const {centres} = kMeans(from, count, options);
  const mean = kMeans(from, 1, {...options, restarts: 1}).centres;
  const about = inertiaOf(to, new Int32Array(to.values.length / to.dims), mean);
  return about > 0 ? 1 - inertiaOf(to, nearestCentres(to, centres), centres) / about : 0;
}

function pick({values, dims}: FeatureMatrix, rows: readonly number[]): Points {
  const out = new Float64Array(rows.length * dims);
  rows.forEach((row, i) => {
    out.set(values.subarray(row * dims, (row + 1) * dims), i * dims);
  });
  return {values: out, dims};
}

function valuesIn({id, label, unit, values}: Layer, zones: Uint8Array): PlacedValues {
  const cells = Int32Array.from(zones.keys()).filter((cell) => zones[cell] !== 0 && !Number.isNaN(values[cell]));
  return {id, label, unit, cells, values: Float64Array.from(cells, (cell) => values[cell] as number)};
}
