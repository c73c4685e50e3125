import type {Feature, FeatureSet, Geometry} from "../geo/features.ts";
import type {LonLat, LonLatPolygon, LonLatRing} from "../geo/shapes.ts";
import {wind} from "./rings.ts";
import {settledText, settlePolygon} from "./settle.ts";
import {encodeUtf8} from "./text.ts";

/**
 * A GeoJSON feature collection (RFC 7946): longitude and latitude with nine decimals at most, outer rings
 * counter-clockwise, one feature on each line so that two versions compare line by line. Same input, same bytes.
 *
 * @param members - Foreign members for the collection, such as `{loamwright: {...}}` with the units of the columns;
 *   other programs pass over them (RFC 7946, 6.1).
 *
 * Properties that are NaN are written as null. Features without an id get none.
 */
export function writeGeoJson(set: FeatureSet, members: Readonly<Record<string, unknown>> = {}): Uint8Array {
  const reserved = Object.keys(members).find((key) => ["type", "features", "crs", "bbox", "name"].includes(key));
  if (reserved) throw new Error(`"${reserved}" is not a foreign member of a feature collection`);
  const head = Object.entries({type: "FeatureCollection", name: set.name, ...members})
    .map(([key, value]) => `${JSON.stringify(key)}: ${JSON.stringify(value)},\n`)
    .join("");
  const features = set.features.map((feature, i) => featureText(feature, `Feature ${i + 1} of ${set.name}`));
  return encodeUtf8(`{\n${head}"features": [\n${features.join(",\n")}${features.length > 0 ? "\n" : ""}]\n}\n`);
}

function featureText(feature: Feature, what: string): string {
  const id = feature.id === undefined ? "" : `"id":${JSON.stringify(feature.id)},`;
  const properties = JSON.stringify(feature.properties, (_key, value: unknown) => {
    if (value === Infinity || value === -Infinity) throw new Error(`${what} has an infinite property`);
    return value; // JSON.stringify itself turns NaN into null
  });
  return `{"type":"Feature",${id}"properties":${properties},"geometry":${geometryText(feature.geometry, what)}}`;
}

function geometryText(geometry: Geometry, what: string): string {
  const polygon = (rings: LonLatPolygon): string => list(wind(settlePolygon(rings, what), "counter-clockwise"), line);
  return `{"type":"${geometry.type}","coordinates":${coordinatesText(geometry, polygon)}}`;
}

function coordinatesText(geometry: Geometry, polygon: (rings: LonLatPolygon) => string): string {
  switch (geometry.type) {
    case "Point":
      return positionText(geometry.coordinates);
    case "MultiPoint":
    case "LineString":
      return line(geometry.coordinates);
    case "MultiLineString":
      return list(geometry.coordinates, line);
    case "Polygon":
      return polygon(geometry.coordinates);
    case "MultiPolygon":
      return list(geometry.coordinates, polygon);
  }
}

function positionText([lon, lat]: LonLat): string {
  return `[${settledText(lon)},${settledText(lat)}]`;
}

function line(ring: LonLatRing): string {
  return list(ring, positionText);
}

function list<T>(members: readonly T[], text: (member: T) => string): string {
  return `[${members.map(text).join(",")}]`;
}
