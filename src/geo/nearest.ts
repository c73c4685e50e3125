import {contains, distanceM} from "./measure.ts";
import type {MultiPolygon, Ring, XY} from "./shapes.ts";

/** The point of a shape nearest to `p`: `p` itself when it is inside, else a point on an edge. */
export function nearestPointIn(shape: MultiPolygon, p: XY): XY {
  return contains(shape, p.x, p.y) ? p : nearestOnRings(shape.flat(), p);
}

/** The point of some rings or lines nearest to `p`; of equally near ones the first. */
export function nearestOnRings(rings: readonly Ring[], p: XY): XY {
  let best = p;
  let least = Infinity;
  for (const ring of rings) {
    for (let i = 0; i + 1 < ring.length; i++) {
      const q = nearestOnSegment(p, ring[i] as XY, ring[i + 1] as XY);
      const distance = distanceM(p, q);
      if (distance < least) {
        least = distance;
        best = q;
      }
    }
  }
  return best;
}

/** The point of a straight piece nearest to `p`. */
export function nearestOnSegment(p: XY, a: XY, b: XY): XY {
  const dx = b.x - a.x;
  const dy = b.y - a.y;
  const length2 = dx * dx + dy * dy;
  const t = length2 === 0 ? 0 : Math.max(0, Math.min(1, ((p.x - a.x) * dx + (p.y - a.y) * dy) / length2));
  return {x: a.x + t * dx, y: a.y + t * dy};
}
