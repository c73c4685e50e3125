import {facesBetween, pointOnSurface} from "./geos.ts";
import {type Edge, joinEdges} from "./join-edges.ts";
import {contains} from "./measure.ts";
import {edgeNumber, PointNumbers} from "./point-numbers.ts";
import type {MultiPolygon, Polygon, XY} from "./shapes.ts";

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
        if (!edges.delete(edgeNumber(to, from))) {
          edges.set(edgeNumber(from, to), {from, to, points: [numbers.points[from] as XY, numbers.points[to] as XY]});
        }
        from = to;
      }
    }
  });
  return [...edgesByLabel.entries()]
    .sort(([a], [b]) => a - b)
    .map(([label, edges]) => ({label, shape: joinEdges([...edges.values()])}));
}
