import {polygonAreaM2} from "../geo/measure.ts";
import type {MultiPolygon, Polygon} from "../geo/shapes.ts";
import {type SquareMetres, squareMetres} from "../units/quantity.ts";

/** One connected piece of a zone. */
export interface ZonePiece {
  /** Zone and number within it, as in `2.1`. */
  readonly id: string;
  readonly zone: number;
  readonly shape: Polygon;
  readonly area: SquareMetres;
}

/**
 * Zones as single polygons, for programs that take no shapes of several pieces.
 *
 * Together they are the coverage that the zones are. In order of zone, then from the largest piece to the smallest;
 * pieces of equal size keep the order they have in the zone.
 */
export function zonePieces(zones: readonly {readonly id: number; readonly shape: MultiPolygon}[]): ZonePiece[] {
  return zones.flatMap(({id, shape}) =>
    shape
      .map((polygon) => ({polygon, area: polygonAreaM2(polygon)}))
      .sort((a, b) => b.area - a.area)
      .map(({polygon, area}, i) => ({id: `${id}.${i + 1}`, zone: id, shape: polygon, area: squareMetres(area)})),
  );
}
