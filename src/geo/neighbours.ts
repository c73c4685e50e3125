import {distanceM} from "./measure.ts";
import type {Partition} from "./partition.ts";
import type {Polygon, XY} from "./shapes.ts";

/**
 * Length of border each pair of faces shares, metres: `borders[i].get(j)`.
 *
 * Exact, because faces of one partition share their vertices.
 */
export function sharedBorders(division: Partition): Map<number, number>[] {
  return bordersAmong(division.faces);
}

/** The same for polygons of a coverage: neighbours must share vertices, and outer rings run counter-clockwise. */
export function bordersAmong(faces: readonly Polygon[]): Map<number, number>[] {
  const owner = new Map<string, number>();
  const borders = faces.map(() => new Map<number, number>());
  faces.forEach((face, i) => {
    for (const ring of face) {
      for (let k = 0; k + 1 < ring.length; k++) {
        const a = ring[k] as XY;
        const b = ring[k + 1] as XY;
        const twin = owner.get(`${b.x},${b.y};${a.x},${a.y}`);
        if (twin === undefined) {
          owner.set(`${a.x},${a.y};${b.x},${b.y}`, i);
        } else if (twin !== i) {
          const length = distanceM(a, b);
          borders[i]?.set(twin, (borders[i]?.get(twin) ?? 0) + length);
          borders[twin]?.set(i, (borders[twin]?.get(i) ?? 0) + length);
        }
      }
    }
  });
  return borders;
}
