import {boxOf, contains, ringAreaM2} from "./measure.ts";
import type {Box, MultiPolygon, Ring, XY} from "./shapes.ts";

/** A directed line with its ground on the left, from node to node. */
export interface Edge {
  readonly from: number;
  readonly to: number;
  /** Ends included. Equal points are one object in all edges. */
  readonly points: readonly XY[];
}

interface Outer {
  readonly ring: Ring;
  readonly area: number;
  readonly box: Box;
  readonly holes: Ring[];
}

/** The shape that edges enclose: rings, the largest first, then holes into the outer ring that holds them. */
export function joinEdges(edges: readonly Edge[]): MultiPolygon {
  const leaving = new Map<number, Edge[]>();
  for (const edge of edges) {
    const list = leaving.get(edge.from);
    if (list) list.push(edge);
    else leaving.set(edge.from, [edge]);
  }
  const outers: Outer[] = [];
  const holes: Ring[] = [];
  const used = new Set<Edge>();
  for (const start of edges) {
    if (used.has(start)) continue;
    const path: Edge[] = [];
    let edge = start;
    for (;;) {
      used.add(edge);
      path.push(edge);
      if (edge.to === start.from) break;
      edge = nextEdge(edge, leaving.get(edge.to) ?? [], used);
    }
    for (const ring of splitAtTouches(path)) {
      const area = ringAreaM2(ring);
      if (area > 0) outers.push({ring, area, box: boxOf([[ring]]), holes: []});
      else holes.push(ring);
    }
  }
  outers.sort((a, b) => b.area - a.area);
  for (const hole of holes) {
    const [area, box] = [-ringAreaM2(hole), boxOf([[hole]])];
    // The smallest outer ring around it: an island's hole belongs to the island.
    const home = outers.findLast((outer) => outer.area > area && boxInside(box, outer.box) && ringInside(hole, outer));
    if (!home) throw new Error("a hole lies in no outer ring");
    home.holes.push(hole);
  }
  return outers.map((outer) => [outer.ring, ...outer.holes]);
}

/** At a point where pieces touch, the sharpest left turn keeps each piece to itself. */
function nextEdge(edge: Edge, candidates: readonly Edge[], used: ReadonlySet<Edge>): Edge {
  const [only] = candidates;
  if (only && candidates.length === 1 && !used.has(only)) return only;
  let best: Edge | undefined;
  let bestTurn = -Infinity;
  const heading = headingOf(edge.points.at(-2) as XY, edge.points.at(-1) as XY);
  for (const candidate of candidates) {
    if (used.has(candidate)) continue;
    let turn = headingOf(candidate.points[0] as XY, candidate.points[1] as XY) - heading;
    while (turn <= -Math.PI) turn += 2 * Math.PI;
    while (turn > Math.PI) turn -= 2 * Math.PI;
    if (turn > bestTurn) {
      bestTurn = turn;
      best = candidate;
    }
  }
  if (!best) throw new Error("an open ring in a partition");
  return best;
}

function headingOf(a: XY, b: XY): number {
  return Math.atan2(b.y - a.y, b.x - a.x);
}

/** Cuts a path that visits a node twice into simple rings. */
function splitAtTouches(path: readonly Edge[]): Ring[] {
  const rings: Ring[] = [];
  const open: Edge[] = [];
  const seen = new Map<number, number>();
  for (const edge of path) {
    seen.set(edge.from, open.length);
    open.push(edge);
    const at = seen.get(edge.to);
    if (at === undefined) continue;
    const loop = open.splice(at);
    for (const {from} of loop) seen.delete(from);
    const ring = ringOf(loop);
    if (ring.length > 3) rings.push(ring);
  }
  return rings;
}

/** The points of edges run one after the other, the first repeated at the end. */
export function ringOf(edges: readonly Pick<Edge, "points">[]): Ring {
  const ring: XY[] = [];
  for (const {points} of edges) for (let i = 0; i + 1 < points.length; i++) ring.push(points[i] as XY);
  ring.push(ring[0] as XY);
  return ring;
}

function boxInside(inner: Box, outer: Box): boolean {
  return (
    inner.west >= outer.west && inner.east <= outer.east && inner.south >= outer.south && inner.north <= outer.north
  );
}

/** A ring is inside another when a point of it that is not one of the other's vertices is. */
function ringInside(ring: Ring, {ring: outer}: Outer): boolean {
  for (let i = 0; i + 1 < ring.length; i++) {
    const a = ring[i] as XY;
    const b = ring[i + 1] as XY;
    if (!outer.includes(a)) return contains([[outer]], a.x, a.y);
    if (outer.includes(b) && contains([[outer]], (a.x + b.x) / 2, (a.y + b.y) / 2)) return true;
  }
  return false;
}
