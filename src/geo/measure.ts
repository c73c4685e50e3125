import type {Box, MultiPolygon, Polygon, Ring, XY} from "./shapes.ts";

/**
 * Twice-signed shoelace halved: positive for counter-clockwise rings. Square metres.
 *
 * Taken about the first vertex, so that a small ring far from the origin loses no digits.
 */
export function ringAreaM2(ring: Ring): number {
  const origin = ring[0];
  if (!origin) return 0;
  let twice = 0;
  for (let i = 0; i + 1 < ring.length; i++) {
    const a = ring[i] as XY;
    const b = ring[i + 1] as XY;
    twice += (a.x - origin.x) * (b.y - origin.y) - (b.x - origin.x) * (a.y - origin.y);
  }
  return twice / 2;
}

/** Area of the outer ring less its holes, whatever their winding. */
export function polygonAreaM2(polygon: Polygon): number {
  return polygon.reduce((sum, ring, i) => sum + (i === 0 ? 1 : -1) * Math.abs(ringAreaM2(ring)), 0);
}

export function areaM2(shape: MultiPolygon): number {
  return shape.reduce((sum, polygon) => sum + polygonAreaM2(polygon), 0);
}

/** Length of all rings, holes included, metres. */
export function perimeterM(shape: MultiPolygon): number {
  let total = 0;
  for (const ring of shape.flat()) {
    for (let i = 0; i + 1 < ring.length; i++) total += distanceM(ring[i] as XY, ring[i + 1] as XY);
  }
  return total;
}

export function distanceM(a: XY, b: XY): number {
  return Math.hypot(a.x - b.x, a.y - b.y);
}

/** Centre of mass of the outer rings less holes; may lie outside a crescent. */
export function centroid(shape: MultiPolygon): XY {
  let sumX = 0;
  let sumY = 0;
  let sumA = 0;
  const origin = shape[0]?.[0]?.[0] ?? {x: 0, y: 0};
  for (const polygon of shape) {
    polygon.forEach((ring, index) => {
      const sign = index === 0 ? 1 : -1;
      const winding = ringAreaM2(ring) < 0 ? -1 : 1;
      for (let i = 0; i + 1 < ring.length; i++) {
        const a = ring[i] as XY;
        const b = ring[i + 1] as XY;
        const cross = (a.x - origin.x) * (b.y - origin.y) - (b.x - origin.x) * (a.y - origin.y);
        const w = sign * winding * cross;
        sumA += w;
        sumX += w * (a.x + b.x - 2 * origin.x);
        sumY += w * (a.y + b.y - 2 * origin.y);
      }
    });
  }
  if (sumA === 0) return origin;
  return {x: origin.x + sumX / (3 * sumA), y: origin.y + sumY / (3 * sumA)};
}

export function boxOf(shape: MultiPolygon): Box {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (const polygon of shape) {
    for (const p of polygon[0] ?? []) {
      west = Math.min(west, p.x);
      east = Math.max(east, p.x);
      south = Math.min(south, p.y);
      north = Math.max(north, p.y);
    }
  }
  return {west, south, east, north};
}

/** Even-odd test over all rings of all parts. Points exactly on an edge may fall either way. */
export function contains(shape: MultiPolygon, x: number, y: number): boolean {
  let inside = false;
  for (const polygon of shape) {
    for (const ring of polygon) {
      for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
        const a = ring[i] as XY;
        const b = ring[j] as XY;
        if (a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) inside = !inside;
      }
    }
  }
  return inside;
}

/** Shortest distance from a point to any edge of a shape, metres. */
export function distanceToEdgeM(shape: MultiPolygon, p: XY): number {
  let best = Infinity;
  for (const polygon of shape) {
    for (const ring of polygon) {
      for (let i = 0; i + 1 < ring.length; i++) {
        best = Math.min(best, distanceToSegmentM(p, ring[i] as XY, ring[i + 1] as XY));
      }
    }
  }
  return best;
}

function distanceToSegmentM(p: XY, a: XY, b: XY): number {
  const dx = b.x - a.x;
  const dy = b.y - a.y;
  const length2 = dx * dx + dy * dy;
  const t = length2 === 0 ? 0 : Math.max(0, Math.min(1, ((p.x - a.x) * dx + (p.y - a.y) * dy) / length2));
  return Math.hypot(p.x - a.x - t * dx, p.y - a.y - t * dy);
}
