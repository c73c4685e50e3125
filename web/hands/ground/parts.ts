import type {MultiPolygon, Polygon, Position} from "geojson";

// A boundary in the making: parts, and ground cut out of them. Whether it will do as a field is for the server to say.

export type Parts = MultiPolygon["coordinates"];

export const multiPolygon = (coordinates: Parts): MultiPolygon => ({type: "MultiPolygon", coordinates});

/** One more part beside the others. */
export const withPart = (parts: Parts, {coordinates}: Polygon): Parts => [...parts, coordinates];

/** Ground cut out of the part it lies in; undefined where its first corner lies in none. */
export function withCutOut(parts: Parts, {coordinates}: Polygon): Parts | undefined {
  const ring = coordinates[0] ?? [];
  const home = parts.findIndex(([outer = []]) => ring.some((corner) => isInside(outer, corner)));
  return home < 0 ? undefined : parts.map((part, i) => (i === home ? [...part, ring] : part));
}

/** Without one ring: a part with all that is cut out of it, or one piece that is cut out. */
export function withoutRing(parts: Parts, part: number, ring: number): Parts {
  if (ring === 0) return parts.filter((_, i) => i !== part);
  return parts.map((rings, i) => (i === part ? rings.filter((_, k) => k !== ring) : rings));
}

/** "2 parts, 1 cut-out" */
export function sayParts(parts: Parts): string {
  const cutOuts = parts.reduce((sum, rings) => sum + rings.length - 1, 0);
  const count = (n: number, one: string): string => `${n} ${one}${n === 1 ? "" : "s"}`;
  return [count(parts.length, "part"), ...(cutOuts > 0 ? [count(cutOuts, "cut-out")] : [])].join(", ");
}

function isInside(ring: readonly Position[], [x = 0, y = 0]: Position): boolean {
  let inside = false;
  ring.forEach(([ax = 0, ay = 0], i) => {
    const [bx = 0, by = 0] = ring.at(i - 1) ?? [];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) inside = !inside;
  });
  return inside;
}
