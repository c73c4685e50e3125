import {HAIR_M2} from "../geo/equal-parts.ts";
import {clip, type Line} from "../geo/half-plane.ts";
import {boxOf, distanceM} from "../geo/measure.ts";
import {mergeSmallFaces} from "../geo/merge-faces.ts";
import {dissolve, partition} from "../geo/partition.ts";
import type {MultiPolygon, Ring, XY} from "../geo/shapes.ts";

/**
 * The ground nearer to each point than to any other (Thiessen 1911, Monthly Weather Review 39: 1082–1084): together
 * exactly the outline, neighbours matched vertex by vertex.
 *
 * @param points - No two in one place.
 * @returns By index of the point; empty where a point has no ground in the outline.
 */
export function nearestGround(outline: MultiPolygon, points: readonly XY[]): MultiPolygon[] {
  const borders = points.flatMap((_, i) => bordersOf(outline, points, i));
  const division = partition(outline, borders);
  // Borders that meet in one point may leave faces thinner than a hair there: they go with a neighbour.
  const {leader} = mergeSmallFaces(division, HAIR_M2);
  const labels = leader.map((face) => nearestTo(points, division.inside[face] as XY));
  const parts = new Map(dissolve(division, labels).map(({label, shape}) => [label, shape]));
  return points.map((_, i) => parts.get(i) ?? []);
}

// --- inside ---------------------------------------------------------------------------------------------------

/** The sides of a point's ground that lie towards points of higher number, a little longer than needed to meet. */
function bordersOf(outline: MultiPolygon, points: readonly XY[], i: number): XY[][] {
  const {west, south, east, north} = boxOf(outline);
  const p = points[i] as XY;
  const reach = 2 * (east - west + north - south) + 1;
  let ground: readonly Ring[] = [
    [
      {x: Math.min(west, p.x) - reach, y: Math.min(south, p.y) - reach},
      {x: Math.max(east, p.x) + reach, y: Math.min(south, p.y) - reach},
      {x: Math.max(east, p.x) + reach, y: Math.max(north, p.y) + reach},
      {x: Math.min(west, p.x) - reach, y: Math.max(north, p.y) + reach},
      {x: Math.min(west, p.x) - reach, y: Math.min(south, p.y) - reach},
    ],
  ];
  const others = points
    .map((q, j) => ({j, q, distance: distanceM(p, q)}))
    .filter(({j}) => j !== i)
    .sort((a, b) => a.distance - b.distance || a.j - b.j);
  const sides: {j: number; line: Line}[] = [];
  for (const {j, q, distance} of others) {
    const farthest = Math.max(...(ground[0] ?? []).map((corner) => distanceM(p, corner)));
    if (distance > 2 * farthest) break;
    const normal = {x: (q.x - p.x) / distance, y: (q.y - p.y) / distance};
    const line = {normal, offset: (normal.x * (p.x + q.x) + normal.y * (p.y + q.y)) / 2};
    const left = clip(ground, line, 1);
    // Clipping that takes nothing away leaves the same corners.
    if (left[0]?.length !== ground[0]?.length || left[0]?.some((c, k) => distanceM(c, ground[0]?.[k] as XY) > 0)) {
      sides.push({j, line});
    }
    ground = left;
  }
  const ring = ground[0] ?? [];
  return ring.slice(1).flatMap((to, k) => {
    const from = ring[k] as XY;
    const length = distanceM(from, to);
    const side = sides.find(({line}) => isOn(line, from) && isOn(line, to));
    if (!side || side.j < i || length === 0) return [];
    const [dx, dy] = [((to.x - from.x) * BEYOND_M) / length, ((to.y - from.y) * BEYOND_M) / length];
    return [
      [
        {x: from.x - dx, y: from.y - dy},
        {x: to.x + dx, y: to.y + dy},
      ],
    ];
  });
}

/** Far over rounding, far under anything on the ground. */
const BEYOND_M = 0.001;
const ROUNDING_M = 1e-6;

function isOn({normal, offset}: Line, p: XY): boolean {
  return Math.abs(normal.x * p.x + normal.y * p.y - offset) < ROUNDING_M;
}

function nearestTo(points: readonly XY[], p: XY): number {
  let best = 0;
  points.forEach((q, i) => {
    if (distanceM(q, p) < distanceM(points[best] as XY, p)) best = i;
  });
  return best;
}
