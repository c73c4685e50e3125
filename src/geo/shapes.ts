/**
 * Two kinds of coordinates that never share a type: degrees on the earth are tuples in GeoJSON order,
 * metres in a field's own frame are `{x, y}`.
 */

/** Longitude then latitude, WGS 84, degrees. */
export type LonLat = readonly [lon: number, lat: number];
/** Closed: the last position repeats the first. Outer rings counter-clockwise, holes clockwise (RFC 7946). */
export type LonLatRing = readonly LonLat[];
export type LonLatPolygon = readonly LonLatRing[];
export type LonLatMultiPolygon = readonly LonLatPolygon[];

/** Metres in a field's frame: x to the east, y to the north. */
export interface XY {
  readonly x: number;
  readonly y: number;
}
/** Closed: the last point repeats the first. Outer rings counter-clockwise, holes clockwise. */
export type Ring = readonly XY[];
/** Outer ring first, then holes. */
export type Polygon = readonly Ring[];
export type MultiPolygon = readonly Polygon[];

export interface Box {
  readonly west: number;
  readonly south: number;
  readonly east: number;
  readonly north: number;
}
