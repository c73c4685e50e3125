import {transformBetween} from "../geo/crs.ts";
import {frameProjString} from "../geo/frame.ts";
import {cellCount, type Grid} from "./grid.ts";
import type {Raster} from "./raster.ts";

/** How values between cell centres are found. "auto" averages where the raster is finer than the grid, else bilinear. */
export type ResampleMethod = "auto" | "bilinear" | "average" | "nearest";

/** Averages need at least this share of a cell to have data. */
const LEAST_SHARE = 0.5;
/** Averaging sees at most so many points across a cell. */
const MOST_ACROSS = 24;
/** Positions are transformed every so many points and interpolated between: exact to a millimetre over 100 m. */
const LATTICE = 16;

/**
 * A raster brought onto a field's grid, whatever its coordinate system.
 *
 * Bilinear: between the four cell centres around a grid cell's centre, no-data left out as long as it has less than
 * half of the weight. Average: mean of such values at points no further apart than the raster's cells, at least half
 * of them with data. Nearest: the raster cell a centre falls in, for classes. Nothing is filled beyond the raster's outer edge.
 *
 * @returns One value per grid cell, NaN where the raster has none, and the method "auto" came to.
 */
export function resampleRaster(
  raster: Raster,
  grid: Grid,
  method: ResampleMethod = "auto",
): {values: Float64Array; method: Exclude<ResampleMethod, "auto">} {
  const pixelM = pixelSizeM(raster, grid);
  const chosen = method === "auto" ? (pixelM < grid.cellSize / 1.5 ? "average" : "bilinear") : method;
  if (chosen !== "average") {
    const at = chosen === "nearest" ? nearestAt : bilinearAt;
    return {values: atPoints(raster, grid, 1, (x, y) => at(raster, x, y)), method: chosen};
  }
  const across = Math.max(1, Math.min(MOST_ACROSS, Math.ceil(grid.cellSize / pixelM - 1e-6)));
  const fine = atPoints(raster, grid, across, (x, y) => bilinearAt(raster, x, y));
  return {values: blockMeans(fine, grid, across), method: chosen};
}

/** Size of a raster cell at the middle of the grid, metres: the smaller side. */
function pixelSizeM(raster: Raster, grid: Grid): number {
  const {forward, inverse} = transformBetween(frameProjString(grid.frame), raster.crs.definition);
  const middleX = grid.west + (grid.cols * grid.cellSize) / 2;
  const middleY = grid.north - (grid.rows * grid.cellSize) / 2;
  const [x, y] = forward(middleX, middleY);
  const [ax, ay] = inverse(x + raster.cellWidth, y);
  const [bx, by] = inverse(x, y + raster.cellHeight);
  return Math.min(Math.hypot(ax - middleX, ay - middleY), Math.hypot(bx - middleX, by - middleY));
}

/** Values at `across` × `across` points in every grid cell, row-major over the whole finer grid. */
function atPoints(raster: Raster, grid: Grid, across: number, at: (x: number, y: number) => number): Float64Array {
  const {forward} = transformBetween(frameProjString(grid.frame), raster.crs.definition);
  const cols = grid.cols * across;
  const rows = grid.rows * across;
  const size = grid.cellSize / across;
  const values = new Float64Array(cols * rows);
  const corner = (col: number, row: number): readonly [number, number] =>
    forward(grid.west + (col + 0.5) * size, grid.north - (row + 0.5) * size);
  for (let row0 = 0; row0 < rows; row0 += LATTICE) {
    for (let col0 = 0; col0 < cols; col0 += LATTICE) {
      const [ax, ay] = corner(col0, row0);
      const [bx, by] = corner(col0 + LATTICE, row0);
      const [cx, cy] = corner(col0, row0 + LATTICE);
      const [dx, dy] = corner(col0 + LATTICE, row0 + LATTICE);
      for (let row = row0; row < Math.min(rows, row0 + LATTICE); row++) {
        const v = (row - row0) / LATTICE;
        for (let col = col0; col < Math.min(cols, col0 + LATTICE); col++) {
          const u = (col - col0) / LATTICE;
          const x = (1 - v) * ((1 - u) * ax + u * bx) + v * ((1 - u) * cx + u * dx);
          const y = (1 - v) * ((1 - u) * ay + u * by) + v * ((1 - u) * cy + u * dy);
          values[row * cols + col] = at(x, y);
        }
      }
    }
  }
  return values;
}

function nearestAt(raster: Raster, x: number, y: number): number {
  const col = Math.floor((x - raster.west) / raster.cellWidth);
  const row = Math.floor((raster.north - y) / raster.cellHeight);
  if (!(col >= 0 && row >= 0 && col < raster.cols && row < raster.rows)) return Number.NaN;
  return raster.values[row * raster.cols + col] as number;
}

function bilinearAt(raster: Raster, x: number, y: number): number {
  const {cols, rows, values} = raster;
  const u = (x - raster.west) / raster.cellWidth;
  const v = (raster.north - y) / raster.cellHeight;
  if (!(u >= 0 && v >= 0 && u <= cols && v <= rows)) return Number.NaN;
  // Within half a cell of the outer edge the outermost centres count alone.
  const left = Math.floor(u - 0.5);
  const top = Math.floor(v - 0.5);
  const right = u - 0.5 - left;
  const below = v - 0.5 - top;
  let sum = 0;
  let weights = 0;
  for (let corner = 0; corner < 4; corner++) {
    const east = corner & 1;
    const south = corner >> 1;
    const weight = (east ? right : 1 - right) * (south ? below : 1 - below);
    const col = Math.max(0, Math.min(cols - 1, left + east));
    const row = Math.max(0, Math.min(rows - 1, top + south));
    const value = values[row * cols + col] as number;
    if (weight === 0 || Number.isNaN(value)) continue;
    sum += weight * value;
    weights += weight;
  }
  return weights >= LEAST_SHARE ? sum / weights : Number.NaN;
}

function blockMeans(fine: Float64Array, grid: Grid, across: number): Float64Array {
  const means = new Float64Array(cellCount(grid));
  const cols = grid.cols * across;
  for (let row = 0; row < grid.rows; row++) {
    for (let col = 0; col < grid.cols; col++) {
      let sum = 0;
      let count = 0;
      for (let r = row * across; r < (row + 1) * across; r++) {
        for (let c = col * across; c < (col + 1) * across; c++) {
          const value = fine[r * cols + c] as number;
          if (Number.isNaN(value)) continue;
          sum += value;
          count++;
        }
      }
      means[row * grid.cols + col] = count >= LEAST_SHARE * across * across ? sum / count : Number.NaN;
    }
  }
  return means;
}
