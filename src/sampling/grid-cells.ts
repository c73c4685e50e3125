import {contains} from "../geo/measure.ts";
import {mergeSmallFaces} from "../geo/merge-faces.ts";
import {dissolve, partition} from "../geo/partition.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {cellOf, drawLines, type GridLines} from "./grid-lines.ts";
import {PLAIN_LETTERS} from "./sample-id.ts";

export interface GridCell {
  /** Column letter and row number, as in `C4`; a second unit around the same cell is `C4b`. */
  readonly name: string;
  /** From 0, west to east. */
  readonly column: number;
  /** From 0, north to south. */
  readonly row: number;
  /** Which separate part of the field it lies in. */
  readonly part: number;
  readonly shape: MultiPolygon;
}

/**
 * Cuts a field along grid lines. Pieces under a least area join the neighbour with the longest shared border, smallest
 * first; a unit bears the name of its largest piece. A cell that a hole or the field's edge splits makes a piece on
 * each side. Small pieces without a neighbour stay.
 *
 * @returns The cells, in order of row, then column, and how many pieces were joined.
 */
export function cutCells(
  outline: MultiPolygon,
  lines: GridLines,
  leastAreaM2: number,
): {cells: GridCell[]; merged: number} {
  const division = partition(outline, drawLines(lines, outline));
  const {leader, merged} = mergeSmallFaces(division, leastAreaM2);
  const named = new Map<string, number>();
  const cells = dissolve(division, leader)
    .map(({label, shape}) => {
      const inside = division.inside[label] as XY;
      const part = outline.findIndex((polygon) => contains([polygon], inside.x, inside.y));
      return {...cellOf(lines, inside), part, shape};
    })
    .sort((a, b) => a.row - b.row || a.column - b.column)
    .map((cell) => {
      const place = columnLetters(cell.column) + String(cell.row + 1);
      const before = named.get(place) ?? 0;
      named.set(place, before + 1);
      return {...cell, name: place + (before > 0 ? String.fromCharCode(97 + before) : "")};
    });
  return {cells, merged};
}

/** A to Z without I and O, then AA, AB … */
export function columnLetters(column: number): string {
  const n = PLAIN_LETTERS.length;
  const last = PLAIN_LETTERS[column % n] as string;
  return column < n ? last : columnLetters(Math.floor(column / n) - 1) + last;
}
