import {cellCount, centreX, centreY, type Grid} from "./grid.ts";

/** Some cells of a grid and their centres. */
export interface CellCentres {
  readonly cells: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/** The cells that are wanted, rising, with their centres in the grid's frame. */
export function centresOf(grid: Grid, wanted: Uint8Array): CellCentres {
  let count = 0;
  for (const is of wanted) if (is) count++;
  const cells = new Int32Array(count);
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  let k = 0;
  for (let cell = 0; cell < cellCount(grid); cell++) {
    if (!wanted[cell]) continue;
    cells[k] = cell;
    x[k] = centreX(grid, cell % grid.cols);
    y[k] = centreY(grid, Math.floor(cell / grid.cols));
    k++;
  }
  return {cells, x, y};
}

/** Values of some cells laid onto their grid; NaN elsewhere. */
export function spreadOver(grid: Grid, {cells}: Pick<CellCentres, "cells">, values: Float64Array): Float64Array {
  const out = new Float64Array(cellCount(grid)).fill(Number.NaN);
  for (let k = 0; k < cells.length; k++) out[cells[k] as number] = values[k] as number;
  return out;
}
