import {centresOf, spreadOver} from "../../grid/cell-centres.ts";
import {cellCount, type Grid} from "../../grid/grid.ts";
import type {VariogramModel} from "../../stats/covariance.ts";
import {fitVariogram} from "../../stats/fit-variogram.ts";
import {krige, type PointValues} from "../../stats/kriging.ts";
import {indexPoints, nearest, roomFor} from "../../stats/point-index.ts";
import {sampleVariogram} from "../../stats/variogram.ts";

export interface DenseKriging {
  /** Cell means, NaN where nothing is near. */
  readonly values: Float64Array;
  readonly variance: Float64Array;
  readonly model: VariogramModel;
  /** Records the variogram was drawn from. */
  readonly compared: number;
}

export interface DenseOptions {
  /** Cells farther than this from every record stay without a value. */
  readonly reachM: number;
  /** Pairs of records farther apart are not looked at for the variogram. */
  readonly cutoffM: number;
  readonly seed: number;
}

/** Four from each eighth of the compass, so that all are not of one pass. */
const NEIGHBOURS = 32;
const SECTORS = 8;

/**
 * Cell means of a dense log by block kriging with the nugget taken for noise: records of one place that disagree are
 * smoothed, by as much as the log itself says they are noisy.
 *
 * @param points - Without NaN.
 * @returns undefined when the log has no spatial structure to krige by.
 */
export function krigeDense(
  points: PointValues,
  grid: Grid,
  mask: Uint8Array,
  {reachM, cutoffM, seed}: DenseOptions,
): DenseKriging | undefined {
  const sample = sampleVariogram(points.x, points.y, points.values, {cutoff: cutoffM, seed});
  const fit = fitVariogram(sample);
  if (!fit || fit.model.partialSill === 0) return undefined;
  const index = indexPoints(points.x, points.y);
  const found = roomFor(1);
  const all = centresOf(grid, mask);
  const near = new Uint8Array(cellCount(grid));
  all.cells.forEach((cell, k) => {
    near[cell] = nearest(index, all.x[k] as number, all.y[k] as number, found, reachM);
  });
  const cells = centresOf(grid, near);
  const {values, variance} = krige(points, fit.model, cells, {
    neighbours: NEIGHBOURS,
    sectors: SECTORS,
    block: grid.cellSize,
  });
  return {
    values: spreadOver(grid, cells, values),
    variance: spreadOver(grid, cells, variance),
    model: fit.model,
    compared: sample.compared,
  };
}
