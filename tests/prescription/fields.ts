import {frameAt} from "../../src/geo/frame.ts";
import {areaM2} from "../../src/geo/measure.ts";
import {dissolve, partition} from "../../src/geo/partition.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {type SquareMetres, squareMetres} from "../../src/units/quantity.ts";

/** One acre as a square, metres. */
export const ACRE_SIDE_M = Math.sqrt(SQUARE_METRES_PER_ACRE);
export const frame = frameAt(-86.4, 40.55);

export interface Unit {
  readonly id: string;
  readonly shape: MultiPolygon;
  readonly area: SquareMetres;
}

/**
 * Acre squares in rows from the south, as letters: each letter is a unit, a blank is outside the field.
 *
 * `strips("AAB")` is unit A with two acres to the west of unit B with one.
 */
export function strips(...rowsFromNorth: string[]): Unit[] {
  const rows = [...rowsFromNorth].reverse();
  const cols = Math.max(...rows.map((row) => row.length));
  const at = (n: number): number => n * ACRE_SIDE_M;
  const outline: MultiPolygon = [[ringOf(0, 0, at(cols), at(rows.length))]];
  const cuts: XY[][] = [];
  for (let col = 1; col < cols; col++)
    cuts.push([
      {x: at(col), y: -1},
      {x: at(col), y: at(rows.length) + 1},
    ]);
  for (let row = 1; row < rows.length; row++)
    cuts.push([
      {x: -1, y: at(row)},
      {x: at(cols) + 1, y: at(row)},
    ]);
  const division = partition(outline, cuts);
  const letters = division.inside.map(
    (p) => rows[Math.floor(p.y / ACRE_SIDE_M)]?.[Math.floor(p.x / ACRE_SIDE_M)] ?? " ",
  );
  const parts = dissolve(
    division,
    letters.map((letter) => letter.charCodeAt(0)),
  );
  return parts
    .filter((part) => part.label !== 32)
    .map(({label, shape}) => ({id: String.fromCharCode(label), shape, area: wholeAcres(shape)}));
}

/** Exactly so many acres, whatever a partition rounds its corners to. */
function wholeAcres(shape: MultiPolygon): SquareMetres {
  return squareMetres(Math.round(areaM2(shape) / SQUARE_METRES_PER_ACRE) * SQUARE_METRES_PER_ACRE);
}

export function ringOf(west: number, south: number, east: number, north: number): XY[] {
  return [
    {x: west, y: south},
    {x: east, y: south},
    {x: east, y: north},
    {x: west, y: north},
    {x: west, y: south},
  ];
}
