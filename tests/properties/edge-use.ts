import {distanceToEdgeM} from "../../src/geo/measure.ts";
import type {MultiPolygon, Polygon, XY} from "../../src/geo/shapes.ts";

/**
 * What is wrong with polygons as a coverage, told without any geometry library: an edge inside is run once each way, an
 * edge on the outline once, and no edge twice the same way. Empty when all is well.
 *
 * @param outline - Where edges may be run once; left out, only doubled edges are told.
 */
export function edgeFaults(faces: readonly Polygon[], outline?: MultiPolygon, toleranceM = 1e-6): string[] {
  const edges = new Map<string, readonly [XY, XY]>();
  const faults: string[] = [];
  const name = (a: XY, b: XY): string => `${a.x},${a.y} to ${b.x},${b.y}`;
  for (const ring of faces.flat()) {
    for (let i = 0; i + 1 < ring.length; i++) {
      const [a, b] = [ring[i] as XY, ring[i + 1] as XY];
      if (a.x === b.x && a.y === b.y) continue;
      if (edges.has(name(a, b))) faults.push(`twice: ${name(a, b)}`);
      edges.set(name(a, b), [a, b]);
    }
  }
  if (!outline) return faults;
  for (const [key, [a, b]] of edges) {
    if (edges.has(name(b, a))) continue;
    const middle = {x: (a.x + b.x) / 2, y: (a.y + b.y) / 2};
    const away = Math.max(...[a, middle, b].map((p) => distanceToEdgeM(outline, p)));
    if (away > toleranceM) faults.push(`once, ${away} m inside: ${key}`);
  }
  return faults;
}
