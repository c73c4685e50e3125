import {FieldError} from "../errors.ts";
import type {LocalFrame} from "../geo/frame.ts";
import type {Box} from "../geo/shapes.ts";
import {formatNumber} from "../units/format.ts";
import {type Metres, metres} from "../units/quantity.ts";

/**
 * Where the cells are: north-up, square, row 0 northernmost, row-major.
 *
 * `west` and `north` are cell *edges*, multiples of the cell size in the field's frame, so that two seasons line
 * up; the centre of cell (0, 0) is half a cell in.
 */
export interface Grid {
  readonly frame: LocalFrame;
  readonly west: Metres;
  readonly north: Metres;
  readonly cellSize: Metres;
  readonly cols: number;
  readonly rows: number;
}

/** More cells than this are refused unless the user raises the limit: a mistyped cell size should not eat the machine. */
export const MOST_CELLS = 4_000_000;

/**
 * The smallest snapped grid that covers a box, with a margin.
 *
 * @param marginM - Extra metres on each side. Default 0.
 * @throws {FieldError} `grid/cell-size` when the cell size is not positive; `grid/too-many-cells` over the limit.
 */
export function gridOver(frame: LocalFrame, box: Box, cellSizeM: number, marginM = 0, mostCells = MOST_CELLS): Grid {
  if (!(cellSizeM > 0)) {
    throw new FieldError("grid/cell-size", `A cell size of ${cellSizeM} m makes no grid.`, {
      hint: "Choose a cell size above zero; 5 m suits most fields.",
    });
  }
  const west = Math.floor((box.west - marginM) / cellSizeM);
  const east = Math.ceil((box.east + marginM) / cellSizeM);
  const south = Math.floor((box.south - marginM) / cellSizeM);
  const north = Math.ceil((box.north + marginM) / cellSizeM);
  const cols = Math.max(1, east - west);
  const rows = Math.max(1, north - south);
  if (cols * rows > mostCells) {
    throw new FieldError(
      "grid/too-many-cells",
      `A cell size of ${cellSizeM} m gives ${formatNumber(cols * rows)} cells; the limit is ${formatNumber(mostCells)}.`,
      {hint: "Choose a larger cell size, or raise layers.mostCells in the job."},
    );
  }
  return {
    frame,
    west: metres(west * cellSizeM),
    north: metres(north * cellSizeM),
    cellSize: metres(cellSizeM),
    cols,
    rows,
  };
}

export function cellCount(grid: Grid): number {
  return grid.cols * grid.rows;
}

export function centreX(grid: Grid, col: number): number {
  return grid.west + (col + 0.5) * grid.cellSize;
}

export function centreY(grid: Grid, row: number): number {
  return grid.north - (row + 0.5) * grid.cellSize;
}

/** Index of the cell that holds a point, or -1 outside. A point on an edge belongs to the cell east or south of it. */
export function cellAt(grid: Grid, x: number, y: number): number {
  const col = Math.floor((x - grid.west) / grid.cellSize);
  const row = Math.floor((grid.north - y) / grid.cellSize);
  if (col < 0 || row < 0 || col >= grid.cols || row >= grid.rows || Number.isNaN(x + y)) return -1;
  return row * grid.cols + col;
}

/** True when two grids have the same cells. */
export function sameGrid(a: Grid, b: Grid): boolean {
  return (
    a.frame.lon === b.frame.lon &&
    a.frame.lat === b.frame.lat &&
    a.west === b.west &&
    a.north === b.north &&
    a.cellSize === b.cellSize &&
    a.cols === b.cols &&
    a.rows === b.rows
  );
}
