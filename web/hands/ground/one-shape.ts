import type {Feature, Geometry, MultiLineString, MultiPoint, MultiPolygon} from "geojson";

/** What corners can be moved of. */
export type Shape = MultiPolygon | MultiLineString | MultiPoint;

/** Shapes of one kind as one shape; undefined where they are of several kinds, or none. */
export function inOne(features: readonly Feature[]): Shape | undefined {
  const all = features.map(({geometry}) => many(geometry));
  const polygons = all.flatMap((one) => (one?.type === "MultiPolygon" ? one.coordinates : []));
  const lines = all.flatMap((one) => (one?.type === "MultiLineString" ? one.coordinates : []));
  const points = all.flatMap((one) => (one?.type === "MultiPoint" ? one.coordinates : []));
  const kinds = [polygons, lines, points].filter((some) => some.length > 0);
  if (kinds.length !== 1) return undefined;
  if (polygons.length > 0) return {type: "MultiPolygon", coordinates: polygons};
  return lines.length > 0 ? {type: "MultiLineString", coordinates: lines} : {type: "MultiPoint", coordinates: points};
}

function many(geometry: Geometry): Shape | undefined {
  switch (geometry.type) {
    case "Polygon":
      return {type: "MultiPolygon", coordinates: [geometry.coordinates]};
    case "LineString":
      return {type: "MultiLineString", coordinates: [geometry.coordinates]};
    case "Point":
      return {type: "MultiPoint", coordinates: [geometry.coordinates]};
    case "GeometryCollection":
      return undefined;
    default:
      return geometry;
  }
}
