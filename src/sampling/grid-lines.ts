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
  /**
   * For staggered grids: where the lines across every other lane lie, the second lane first. Lanes are rows where the
   * field runs east, else columns.
   */
  readonly between?: readonly number[];
  /** Nominal sides of a cell, and the field's west and north ends along `east` and `north`. */
  readonly cellEast: number;
  readonly cellNorth: number;
  readonly west: number;
  readonly northEnd: number;
}

export interface CellSize {
  readonly areaM2: number;
  /** Length of a cell in the direction the field runs over its width. */
  readonly lengthToWidth: number;
}

/**
 * Lays the grid along `angle`, its origin where the field's edge cuts it most kindly (`kindestShift`).
 *
 * @param staggered - True: every other lane along `angle` is shifted by half a cell.
 */
export function layGrid(
  outline: MultiPolygon,
  angle: number,
  size: CellSize,
  mergeBelow: number,
  staggered = false,
): GridLines {
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
  const box = {east, north, west, eastEnd, south, northEnd, cellEast, cellNorth};
  const shift = kindestShift(outline, box, mergeBelow, staggered ? (runsEast ? "rows" : "columns") : undefined);
  const eastings = (half: number): number[] =>
    linesBetween(west, eastEnd, west - (shift.west + half) * cellEast, cellEast);
  const northings = (half: number): number[] =>
    linesBetween(south, northEnd, northEnd + (shift.north + half) * cellNorth, -cellNorth).reverse();
  return {
    east,
    north,
    runsEast,
    eastings: eastings(0),
    northings: northings(0),
    ...(staggered && {between: runsEast ? eastings(0.5) : northings(0.5)}),
    cellEast,
    cellNorth,
    west,
    northEnd,
  };
}

/** Column and row of a point: how many lines lie west and north of it. */
export function cellOf(lines: GridLines, p: XY): {column: number; row: number} {
  const e = along(lines.east, p);
  const n = along(lines.north, p);
  const columnBy = (eastings: readonly number[]): number => eastings.filter((line) => line <= e).length;
  const rowBy = (northings: readonly number[]): number => northings.filter((line) => line > n).length;
  const {eastings, northings, between, runsEast} = lines;
  const [column, row] = [columnBy(eastings), rowBy(northings)];
  if (!between) return {column, row};
  return runsEast
    ? {column: row % 2 === 0 ? column : columnBy(between), row}
    : {column, row: column % 2 === 0 ? row : rowBy(between)};
}

/**
 * The place of a cell at shares of its sides, 0 to 1 from its west and from its north side. Cells at the field's edge
 * count in full. Not for staggered grids.
 */
export function placeInCell(lines: GridLines, column: number, row: number, eastShare: number, southShare: number): XY {
  const firstEasting = lines.eastings[0] ?? lines.west + lines.cellEast;
  const firstNorthing = lines.northings.at(-1) ?? lines.northEnd - lines.cellNorth;
  const e = firstEasting + (column - 1 + eastShare) * lines.cellEast;
  const n = firstNorthing - (row - 1 + southShare) * lines.cellNorth;
  return at(lines, e, n);
}

/** The lines as drawn across the field, a metre beyond it. */
export function drawLines(lines: GridLines, outline: MultiPolygon): XY[][] {
  const {eastings, northings, between, runsEast} = lines;
  const [west, east] = extent(outline, lines.east);
  const [south, north] = extent(outline, lines.north);
  const upright = (e: number, from: number, to: number): XY[] => [at(lines, e, from), at(lines, e, to)];
  const level = (n: number, from: number, to: number): XY[] => [at(lines, from, n), at(lines, to, n)];
  if (!between) {
    return [
      ...eastings.map((e) => upright(e, south - 1, north + 1)),
      ...northings.map((n) => level(n, west - 1, east + 1)),
    ];
  }
  // Lanes are whole; the lines across them reach from one side of a lane to the other and a hair beyond.
  const lanes = runsEast ? [north + 1, ...northings.toReversed(), south - 1] : [west - 1, ...eastings, east + 1];
  const across = lanes.slice(1).flatMap((to, lane) => {
    const from = lanes[lane] as number;
    const beyond = Math.sign(to - from) * HAIR_M;
    const cuts = lane % 2 === 1 ? between : runsEast ? eastings : northings;
    return cuts.map((cut) => (runsEast ? upright : level)(cut, from - beyond, to + beyond));
  });
  const whole = runsEast
    ? northings.map((n) => level(n, west - 1, east + 1))
    : eastings.map((e) => upright(e, south - 1, north + 1));
  return [...across, ...whole];
}

// --- inside ---------------------------------------------------------------------------------------------------

/** A line this near to the end of the field would cut off nothing but the error of the boundary. */
const NEAR_END_M = 0.3;
/** Far over rounding, far under anything on the ground. */
const HAIR_M = 0.001;

function at({east, north}: GridLines, e: number, n: number): XY {
  return {x: e * east.x + n * north.x, y: e * east.y + n * north.y};
}

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
