import type {MultiPolygon, Polygon, XY} from "../geo/shapes.ts";
import {cellCount, centreY, type Grid} from "./grid.ts";

/** 1 where a cell's centre is inside the shape (even-odd), 0 elsewhere. */
export function maskOf(grid: Grid, shape: MultiPolygon): Uint8Array {
  const mask = new Uint8Array(cellCount(grid));
  for (const polygon of shape) {
    fillRows(grid, polygon, (start, end) => mask.fill(1, start, end));
  }
  return mask;
}

/**
 * The index of the shape that holds each cell's centre, -1 where none does.
 *
 * Where shapes overlap the later one wins; `overlaps` counts such cells so that the caller can say so.
 */
export function burn(grid: Grid, shapes: readonly MultiPolygon[]): {owner: Int32Array; overlaps: number} {
  const owner = new Int32Array(cellCount(grid)).fill(-1);
  let overlaps = 0;
  shapes.forEach((shape, index) => {
    for (const polygon of shape) {
      fillRows(grid, polygon, (start, end) => {
        for (let i = start; i < end; i++) {
          if (owner[i] !== -1 && owner[i] !== index) overlaps++;
          owner[i] = index;
        }
      });
    }
  });
  return {owner, overlaps};
}

/** Calls back with runs of cells whose centres are inside, one scan line at a time. */
function fillRows(grid: Grid, polygon: Polygon, fill: (start: number, end: number) => void): void {
  const rows = new Map<number, number[]>();
  for (const ring of polygon) {
    for (let i = 0; i + 1 < ring.length; i++) addCrossings(grid, ring[i] as XY, ring[i + 1] as XY, rows);
  }
  for (const row of [...rows.keys()].sort((a, b) => a - b)) {
    const crossings = (rows.get(row) as number[]).sort((p, q) => p - q);
    for (let i = 0; i + 1 < crossings.length; i += 2) {
      // A centre at west + (col + 0.5) * size is inside when it lies in [left, right).
      const left = ((crossings[i] as number) - grid.west) / grid.cellSize - 0.5;
      const right = ((crossings[i + 1] as number) - grid.west) / grid.cellSize - 0.5;
      const from = Math.max(0, Math.ceil(left));
      const to = Math.min(grid.cols, Math.ceil(right));
      if (to > from) fill(row * grid.cols + from, row * grid.cols + to);
    }
  }
}

/** Where an edge crosses the rows of cell centres, each in the list of its row. */
function addCrossings(grid: Grid, a: XY, b: XY, rows: Map<number, number[]>): void {
  // One row more at either end, because rounding must not lose one.
  const first = Math.max(0, Math.floor((grid.north - Math.max(a.y, b.y)) / grid.cellSize - 1.5));
  const last = Math.min(grid.rows - 1, Math.ceil((grid.north - Math.min(a.y, b.y)) / grid.cellSize + 0.5));
  for (let row = first; row <= last; row++) {
    const y = centreY(grid, row);
    if (a.y > y === b.y > y) continue;
    const x = a.x + ((y - a.y) * (b.x - a.x)) / (b.y - a.y);
    const list = rows.get(row);
    if (list) list.push(x);
    else rows.set(row, [x]);
  }
}
