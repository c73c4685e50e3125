import {intersection, union} from "../geo/geos.ts";
import {clip} from "../geo/half-plane.ts";
import {areaM2, boxOf, polygonAreaM2, ringAreaM2} from "../geo/measure.ts";
import type {Box, Polygon, Ring, XY} from "../geo/shapes.ts";

export interface Overlap {
  /** Indices into the polygons given, the lower first. */
  readonly first: number;
  readonly second: number;
  readonly areaM2: number;
}

/**
 * Ground that lies in more than one polygon.
 *
 * Cells of a grid are convex, and what two convex shapes share is quickly cut out by the edges of one of them. Other
 * shapes are first united: most files are clean, and one union tells that nothing need be looked for.
 *
 * @param polygons - Valid, in one plane frame, metres.
 * @param leastM2 - Overlaps of less than this are rounding, not mistakes.
 * @returns Pairs in order of their indices.
 */
export function findOverlaps(polygons: readonly Polygon[], leastM2: number): Overlap[] {
  const convex = polygons.map(convexRing);
  const near = nearPairs(polygons, leastM2);
  const found: Overlap[] = [];
  const add = (first: number, second: number, shared: number): void => {
    if (shared >= leastM2) found.push({first, second, areaM2: shared});
  };
  const others: (readonly [number, number])[] = [];
  for (const pair of near) {
    const [a, b] = [convex[pair[0]], convex[pair[1]]];
    if (a && b) add(...pair, sharedByConvex(a, b));
    else others.push(pair);
  }
  const involved = [...new Set(others.flat())].map((i) => polygons[i] as Polygon);
  const summed = involved.reduce((sum, polygon) => sum + polygonAreaM2(polygon), 0);
  if (involved.length > 0 && summed - areaM2(union([involved])) >= leastM2) {
    for (const [i, j] of others) {
      add(i, j, areaM2(intersection([polygons[i] as Polygon], [polygons[j] as Polygon])));
    }
  }
  return found.sort((a, b) => a.first - b.first || a.second - b.second);
}

/** Pairs whose boxes share enough ground, found from west to east. */
function nearPairs(polygons: readonly Polygon[], leastM2: number): (readonly [number, number])[] {
  const boxes = polygons.map((polygon) => boxOf([polygon]));
  const boxAt = (i: number): Box => boxes[i] as Box;
  const fromWest = polygons.map((_, i) => i).sort((a, b) => boxAt(a).west - boxAt(b).west || a - b);
  const pairs: (readonly [number, number])[] = [];
  fromWest.forEach((i, at) => {
    const mine = boxAt(i);
    for (let next = at + 1; next < fromWest.length; next++) {
      const j = fromWest[next] as number;
      const other = boxAt(j);
      const wide = Math.min(mine.east, other.east) - other.west;
      if (wide <= 0) break;
      const high = Math.min(mine.north, other.north) - Math.max(mine.south, other.south);
      if (high > 0 && wide * high >= leastM2) pairs.push([Math.min(i, j), Math.max(i, j)]);
    }
  });
  return pairs;
}

/** The outer ring, counter-clockwise, of a polygon without holes whose corners all turn the same way. */
function convexRing(polygon: Polygon): Ring | undefined {
  const [ring, ...holes] = polygon;
  if (!ring || holes.length > 0) return undefined;
  const area = ringAreaM2(ring);
  const turning = area > 0 ? ring : [...ring].reverse();
  // Corners on a straight edge turn by rounding alone.
  const slack = 1e-9 * Math.abs(area);
  for (let i = 0; i + 1 < turning.length; i++) {
    const [a, b, c] = [turning[i], turning[i + 1], turning[i + 2] ?? turning[1]] as [XY, XY, XY];
    if ((b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x) < -slack) return undefined;
  }
  return turning;
}

function sharedByConvex(a: Ring, b: Ring): number {
  let shared: Ring[] = [a];
  for (let i = 0; i + 1 < b.length && shared.length > 0; i++) {
    const [from, to] = [b[i], b[i + 1]] as [XY, XY];
    const length = Math.hypot(to.x - from.x, to.y - from.y);
    if (length === 0) continue;
    const normal = {x: (to.y - from.y) / length, y: (from.x - to.x) / length};
    shared = clip(shared, {normal, offset: normal.x * from.x + normal.y * from.y}, 1);
  }
  return shared.reduce((sum, ring) => sum + Math.abs(ringAreaM2(ring)), 0);
}
