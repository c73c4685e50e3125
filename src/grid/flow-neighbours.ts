/** The eight neighbours in the order ties are broken: east first, then against the clock. */
export const NEIGHBOUR_COLS = [1, 1, 0, -1, -1, -1, 0, 1];
export const NEIGHBOUR_ROWS = [0, -1, -1, -1, 0, 1, 1, 1];
/** Steps in cells: 1 along rows and columns, √2 across. */
export const NEIGHBOUR_STEPS = [1, Math.SQRT2, 1, Math.SQRT2, 1, Math.SQRT2, 1, Math.SQRT2];

/** The cell that is the k-th neighbour of another, or -1 where the raster ends or has no height. */
export function neighbourOf(heights: Float64Array, cols: number, cell: number, k: number): number {
  const col = (cell % cols) + (NEIGHBOUR_COLS[k] as number);
  if (col < 0 || col >= cols) return -1;
  const next = cell + (NEIGHBOUR_ROWS[k] as number) * cols + (NEIGHBOUR_COLS[k] as number);
  if (next < 0 || next >= heights.length) return -1;
  return Number.isNaN(heights[next] as number) ? -1 : next;
}

/** Cells where water may leave: at the raster's edge or beside no-data. 1 for these. */
export function rimOf(heights: Float64Array, cols: number): Uint8Array {
  const rim = new Uint8Array(heights.length);
  for (let cell = 0; cell < heights.length; cell++) {
    if (Number.isNaN(heights[cell] as number)) continue;
    for (let k = 0; k < 8 && rim[cell] === 0; k++) {
      if (neighbourOf(heights, cols, cell, k) === -1) rim[cell] = 1;
    }
  }
  return rim;
}
