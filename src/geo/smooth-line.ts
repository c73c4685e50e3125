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
  let line = [...points];
  const closed = isRing(points);
  for (let pass = 0; pass < passes && line.length > 2; pass++) {
    const next: XY[] = closed ? [] : [line[0] as XY];
    for (let i = 0; i + 1 < line.length; i++) {
      const [a, b] = [line[i] as XY, line[i + 1] as XY];
      if (closed || i > 0) next.push(between(a, b, 0.25));
      if (closed || i + 2 < line.length) next.push(between(a, b, 0.75));
    }
    next.push(closed ? (next[0] as XY) : (line.at(-1) as XY));
    line = next;
  }
  return line;
}

function between(a: XY, b: XY, share: number): XY {
  return {x: a.x + share * (b.x - a.x), y: a.y + share * (b.y - a.y)};
}
