import {along, chords} from "../geo/half-plane.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";

/** A field's box along two unit directions, and the cells to lay in it; metres. */
export interface GridBox {
  readonly east: XY;
  readonly north: XY;
  readonly west: number;
  readonly eastEnd: number;
  readonly south: number;
  readonly northEnd: number;
  readonly cellEast: number;
  readonly cellNorth: number;
}

/**
 * How far west and north of the box a grid should begin, in shares of a cell.
 *
 * Of 100 origins, tenths of a cell each way, the one is taken after which cells are nearest to their full area: least
 * sum of squared departures, an edge piece under `mergeBelow` counting as added to a full cell. Of equal origins the
 * one nearest to the box's own corner wins. Areas are judged on tiles of a tenth of a cell.
 *
 * @param staggered - Lanes of which every other is shifted by half a cell.
 */
export function kindestShift(
  outline: MultiPolygon,
  box: GridBox,
  mergeBelow: number,
  staggered?: "rows" | "columns",
): {west: number; north: number} {
  const cover = coverOf(outline, box);
  let best = {west: 0, north: 0};
  let least = Infinity;
  for (let rows = 0; rows < STEPS; rows++) {
    for (let columns = 0; columns < STEPS; columns++) {
      const cost = departure(cellShares(cover, columns, rows, staggered), mergeBelow);
      if (cost < least - 1e-9) {
        least = cost;
        best = {west: columns / STEPS, north: rows / STEPS};
      }
    }
  }
  return best;
}

// --- inside ---------------------------------------------------------------------------------------------------

/** Tiles to the side of a cell. */
const STEPS = 10;

/** Share of each tile that is field, along the tile's middle; rows from the north. */
function coverOf(outline: MultiPolygon, box: GridBox): number[][] {
  const rings = outline.flat();
  const stepEast = box.cellEast / STEPS;
  const stepNorth = box.cellNorth / STEPS;
  const columns = Math.max(1, Math.ceil((box.eastEnd - box.west) / stepEast - 1e-6));
  const rows = Math.max(1, Math.ceil((box.northEnd - box.south) / stepNorth - 1e-6));
  return Array.from({length: rows}, (_, row) => {
    const cover = new Array<number>(columns).fill(0);
    const offset = box.northEnd - (row + 0.5) * stepNorth;
    for (const {from, to} of chords(rings, {normal: box.north, offset})) {
      const ends = [from, to].map((p) => (along(box.east, p) - box.west) / stepEast);
      const [start, end] = [Math.min(...ends), Math.max(...ends)];
      for (let column = Math.max(0, Math.floor(start)); column < Math.min(columns, end); column++) {
        cover[column] = (cover[column] as number) + Math.min(end, column + 1) - Math.max(start, column);
      }
    }
    return cover;
  });
}

/** Field share of each cell when the grid begins so many tiles west and north of the box. */
function cellShares(
  cover: readonly (readonly number[])[],
  columns: number,
  rows: number,
  staggered?: "rows" | "columns",
): number[] {
  const spare = staggered ? 1 : 0;
  const across = Math.ceil(((cover[0]?.length ?? 0) + columns) / STEPS) + spare;
  const down = Math.ceil((cover.length + rows) / STEPS) + spare;
  const shares = new Array<number>(across * down).fill(0);
  cover.forEach((line, tileRow) => {
    line.forEach((share, tileColumn) => {
      let row = Math.floor((tileRow + rows) / STEPS);
      let column = Math.floor((tileColumn + columns) / STEPS);
      if (staggered === "rows" && row % 2 === 1) column = Math.floor((tileColumn + columns + STEPS / 2) / STEPS);
      if (staggered === "columns" && column % 2 === 1) row = Math.floor((tileRow + rows + STEPS / 2) / STEPS);
      const cell = row * across + column;
      shares[cell] = (shares[cell] as number) + share / STEPS ** 2;
    });
  });
  return shares;
}

/** Sum of squared departures from a full cell; no field, no departure. */
function departure(shares: readonly number[], mergeBelow: number): number {
  return shares.reduce((sum, share) => sum + (share < mergeBelow ? share : 1 - share) ** 2, 0);
}
