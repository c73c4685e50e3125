import {FieldError, type Issue} from "../errors.ts";
import {coveragePct} from "../grid/coverage.ts";
import type {Grid} from "../grid/grid.ts";
import {inverseDistance} from "../grid/inverse-distance.ts";
import type {Layer, LayerUnit} from "../grid/layer.ts";
import {indexesWhere} from "../stats/pick.ts";
import {indexPoints, nearest, type PointIndex, roomFor} from "../stats/point-index.ts";
import {typicalOf} from "../stats/robust.ts";
import {formatNumber} from "../units/format.ts";

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

/** Points this many spacings away say nothing of a cell. */
const REACH_IN_SPACINGS = 3;
const FEWEST_POINTS = 3;

/**
 * A layer from sparse points (hand samples, soil cores, readings) by inverse distance to the nearest 12.
 *
 * Smooth between points, exact at them, and no estimate of its own error: for few or costly samples kriging says more.
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
  options: GridPointsOptions<U>,
): {layer: Layer<U>; issues: readonly Issue[]} {
  const known = indexesWhere(values.length, (i) =>
    Number.isFinite((values[i] as number) + (x[i] as number) + (y[i] as number)),
  );
  if (known.length < FEWEST_POINTS) {
    throw new FieldError(
      "layers/too-few-points",
      `${options.label} has ${known.length} points with a value; a map needs ${FEWEST_POINTS}.`,
      {
        hint: "Check the columns of values and positions.",
      },
    );
  }
  const points = indexPoints(x, y, known);
  const {neighbours = 12, power = 2} = options;
  const withinM = options.withinM ?? REACH_IN_SPACINGS * usualSpacingM(points, known);
  const gridded = inverseDistance(points, values, grid, mask, {neighbours, power, withinM});
  const issues: Issue[] = [
    {
      code: "layers/interpolated-points",
      severity: "note",
      message: `${options.label} was interpolated from ${formatNumber(known.length)} points by inverse distance.`,
    },
  ];
  const covered = coveragePct(gridded, mask);
  if (covered < 99.5) {
    issues.push({
      code: "layers/gaps",
      severity: "warning",
      message: `${options.label} reaches ${formatNumber(covered)} % of the field; the rest is more than ${formatNumber(withinM)} m from any point.`,
    });
  }
  const layer: Layer<U> = {
    id: options.id,
    label: options.label,
    unit: options.unit,
    grid,
    values: gridded,
    madeFrom: {step: "layers/grid-points", inputs: [options.id], options: {neighbours, power, withinM}},
  };
  return {layer, issues};
}

/** Median distance from a point to the nearest other place, over about 2,000 of them. */
export function usualSpacingM(points: PointIndex, only: Int32Array): number {
  const every = Math.max(1, Math.floor(only.length / 2000));
  const found = roomFor(4);
  const spacing = new Float64Array(Math.ceil(only.length / every));
  for (let n = 0; n * every < only.length; n++) {
    const i = only[n * every] as number;
    const count = nearest(points, points.x[i] as number, points.y[i] as number, found, Infinity, i);
    for (let k = 0; k < count && spacing[n] === 0; k++) spacing[n] = Math.sqrt(found.distance2[k] as number);
  }
  return typicalOf(spacing);
}
