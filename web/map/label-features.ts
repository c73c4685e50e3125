import type {Feature, Geometry, Polygon} from "geojson";
import {labelPoint} from "./label-point.ts";
import {inkOn} from "./ramps.ts";

export interface Words {
  readonly text: string;
  /** Colour of the ground under the words. */
  readonly on: string;
  readonly ring?: string;
  /** Pixels from the point to the nearest edge without which the words are left out; a ring may still stand. */
  readonly need?: number;
}

const points = new WeakMap<Geometry, {lon: number; lat: number; room: number}[]>();

/** A point to write at for each part of a shape that has room, the roomiest first. */
export function labelFeatures(geometry: Geometry, words: Words): Feature[] {
  return pointsOf(geometry).map(({lon, lat, room}) => ({
    type: "Feature",
    geometry: {type: "Point", coordinates: [lon, lat]},
    properties: {
      text: words.text,
      ink: inkOn(words.on),
      halo: words.on,
      room,
      ...(words.need !== undefined && {need: words.need}),
      ...(words.ring !== undefined && {ring: words.ring}),
    },
  }));
}

function pointsOf(geometry: Geometry) {
  const known = points.get(geometry);
  if (known) return known;
  const parts: Polygon["coordinates"][] =
    geometry.type === "Polygon" ? [geometry.coordinates] : geometry.type === "MultiPolygon" ? geometry.coordinates : [];
  const found = parts
    .map((rings) => labelPoint(rings))
    .filter((point) => point !== undefined)
    .sort((a, b) => b.room - a.room);
  points.set(geometry, found);
  return found;
}
