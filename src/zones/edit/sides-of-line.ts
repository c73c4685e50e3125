import {distanceM, polygonAreaM2} from "../../geo/measure.ts";
import {nearestOnSegment} from "../../geo/nearest.ts";
import type {Partition} from "../../geo/partition.ts";
import type {Ring, XY} from "../../geo/shapes.ts";

/**
 * Which faces of a zone lie on the smaller side of a line drawn through it.
 *
 * A face is on the left or right as most of its edges along the line have it; a face the line does not touch, such as
 * another piece of the zone, stays with the larger side.
 *
 * @param owner - Zone of each face.
 * @returns 1 for the faces of `zone` on the smaller side; none when the line leaves the zone whole.
 */
export function sidesOfLine(division: Partition, owner: Int32Array, zone: number, line: readonly XY[]): Uint8Array {
  const within = innerEdges(division, owner, zone);
  const leftward = division.faces.map((face, i) =>
    owner[i] === zone ? leftLength(face.flatMap(edgesOf), within, line) : 0,
  );
  const areaOn = (side: number): number =>
    division.faces.reduce(
      (sum, face, i) => sum + (Math.sign(leftward[i] as number) === side ? polygonAreaM2(face) : 0),
      0,
    );
  const smaller = areaOn(1) < areaOn(-1) ? 1 : -1;
  return Uint8Array.from(leftward, (length) => (length !== 0 && Math.sign(length) === smaller ? 1 : 0));
}

type Edge = readonly [from: XY, to: XY];

const edgesOf = (ring: Ring): Edge[] => ring.slice(1).map((to, i): Edge => [ring[i] as XY, to]);
const keyOf = (a: XY, b: XY): string => `${a.x},${a.y};${b.x},${b.y}`;

/** Edges that have the zone on both sides: only a drawn line makes such. */
function innerEdges({faces}: Partition, owner: Int32Array, zone: number): Set<string> {
  const all = new Set<string>();
  faces.forEach((face, i) => {
    if (owner[i] === zone) for (const [a, b] of face.flatMap(edgesOf)) all.add(keyOf(a, b));
  });
  const inner = new Set<string>();
  faces.forEach((face, i) => {
    if (owner[i] !== zone) return;
    for (const [a, b] of face.flatMap(edgesOf)) if (all.has(keyOf(b, a))) inner.add(keyOf(a, b));
  });
  return inner;
}

/** Length of a face's edges that run with the line (the face is on its left), less those that run against it. */
function leftLength(edges: readonly Edge[], inner: ReadonlySet<string>, line: readonly XY[]): number {
  let length = 0;
  for (const [a, b] of edges) {
    if (!inner.has(keyOf(a, b))) continue;
    const middle = {x: (a.x + b.x) / 2, y: (a.y + b.y) / 2};
    let nearest = Infinity;
    let along = 0;
    for (const [from, to] of edgesOf(line)) {
      const away = distanceM(middle, nearestOnSegment(middle, from, to));
      if (away >= nearest) continue;
      nearest = away;
      along = Math.sign((to.x - from.x) * (b.x - a.x) + (to.y - from.y) * (b.y - a.y));
    }
    length += along * distanceM(a, b);
  }
  return length;
}
