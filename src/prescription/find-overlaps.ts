import {intersection, union} from "../geo/geos.ts";
import {areaM2, boxOf, polygonAreaM2} from "../geo/measure.ts";
import type {Box, Polygon} from "../geo/shapes.ts";

export interface Overlap {
  /** Indices into the polygons given, the lower first. */
  readonly first: number;
  readonly second: number;
  readonly areaM2: number;
}

/**
 * Ground that lies in more than one polygon.
 *
 * @param polygons - Valid, in one plane frame, metres.
 * @param leastM2 - Overlaps of less than this are rounding, not mistakes.
 * @returns Pairs in order of their indices.
 */
export function findOverlaps(polygons: readonly Polygon[], leastM2: number): Overlap[] {
  // One union tells whether there is anything to look for; most files are clean.
  const summed = polygons.reduce((sum, polygon) => sum + polygonAreaM2(polygon), 0);
  if (summed - areaM2(union([polygons])) < leastM2) return [];
  const boxes = polygons.map((polygon) => boxOf([polygon]));
  const fromWest = polygons.map((_, i) => i).sort((a, b) => boxAt(boxes, a).west - boxAt(boxes, b).west || a - b);
  const found: Overlap[] = [];
  fromWest.forEach((i, at) => {
    const mine = boxAt(boxes, i);
    for (let next = at + 1; next < fromWest.length; next++) {
      const j = fromWest[next] as number;
      const other = boxAt(boxes, j);
      if (other.west >= mine.east) break;
      if (other.south >= mine.north || other.north <= mine.south) continue;
      const shared = areaM2(intersection([polygons[i] as Polygon], [polygons[j] as Polygon]));
      if (shared >= leastM2) found.push({first: Math.min(i, j), second: Math.max(i, j), areaM2: shared});
    }
  });
  return found.sort((a, b) => a.first - b.first || a.second - b.second);
}

const boxAt = (boxes: readonly Box[], i: number): Box => boxes[i] as Box;
