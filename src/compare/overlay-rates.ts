import {intersection} from "../geo/geos.ts";
import {areaM2, boxOf} from "../geo/measure.ts";
import type {Box, MultiPolygon, Polygon} from "../geo/shapes.ts";

/** Two divisions of the same ground laid over each other: one common piece of one part of each. */
export interface OverlayPiece {
  /** Index of the part in the first and in the second division. */
  readonly first: number;
  readonly second: number;
  readonly shape: MultiPolygon;
  /** Shared out so that the pieces of a first part add up to its own area. */
  readonly areaM2: number;
}

/** Ground below this is rounding of coordinates along common borders. */
const LEAST_M2 = 0.05;

/**
 * Lays one set of polygons over another, exactly.
 *
 * @param first - With the area each is counted by, as measured on the earth.
 * @param second - Without overlap among themselves.
 * @returns In the order of the first, then of the second. Ground of a first part that no second part covers is in no
 *   piece; `uncovered` holds the share of it where it is more than a thousandth.
 */
export function overlay(
  first: readonly {readonly polygon: Polygon; readonly area: number}[],
  second: readonly MultiPolygon[],
): {pieces: OverlayPiece[]; uncovered: ReadonlyMap<number, number>} {
  const boxes = second.map(boxOf);
  const pieces: OverlayPiece[] = [];
  const uncovered = new Map<number, number>();
  first.forEach(({polygon, area}, i) => {
    const box = boxOf([polygon]);
    const planar = areaM2([polygon]);
    const found: OverlayPiece[] = [];
    let covered = 0;
    second.forEach((other, j) => {
      if (!meet(box, boxes[j] as Box)) return;
      const shape = intersection([polygon], other);
      const size = areaM2(shape);
      if (size < LEAST_M2) return;
      covered += size;
      found.push({first: i, second: j, shape, areaM2: size});
    });
    const share = covered / planar;
    if (share < 0.999) uncovered.set(i, 1 - share);
    const scale = (share < 0.999 ? planar : covered) || 1;
    for (const piece of found) pieces.push({...piece, areaM2: (piece.areaM2 * area) / scale});
  });
  return {pieces, uncovered};
}

function meet(a: Box, b: Box): boolean {
  return a.west < b.east && b.west < a.east && a.south < b.north && b.south < a.north;
}
