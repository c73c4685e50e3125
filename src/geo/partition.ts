import {facesBetween, pointOnSurface} from "./geos.ts";
import {contains, ringAreaM2} from "./measure.ts";
import type {MultiPolygon, Polygon, Ring, XY} from "./shapes.ts";

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
  const edgesByLabel = new Map<number, Map<string, Edge>>();
  division.faces.forEach((face, i) => {
    const label = labels[i] as number;
    let edges = edgesByLabel.get(label);
    if (!edges) {
      edges = new Map();
      edgesByLabel.set(label, edges);
    }
    for (const ring of face) {
      for (let k = 0; k + 1 < ring.length; k++) {
        const from = ring[k] as XY;
        const to = ring[k + 1] as XY;
        // Faces have their inside on the left, so a shared edge is run once in each direction.
        if (!edges.delete(key(to, from))) edges.set(key(from, to), {from, to});
      }
    }
  });
  return [...edgesByLabel.entries()]
    .sort(([a], [b]) => a - b)
    .map(([label, edges]) => ({label, shape: assemble([...edges.values()])}));
}

interface Edge {
  readonly from: XY;
  readonly to: XY;
}

const pointKey = (p: XY): string => `${p.x},${p.y}`;
const key = (a: XY, b: XY): string => `${pointKey(a)};${pointKey(b)}`;

/** Rings from directed edges (inside on the left), then holes into the outer ring that holds them. */
function assemble(edges: readonly Edge[]): MultiPolygon {
  const leaving = new Map<string, Edge[]>();
  for (const edge of edges) {
    const at = pointKey(edge.from);
    const list = leaving.get(at);
    if (list) list.push(edge);
    else leaving.set(at, [edge]);
  }
  const outers: Ring[] = [];
  const holes: Ring[] = [];
  const used = new Set<Edge>();
  for (const start of edges) {
    if (used.has(start)) continue;
    const ring: XY[] = [start.from];
    let edge = start;
    for (;;) {
      used.add(edge);
      ring.push(edge.to);
      if (edge.to.x === start.from.x && edge.to.y === start.from.y) break;
      edge = nextEdge(edge, leaving.get(pointKey(edge.to)) ?? [], used);
    }
    for (const simple of splitAtTouches(ring)) (ringAreaM2(simple) > 0 ? outers : holes).push(simple);
  }
  const polygons = outers.map((outer) => ({outer, area: ringAreaM2(outer), holes: [] as Ring[]}));
  polygons.sort((a, b) => b.area - a.area);
  for (const hole of holes) {
    // The smallest outer ring around it: an island's hole belongs to the island.
    const home = polygons.findLast((p) => p.area > -ringAreaM2(hole) && ringInside(hole, p.outer));
    if (!home) throw new Error("a hole lies in no outer ring");
    home.holes.push(hole);
  }
  return polygons.map((p) => [p.outer, ...p.holes]);
}

/** At a point where pieces touch, the sharpest left turn keeps each piece to itself. */
function nextEdge(edge: Edge, candidates: readonly Edge[], used: ReadonlySet<Edge>): Edge {
  let best: Edge | undefined;
  let bestTurn = -Infinity;
  const heading = Math.atan2(edge.to.y - edge.from.y, edge.to.x - edge.from.x);
  for (const candidate of candidates) {
    if (used.has(candidate)) continue;
    let turn = Math.atan2(candidate.to.y - candidate.from.y, candidate.to.x - candidate.from.x) - heading;
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

/** Cuts a ring that visits a point twice into simple rings. */
function splitAtTouches(ring: readonly XY[]): Ring[] {
  const rings: Ring[] = [];
  const path: XY[] = [];
  const seen = new Map<string, number>();
  for (const p of ring) {
    const at = seen.get(pointKey(p));
    if (at !== undefined) {
      const loop = path.splice(at);
      for (const q of loop) seen.delete(pointKey(q));
      if (loop.length >= 3) rings.push([...loop, loop[0] as XY]);
    }
    seen.set(pointKey(p), path.length);
    path.push(p);
  }
  return rings;
}

/** A ring is inside another when a point of it that is not one of the other's vertices is. */
function ringInside(ring: Ring, outer: Ring): boolean {
  const corners = new Set(outer.map(pointKey));
  for (let i = 0; i + 1 < ring.length; i++) {
    const a = ring[i] as XY;
    const b = ring[i + 1] as XY;
    if (!corners.has(pointKey(a))) return contains([[outer]], a.x, a.y);
    const middle = {x: (a.x + b.x) / 2, y: (a.y + b.y) / 2};
    if (!corners.has(pointKey(b))) continue;
    if (contains([[outer]], middle.x, middle.y)) return true;
  }
  return false;
}
