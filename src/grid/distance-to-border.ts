import type {Grid} from "./grid.ts";
import {nearestCells} from "./nearest-cell.ts";

/**
 * Cells of labelled ground that a disc of a given width reaches without leaving the ground of their label: 1 where one
 * does, 0 where the ground is narrower there, in its corners, and outside.
 *
 * This is the opening of each label by a disc. The disc's centre stands on cell centres, corners and sides, and
 * distances are exact to the border between cells, so that strips of even and odd numbers of cells are judged alike.
 *
 * @param labels - 0 is outside, and so is all beyond the grid.
 * @param widthM - Diameter of the disc, metres. 0 makes all labelled cells wide.
 *
 * Source: opening, Serra (1982), Image Analysis and Mathematical Morphology; for machines, Tisseyre and McBratney
 * (2008), A technical opportunity index based on mathematical morphology, Precision Agric. 9:101-113.
 */
export function wideCells(grid: Grid, labels: Uint8Array, widthM: number): Uint8Array {
  const {cols, rows, cellSize} = grid;
  // The lattice has a point at every centre (odd, odd), corner (even, even) and side of the cells.
  const fine = {cols: 2 * cols + 1, rows: 2 * rows + 1};
  // A diameter in metres is a radius in half cells, less what rounding may take.
  const reach2 = (widthM / cellSize) ** 2 - 1e-9;
  const toBorder = distances2(fine, borderPoints(grid, labels));
  const centres = new Uint8Array(toBorder.length);
  for (let p = 0; p < centres.length; p++) {
    if ((toBorder[p] as number) >= reach2 && labelAt(grid, labels, p) !== 0) centres[p] = 1;
  }
  const toCentre = distances2(fine, centres);
  return labels.map((label, cell) => {
    const p = (2 * Math.floor(cell / cols) + 1) * fine.cols + 2 * (cell % cols) + 1;
    return label !== 0 && (toCentre[p] as number) <= reach2 + 2e-9 ? 1 : 0;
  });
}

/** Squared distance of every lattice point to the nearest marked one, in lattice steps; infinite when none is. */
function distances2(lattice: Pick<Grid, "cols" | "rows">, marked: Uint8Array): Float64Array {
  const {cols} = lattice;
  const nearest = nearestCells(lattice, marked);
  const out = new Float64Array(nearest.length).fill(Infinity);
  for (let p = 0; p < out.length; p++) {
    const near = nearest[p] as number;
    if (near === -1) continue;
    const rowsApart = Math.floor(near / cols) - Math.floor(p / cols);
    out[p] = rowsApart ** 2 + (near - p - rowsApart * cols) ** 2;
  }
  return out;
}

/** Sides between cells of different label, and their ends. */
function borderPoints({cols, rows}: Grid, labels: Uint8Array): Uint8Array {
  const fineCols = 2 * cols + 1;
  const marked = new Uint8Array(fineCols * (2 * rows + 1));
  const at = (row: number, col: number): number =>
    row < 0 || col < 0 || row === rows || col === cols ? 0 : (labels[row * cols + col] as number);
  for (let row = 0; row <= rows; row++) {
    for (let col = 0; col <= cols; col++) {
      const corner = 2 * row * fineCols + 2 * col;
      if (at(row, col) !== at(row - 1, col)) marked.fill(1, corner, corner + 3);
      if (at(row, col) !== at(row, col - 1)) {
        for (let step = 0; step < 3; step++) marked[corner + step * fineCols] = 1;
      }
    }
  }
  return marked;
}

/** Label of a cell a lattice point belongs to; where it is on no border, all of its cells have that. */
function labelAt({cols, rows}: Grid, labels: Uint8Array, p: number): number {
  const row = Math.min(rows - 1, Math.floor(Math.floor(p / (2 * cols + 1)) / 2));
  const col = Math.min(cols - 1, Math.floor((p % (2 * cols + 1)) / 2));
  return labels[row * cols + col] as number;
}
