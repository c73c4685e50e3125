import {metres} from "../units/quantity.ts";
import type {Grid} from "./grid.ts";

/** The same cells with at least `marginM` metres more on every side, for work that looks past the edge. */
export function widenGrid(grid: Grid, marginM: number): Grid {
  const size = grid.cellSize;
  const cells = Math.ceil(marginM / size);
  return {
    ...grid,
    west: metres(grid.west - cells * size),
    north: metres(grid.north + cells * size),
    cols: grid.cols + 2 * cells,
    rows: grid.rows + 2 * cells,
  };
}

/** The values of a widened grid at the cells of the grid it was widened from. */
export function cropTo(grid: Grid, wide: Grid, values: Float64Array): Float64Array {
  const left = Math.round((grid.west - wide.west) / grid.cellSize);
  const top = Math.round((wide.north - grid.north) / grid.cellSize);
  const out = new Float64Array(grid.cols * grid.rows);
  for (let row = 0; row < grid.rows; row++) {
    const from = (row + top) * wide.cols + left;
    out.set(values.subarray(from, from + grid.cols), row * grid.cols);
  }
  return out;
}
