import type {LonLatMultiPolygon} from "../geo/shapes.ts";

/** Why a shape cannot even be measured, in a few words; undefined when it can. Crossing lines are not looked for. */
export function unreadableReason(shape: LonLatMultiPolygon): string | undefined {
  if (shape.length === 0 || shape.some((polygon) => polygon.length === 0)) return "no outline";
  for (const ring of shape.flat()) {
    if (!ring.every(([lon, lat]) => Number.isFinite(lon) && Number.isFinite(lat))) return "a position is not a number";
    if (!ring.every(([lon, lat]) => Math.abs(lon) <= 180 && Math.abs(lat) <= 90)) return "a position is not in degrees";
    const [first, last] = [ring[0], ring.at(-1)];
    if (!first || !last || first[0] !== last[0] || first[1] !== last[1]) return "an open ring";
    if (ring.length < 4) return "a ring of fewer than three corners";
  }
  return undefined;
}
