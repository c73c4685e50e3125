import {along, normalAt} from "../geo/half-plane.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {kindestShift} from "./grid-shift.ts";

/**
 * A grid laid over a field: two unit directions and the lines between its columns and rows.
 *
 * `east` is the grid direction nearest to east and `north` stands at a right angle to it, so that columns count from
 * west to east and rows from north to south however the grid is turned.
 */
export interface GridLines {
  readonly east: XY;
  readonly north: XY;
  /** True when the field, or the heading asked for, runs along `east`. */
  readonly runsEast: boolean;
  /** Where lines cross the field, along `east` and along `north`: rising, metres from the frame's origin. */
  readonly eastings: readonly number[];
  readonly northings: readonly number[];
}

export interface CellSize {
  readonly areaM2: number;
  /** Length of a cell in the direction the field runs over its width. */
  readonly lengthToWidth: number;
}

/** Lays the grid along `angle`, its origin where the field's edge cuts it most kindly (`kindestShift`). */
export function layGrid(outline: MultiPolygon, angle: number, size: CellSize, mergeBelow: number): GridLines {
  const turns = Math.round(angle / (Math.PI / 2));
  const runsEast = turns % 2 === 0;
  const level = angle - turns * (Math.PI / 2);
  const east = normalAt(level);
  const north = normalAt(level + Math.PI / 2);
  const length = Math.sqrt(size.areaM2 * size.lengthToWidth);
  const width = size.areaM2 / length;
  const [cellEast, cellNorth] = runsEast ? [length, width] : [width, length];

  const [west, eastEnd] = extent(outline, east);
  const [south, northEnd] = extent(outline, north);
  const shift = kindestShift(outline, {east, north, west, eastEnd, south, northEnd, cellEast, cellNorth}, mergeBelow);
  return {
    east,
    north,
    runsEast,
    eastings: linesBetween(west, eastEnd, west - shift.west * cellEast, cellEast),
    northings: linesBetween(south, northEnd, northEnd + shift.north * cellNorth, -cellNorth).reverse(),
  };
}

/** Column and row of a point: how many lines lie west and north of it. */
export function cellOf(lines: GridLines, p: XY): {column: number; row: number} {
  const e = along(lines.east, p);
  const n = along(lines.north, p);
  return {
    column: lines.eastings.filter((line) => line <= e).length,
    row: lines.northings.filter((line) => line > n).length,
  };
}

/** The lines as drawn across the field, a metre beyond it. */
export function drawLines(lines: GridLines, outline: MultiPolygon): XY[][] {
  const at = (e: number, n: number): XY => ({
    x: e * lines.east.x + n * lines.north.x,
    y: e * lines.east.y + n * lines.north.y,
  });
  const [west, east] = extent(outline, lines.east);
  const [south, north] = extent(outline, lines.north);
  return [
    ...lines.eastings.map((e) => [at(e, south - 1), at(e, north + 1)]),
    ...lines.northings.map((n) => [at(west - 1, n), at(east + 1, n)]),
  ];
}

// --- inside ---------------------------------------------------------------------------------------------------

/** A line this near to the end of the field would cut off nothing but the error of the boundary. */
const NEAR_END_M = 0.3;

function extent(outline: MultiPolygon, direction: XY): [number, number] {
  const distances = outline.flat(2).map((p) => along(direction, p));
  return [distances.reduce((a, b) => Math.min(a, b)), distances.reduce((a, b) => Math.max(a, b))];
}

/** Lines from an origin on in equal steps, those between two ends; rising for positive steps, falling for negative. */
function linesBetween(low: number, high: number, origin: number, step: number): number[] {
  const lines: number[] = [];
  for (let i = 0; ; i++) {
    const line = origin + i * step;
    if (step > 0 ? line >= high - NEAR_END_M : line <= low + NEAR_END_M) return lines;
    if (line > low + NEAR_END_M && line < high - NEAR_END_M) lines.push(line);
  }
}
