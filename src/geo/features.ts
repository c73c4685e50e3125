import type {LonLat, LonLatMultiPolygon, LonLatPolygon} from "./shapes.ts";

export type Geometry =
  | {readonly type: "Point"; readonly coordinates: LonLat}
  | {readonly type: "MultiPoint"; readonly coordinates: readonly LonLat[]}
  | {readonly type: "LineString"; readonly coordinates: readonly LonLat[]}
  | {readonly type: "MultiLineString"; readonly coordinates: readonly (readonly LonLat[])[]}
  | {readonly type: "Polygon"; readonly coordinates: LonLatPolygon}
  | {readonly type: "MultiPolygon"; readonly coordinates: LonLatMultiPolygon};

export type Properties = Readonly<Record<string, string | number | boolean | null>>;

/** A shape on the earth (degrees, WGS 84, longitude first) with its attributes. */
export interface Feature<G extends Geometry = Geometry> {
  readonly geometry: G;
  readonly properties: Properties;
  readonly id?: string;
}

/** What a vector file holds, whatever its format and coordinate system were. */
export interface FeatureSet<G extends Geometry = Geometry> {
  readonly name: string;
  readonly features: readonly Feature<G>[];
}
