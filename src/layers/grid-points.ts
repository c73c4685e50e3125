import type {Issue} from "../errors.ts";
import type {Grid} from "../grid/grid.ts";
import type {Layer, LayerUnit} from "../grid/layer.ts";
import {interpolatePoints} from "./interpolate/interpolate-points.ts";

export interface GridPointsOptions<U extends LayerUnit> {
  readonly id: string;
  readonly label: string;
  readonly unit: U;
  /** Points that speak for a cell. Default 12. */
  readonly neighbours?: number;
  /** Default 2. */
  readonly power?: number;
  /** Cells farther than this from every point stay without a value, metres. Default three times the usual spacing. */
  readonly withinM?: number;
}

/**
 * A layer from points by inverse distance to the nearest 12, whatever the points support (`interpolatePoints` asks them).
 *
 * @param values - One per point; points with a NaN value or position are left out.
 * @param mask - 1 for cells of the field; others come out NaN.
 * @throws {FieldError} `layers/too-few-points` under three points with a value.
 */
export function gridPoints<U extends LayerUnit>(
  x: Float64Array,
  y: Float64Array,
  values: Float64Array,
  grid: Grid,
  mask: Uint8Array,
  {id, label, unit, ...options}: GridPointsOptions<U>,
): {layer: Layer<U>; issues: readonly Issue[]} {
  const points = {id, label, unit, x, y, values};
  return interpolatePoints(points, grid, mask, {...options, method: "inverse distance"});
}
