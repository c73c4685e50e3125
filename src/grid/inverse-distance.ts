import {type InverseDistanceOptions, inverseDistanceAt} from "../stats/inverse-distance.ts";
import type {PointIndex} from "../stats/point-index.ts";
import {centresOf, spreadOver} from "./cell-centres.ts";
import type {Grid} from "./grid.ts";

export interface GridInverseDistanceOptions extends Omit<InverseDistanceOptions, "within" | "without"> {
  /** Points farther away say nothing, metres. Default any distance. */
  readonly withinM?: number;
}

/**
 * Mean of the nearest points weighted by inverse distance (`inverseDistanceAt`), at the centres of chosen cells; NaN
 * elsewhere.
 *
 * @param values - One per point of the index, none NaN among those indexed.
 * @param wanted - 1 for cells to work out.
 */
export function inverseDistance(
  points: PointIndex,
  values: Float64Array,
  grid: Grid,
  wanted: Uint8Array,
  {withinM, ...options}: GridInverseDistanceOptions = {},
): Float64Array {
  const centres = centresOf(grid, wanted);
  const found = inverseDistanceAt(points, values, centres, {
    ...options,
    ...(withinM !== undefined && {within: withinM}),
  });
  return spreadOver(grid, centres, found);
}
