import type {LonLat, LonLatPolygon, LonLatRing} from "../geo/shapes.ts";

/** Twice the signed area in squared degrees: positive counter-clockwise. Taken about the first corner for precision. */
export function twiceArea(ring: LonLatRing): number {
  const origin = ring[0];
  if (!origin) return 0;
  let sum = 0;
  for (let i = 0; i + 1 < ring.length; i++) {
    const a = ring[i] as LonLat;
    const b = ring[i + 1] as LonLat;
    sum += (a[0] - origin[0]) * (b[1] - origin[1]) - (b[0] - origin[0]) * (a[1] - origin[1]);
  }
  return sum;
}

/** Outer ring counter-clockwise and holes clockwise (RFC 7946), or the other way round (shapefile). */
export function wind(polygon: LonLatPolygon, outer: "counter-clockwise" | "clockwise"): LonLatPolygon {
  return polygon.map((ring, i) => {
    const wantPositive = (i === 0) === (outer === "counter-clockwise");
    const area = twiceArea(ring);
    return area === 0 || area > 0 === wantPositive ? ring : [...ring].reverse();
  });
}
