import type {Feature, FeatureSet} from "../../src/geo/features.ts";
import {multiPolygonToLonLat, toLonLat} from "../../src/geo/frame.ts";
import type {SampleField} from "./farm.ts";

/** The boundary as one feature. */
export function boundary(field: SampleField): FeatureSet {
  const coordinates = multiPolygonToLonLat(field.frame, field.outline)[0] ?? [];
  const properties = {farm: "Sedgewater Farm", field: field.name};
  return {name: "boundary", features: [{geometry: {type: "Polygon", coordinates}, properties}]};
}

/** Gates, inlets and wells: what a sampler or a spreader has to know of. */
export function landmarks(field: SampleField): FeatureSet {
  const features = field.landmarks.map(({kind, note, at}) => ({
    geometry: {type: "Point" as const, coordinates: toLonLat(field.frame, {x: at[0], y: at[1]})},
    properties: {kind, note},
  }));
  return {name: "landmarks", features};
}

/** RFC 7946 text, one feature to a line, seven decimals of a degree (about 1 cm). */
export function geoJsonText(set: FeatureSet): string {
  const lines = set.features.map((feature: Feature) =>
    JSON.stringify({type: "Feature", properties: feature.properties, geometry: rounded(feature.geometry)}),
  );
  return `{"type": "FeatureCollection", "features": [\n${lines.join(",\n")}\n]}\n`;
}

const rounded = (value: unknown): unknown =>
  JSON.parse(JSON.stringify(value), (_, inner) => (typeof inner === "number" ? Math.round(inner * 1e7) / 1e7 : inner));
