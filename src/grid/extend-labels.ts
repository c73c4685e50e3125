import type {Box} from "../geo/shapes.ts";
import {metres} from "../units/quantity.ts";
import {cellCount, type Grid} from "./grid.ts";
import {nearestCells} from "./nearest-cell.ts";

/** Labels carried over the edge of what was labelled, on a grid large enough to hold it. */
export interface ExtendedLabels {
  readonly grid: Grid;
  /** No zeros: every cell has the label of the nearest labelled cell. */
  readonly labels: Uint8Array;
  /** Cell of the given grid each label comes from. */
  readonly source: Int32Array;
}

/**
 * Fills every cell without a label from the nearest one that has it, past the grid's own edge if need be.
 *
 * Lines traced between the labels then run out over the field's boundary instead of ending in it, also where a neck
 * of the field is narrower than a cell.
 *
 * @param labels - 0 is no label; at least one cell has one.
 * @param box - What the result must cover, with a margin of `marginCells`.
 */
export function extendLabels(grid: Grid, labels: Uint8Array, box: Box, marginCells = 3): ExtendedLabels {
  const {cellSize: size} = grid;
  const more = (m: number): number => Math.max(0, Math.ceil(m / size)) + marginCells;
  const left = more(grid.west - box.west);
  const top = more(box.north - grid.north);
  const wide: Grid = {
    frame: grid.frame,
    west: metres(grid.west - left * size),
    north: metres(grid.north + top * size),
    cellSize: size,
    cols: left + grid.cols + more(box.east - (grid.west + grid.cols * size)),
    rows: top + grid.rows + more(grid.north - grid.rows * size - box.south),
  };
  const known = new Uint8Array(cellCount(wide));
  for (let row = 0; row < grid.rows; row++) {
    known.set(labels.subarray(row * grid.cols, (row + 1) * grid.cols), (row + top) * wide.cols + left);
  }
  const source = nearestCells(wide, known);
  const out = new Uint8Array(source.length);
  for (let cell = 0; cell < source.length; cell++) {
    const near = source[cell] as number;
    if (near === -1) throw new Error("no cell has a label");
    out[cell] = known[near] as number;
    const row = Math.floor(near / wide.cols);
    source[cell] = (row - top) * grid.cols + near - row * wide.cols - left;
  }
  return {grid: wide, labels: out, source};
}
