import {polygonAreaM2} from "./measure.ts";
import type {MultiPolygon, Polygon, XY} from "./shapes.ts";

/** A rectangle at any angle. */
export interface OrientedBox {
  /** Direction of the long side, radians counter-clockwise from east, above −π/2 up to π/2. */
  readonly angle: number;
  readonly centre: XY;
  /** Long side, metres. */
  readonly length: number;
  /** Short side, metres. */
  readonly width: number;
}

/**
 * The rectangle of least area around a shape.
 *
 * One of its sides lies along a side of the convex hull (Freeman and Shapira 1975), so trying each hull side finds
 * it. Among equal rectangles the one nearest to north-up wins; of equal sides the one nearest to east is the long one.
 */
export function orientedBox(shape: MultiPolygon): OrientedBox {
  const hull = convexHull(shape.flat(2));
  let best: OrientedBox | undefined;
  hull.forEach((a, i) => {
    const b = hull[(i + 1) % hull.length] as XY;
    const box = boxAlong(hull, Math.atan2(b.y - a.y, b.x - a.x));
    if (!best || beats(box, best)) best = box;
  });
  if (!best) throw new Error("a shape without points has no box");
  return best;
}

/**
 * Direction a field runs in, radians counter-clockwise from east: the long side of the rectangle around its largest
 * part. A rectangle around parts that lie apart would follow the gap between them.
 */
export function runningAngle(shape: MultiPolygon): number {
  let largest: Polygon | undefined;
  for (const polygon of shape) {
    if (!largest || polygonAreaM2(polygon) > polygonAreaM2(largest)) largest = polygon;
  }
  return orientedBox(largest ? [largest] : []).angle;
}

/** Corners counter-clockwise, without points along the sides (Andrew's monotone chain, 1979). */
export function convexHull(points: readonly XY[]): XY[] {
  const sorted = [...points].sort((a, b) => a.x - b.x || a.y - b.y);
  return [...lowerChain(sorted), ...lowerChain(sorted.reverse())];
}

function lowerChain(sorted: readonly XY[]): XY[] {
  const chain: XY[] = [];
  for (const p of sorted) {
    while (chain.length > 1 && !turnsLeft(chain.at(-2) as XY, chain.at(-1) as XY, p)) chain.pop();
    chain.push(p);
  }
  chain.pop();
  return chain;
}

function turnsLeft(a: XY, b: XY, c: XY): boolean {
  return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x) > 0;
}

/** Sides along and across `angle`, which is first turned to within 45° of east. */
function boxAlong(points: readonly XY[], angle: number): OrientedBox {
  const level = angle - Math.round(angle / (Math.PI / 2)) * (Math.PI / 2);
  const cos = Math.cos(level);
  const sin = Math.sin(level);
  let [left, right, low, high] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const p of points) {
    const along = p.x * cos + p.y * sin;
    const across = p.y * cos - p.x * sin;
    left = Math.min(left, along);
    right = Math.max(right, along);
    low = Math.min(low, across);
    high = Math.max(high, across);
  }
  const u = (left + right) / 2;
  const v = (low + high) / 2;
  const centre = {x: u * cos - v * sin, y: u * sin + v * cos};
  const [wide, tall] = [right - left, high - low];
  return wide >= tall * (1 - SAME)
    ? {angle: level, centre, length: wide, width: tall}
    : {angle: level > 0 ? level - Math.PI / 2 : level + Math.PI / 2, centre, length: tall, width: wide};
}

/** Differences below this share are rounding. */
const SAME = 1e-9;

function beats(box: OrientedBox, best: OrientedBox): boolean {
  const [area, bestArea] = [box.length * box.width, best.length * best.width];
  if (Math.abs(area - bestArea) > SAME * bestArea) return area < bestArea;
  return tilt(box) < tilt(best) - SAME;
}

/** Angle away from the nearest compass direction. */
function tilt({angle}: OrientedBox): number {
  return Math.abs(angle - Math.round(angle / (Math.PI / 2)) * (Math.PI / 2));
}
