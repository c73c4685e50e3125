import type {XY} from "./shapes.ts";
import {isRing} from "./simplify-line.ts";

/**
 * A line with its corners cut: each corner becomes two points, a quarter along the sides that meet there. Ends stay;
 * a ring (first point repeated) has no ends.
 *
 * The result stays within the triangles of consecutive points, so it may come near another line only where the
 * corner did.
 *
 * @param passes - 0 returns a copy. Every pass doubles the points.
 *
 * Source: Chaikin (1974), An algorithm for high-speed curve generation, Comput. Graph. Image Process. 3:346-349.
 */
export function smoothLine(points: readonly XY[], passes: number): XY[] {
  const closed = isRing(points);
  let xs: Float64Array = new Float64Array(points.length);
  let ys: Float64Array = new Float64Array(points.length);
  for (let i = 0; i < points.length; i++) {
    xs[i] = (points[i] as XY).x;
    ys[i] = (points[i] as XY).y;
  }
  for (let pass = 0; pass < passes && xs.length > 2; pass++) {
    xs = cutCorners(xs, closed);
    ys = cutCorners(ys, closed);
  }
  const line: XY[] = [];
  for (let i = 0; i < xs.length; i++) line.push({x: xs[i] as number, y: ys[i] as number});
  return line;
}

/** One coordinate of a line with its corners cut. */
function cutCorners(line: Float64Array, closed: boolean): Float64Array {
  const sides = line.length - 1;
  const next = new Float64Array(closed ? 2 * sides + 1 : 2 * sides);
  let at = 0;
  if (!closed) next[at++] = line[0] as number;
  for (let i = 0; i < sides; i++) {
    const a = line[i] as number;
    const b = line[i + 1] as number;
    if (closed || i > 0) next[at++] = a + 0.25 * (b - a);
    if (closed || i + 1 < sides) next[at++] = a + 0.75 * (b - a);
  }
  next[at] = (closed ? next[0] : line[sides]) as number;
  return next;
}
