import {kinks, multiPolygon} from "@turf/turf";
import type {LonLat, LonLatMultiPolygon} from "./shapes.ts";

/**
 * Every place where the lines of a boundary cross one another, degrees, each once. GEOS names the first only; someone
 * who has to redraw a boundary wants them all.
 *
 * Load it when it is needed: the package takes a quarter of a second to start.
 */
export function crossingsOf(boundary: LonLatMultiPolygon): LonLat[] {
  const coordinates = boundary.map((polygon) => polygon.map((ring) => ring.map(([lon, lat]) => [lon, lat])));
  const found = kinks(multiPolygon(coordinates)).features.map(({geometry}) => geometry.coordinates as [number, number]);
  return [
    ...new Map(found.map(([lon, lat]) => [`${lon.toFixed(9)},${lat.toFixed(9)}`, [lon, lat] as LonLat])).values(),
  ];
}
