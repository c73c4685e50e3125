import {distanceM} from "./measure.ts";
import {nearestOnSegment} from "./nearest.ts";
import type {MultiPolygon, XY} from "./shapes.ts";

/**
 * Lines that run through a corner or along an edge of a shape where they would pass it closely.
 *
 * Cutting the shape by them then leaves no slot or needle narrower than the tolerance between a line and the shape's
 * own border. Lines reduced to a point are left out; nothing moves by more than the tolerance.
 */
export function snapLines(
  lines: readonly (readonly XY[])[],
  outline: MultiPolygon,
  toleranceM: number,
): (readonly XY[])[] {
  const edges = outline.flat().flatMap((ring) => ring.slice(1).map((b, i): Edge => edgeBetween(ring[i] as XY, b)));
  return lines
    .map((line) =>
      throughCorners(
        line.map((p) => snapped(p, edges, toleranceM)),
        edges,
        toleranceM,
      ),
    )
    .filter((line) => line.length > 1);
}

interface Edge {
  readonly a: XY;
  readonly b: XY;
  readonly west: number;
  readonly east: number;
  readonly south: number;
  readonly north: number;
}

function edgeBetween(a: XY, b: XY): Edge {
  return {
    a,
    b,
    west: Math.min(a.x, b.x),
    east: Math.max(a.x, b.x),
    south: Math.min(a.y, b.y),
    north: Math.max(a.y, b.y),
  };
}

/** The nearest corner within the tolerance, else the nearest point on an edge within it, else the point itself. */
function snapped(p: XY, edges: readonly Edge[], toleranceM: number): XY {
  let corner = p;
  let toCorner = toleranceM;
  let foot = p;
  let toFoot = toleranceM;
  for (const {a, b, west, east, south, north} of edges) {
    if (p.x < west - toleranceM || p.x > east + toleranceM) continue;
    if (p.y < south - toleranceM || p.y > north + toleranceM) continue;
    if (distanceM(p, a) < toCorner) {
      corner = a;
      toCorner = distanceM(p, a);
    }
    const q = nearestOnSegment(p, a, b);
    if (distanceM(p, q) < toFoot) {
      foot = q;
      toFoot = distanceM(p, q);
    }
  }
  return corner !== p ? corner : foot;
}

/** The line with every corner it passes within the tolerance as a vertex, in order; no vertex twice running. */
function throughCorners(line: readonly XY[], edges: readonly Edge[], toleranceM: number): XY[] {
  const out: XY[] = [];
  const add = (p: XY): void => {
    const last = out.at(-1);
    if (last?.x !== p.x || last.y !== p.y) out.push(p);
  };
  line.forEach((from, i) => {
    add(from);
    const to = line[i + 1];
    if (!to) return;
    const box = edgeBetween(from, to);
    edges
      .map(({a}) => a)
      .filter(
        ({x, y}) =>
          x > box.west - toleranceM &&
          x < box.east + toleranceM &&
          y > box.south - toleranceM &&
          y < box.north + toleranceM,
      )
      .filter((corner) => distanceM(corner, nearestOnSegment(corner, from, to)) < toleranceM)
      .sort((p, q) => distanceM(from, p) - distanceM(from, q))
      .forEach(add);
  });
  return out;
}
