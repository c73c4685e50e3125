import {blurCells} from "./blur-cells.ts";
import type {Grid} from "./grid.ts";

/**
 * Mean of a cell and its neighbours under a Gaussian weight, over the cells that have data. NaN cells stay NaN and
 * give nothing to their neighbours.
 *
 * @param sigmaM - Metres; 0 returns a copy.
 */
export function smoothValues(grid: Grid, values: Float64Array, sigmaM: number): Float64Array {
  if (sigmaM === 0) return values.slice();
  const known = values.map((value) => (Number.isNaN(value) ? 0 : 1));
  const sums = blurCells(
    grid,
    values.map((value) => (Number.isNaN(value) ? 0 : value)),
    sigmaM,
  );
  const weights = blurCells(grid, known, sigmaM);
  return sums.map((sum, i) => (known[i] === 1 ? sum / (weights[i] as number) : Number.NaN));
}
