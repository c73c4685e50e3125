import {distanceM} from "./measure.ts";
import type {Partition} from "./partition.ts";
import {edgeNumber, PointNumbers} from "./point-numbers.ts";
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
  const numbers = new PointNumbers();
  const owner = new Map<number, number>();
  const borders = faces.map(() => new Map<number, number>());
  faces.forEach((face, i) => {
    for (const ring of face) {
      let from = numbers.of(ring[0] as XY);
      for (let k = 1; k < ring.length; k++) {
        const to = numbers.of(ring[k] as XY);
        const twin = owner.get(edgeNumber(to, from));
        if (twin === undefined) {
          owner.set(edgeNumber(from, to), i);
        } else if (twin !== i) {
          const length = distanceM(ring[k - 1] as XY, ring[k] as XY);
          borders[i]?.set(twin, (borders[i]?.get(twin) ?? 0) + length);
          borders[twin]?.set(i, (borders[twin]?.get(i) ?? 0) + length);
        }
        from = to;
      }
    }
  });
  return borders;
}
