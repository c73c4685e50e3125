import {facesBetween, pointOnSurface} from "./geos.ts";
import {boxOf, contains, ringAreaM2} from "./measure.ts";
import {edgeNumber, PointNumbers} from "./point-numbers.ts";
import type {Box, MultiPolygon, Polygon, Ring, XY} from "./shapes.ts";

/** One labelled part of a partition: valid, possibly in several pieces. */
export interface Part {
  readonly label: number;
  readonly shape: MultiPolygon;
}

/**
 * A shape divided by lines into labelled faces that share their edges exactly.
 *
 * Faces keep every vertex that a neighbour has on a common edge, so whatever the labels, `dissolve` yields a
 * valid coverage: no gap, no overlap, outer edges on the outline. Zones, grid cells and strata are all made here.
 */
export interface Partition {
  readonly faces: readonly Polygon[];
  /** A point inside each face, for looking up what the face is. */
  readonly inside: readonly XY[];
}

/** Divides an outline (holes stay outside) by cut lines; cuts may cross, overlap or run past the outline. */
export function partition(outline: MultiPolygon, cuts: readonly (readonly XY[])[]): Partition {
  const faces: Polygon[] = [];
  const inside: XY[] = [];
  for (const face of facesBetween([...outline.flat(), ...cuts])) {
    const point = pointOnSurface(face);
    if (!contains(outline, point.x, point.y)) continue;
    faces.push(face);
    inside.push(point);
  }
  return {faces, inside};
}

/**
 * Joins the faces that carry the same label. Parts come in rising order of label, their pieces by size.
 *
 * An edge disappears only where both of its sides carry one label, so neighbours stay matched vertex by vertex.
 */
export function dissolve(division: Partition, labels: ArrayLike<number>): Part[] {
  const numbers = new PointNumbers();
  const edgesByLabel = new Map<number, Map<number, Edge>>();
  division.faces.forEach((face, i) => {
    const label = labels[i] as number;
    let edges = edgesByLabel.get(label);
    if (!edges) {
      edges = new Map();
      edgesByLabel.set(label, edges);
    }
    for (const ring of face) {
      let from = numbers.of(ring[0] as XY);
      for (let k = 1; k < ring.length; k++) {
        const to = numbers.of(ring[k] as XY);
        // Faces have their inside on the left, so a shared edge is run once in each direction.
        if (!edges.delete(edgeNumber(to, from))) edges.set(edgeNumber(from, to), {from, to});
        from = to;
      }
    }
  });
  return [...edgesByLabel.entries()]
    .sort(([a], [b]) => a - b)
    .map(([label, edges]) => ({label, shape: assemble([...edges.values()], numbers.points)}));
}

/** Ends by number. */
interface Edge {
  readonly from: number;
  readonly to: number;
}

interface Outer {
  readonly ring: Ring;
  readonly area: number;
  readonly box: Box;
  readonly corners: ReadonlySet<XY>;
  readonly holes: Ring[];
}

/** Rings from directed edges (inside on the left), then holes into the outer ring that holds them. */
function assemble(edges: readonly Edge[], points: readonly XY[]): MultiPolygon {
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
    const path: number[] = [start.from];
    let edge = start;
    for (;;) {
      used.add(edge);
      path.push(edge.to);
      if (edge.to === start.from) break;
      edge = nextEdge(edge, leaving.get(edge.to) ?? [], used, points);
    }
    for (const simple of splitAtTouches(path)) {
      const ring = simple.map((number) => points[number] as XY);
      const area = ringAreaM2(ring);
      if (area > 0) outers.push({ring, area, box: boxOf([[ring]]), corners: new Set(ring), holes: []});
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
function nextEdge(edge: Edge, candidates: readonly Edge[], used: ReadonlySet<Edge>, points: readonly XY[]): Edge {
  const [only] = candidates;
  if (only && candidates.length === 1 && !used.has(only)) return only;
  let best: Edge | undefined;
  let bestTurn = -Infinity;
  const heading = headingOf(edge, points);
  for (const candidate of candidates) {
    if (used.has(candidate)) continue;
    let turn = headingOf(candidate, points) - heading;
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

function headingOf({from, to}: Edge, points: readonly XY[]): number {
  const [a, b] = [points[from] as XY, points[to] as XY];
  return Math.atan2(b.y - a.y, b.x - a.x);
}

/** Cuts a path that visits a point twice into simple rings. */
function splitAtTouches(path: readonly number[]): number[][] {
  const rings: number[][] = [];
  const open: number[] = [];
  const seen = new Map<number, number>();
  for (const number of path) {
    const at = seen.get(number);
    if (at !== undefined) {
      const loop = open.splice(at);
      for (const other of loop) seen.delete(other);
      if (loop.length >= 3) rings.push([...loop, loop[0] as number]);
    }
    seen.set(number, open.length);
    open.push(number);
  }
  return rings;
}

function boxInside(inner: Box, outer: Box): boolean {
  return (
    inner.west >= outer.west && inner.east <= outer.east && inner.south >= outer.south && inner.north <= outer.north
  );
}

/** A ring is inside another when a point of it that is not one of the other's vertices is. */
function ringInside(ring: Ring, {ring: outer, corners}: Outer): boolean {
  for (let i = 0; i + 1 < ring.length; i++) {
    const a = ring[i] as XY;
    const b = ring[i + 1] as XY;
    if (!corners.has(a)) return contains([[outer]], a.x, a.y);
    if (corners.has(b) && contains([[outer]], (a.x + b.x) / 2, (a.y + b.y) / 2)) return true;
  }
  return false;
}
