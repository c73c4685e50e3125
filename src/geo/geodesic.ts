import geographic from "geographiclib-geodesic";
import type {LonLat, LonLatMultiPolygon, LonLatRing} from "./shapes.ts";

// The package is CommonJS without names that Node can see, so it is taken whole.
const {Geodesic} = geographic;

/**
 * Area of a shape on the WGS 84 ellipsoid, square metres: the reference every acre figure ties out to.
 *
 * Source: Karney (2013), Algorithms for geodesics, J. Geodesy 87, 43-55, through GeographicLib.
 */
export function geodesicAreaM2(shape: LonLatMultiPolygon): number {
  let area = 0;
  for (const polygon of shape) {
    polygon.forEach((ring, index) => {
      const ringArea = Math.abs(ringAreaM2(ring));
      area += index === 0 ? ringArea : -ringArea;
    });
  }
  return area;
}

function ringAreaM2(ring: LonLatRing): number {
  const polygon = Geodesic.WGS84.Polygon(false);
  for (const [lon, lat] of ring.slice(0, -1)) polygon.AddPoint(lat, lon);
  return polygon.Compute(false, true).area ?? Number.NaN;
}

/** Geodesic distance, metres. */
export function geodesicDistanceM(a: LonLat, b: LonLat): number {
  return Geodesic.WGS84.Inverse(a[1], a[0], b[1], b[0]).s12 ?? Number.NaN;
}
