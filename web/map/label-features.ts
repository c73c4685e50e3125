import type {Feature, Geometry, Polygon} from "geojson";
import {labelPoint} from "./label-point.ts";
import {INK, inkOn, SHEET} from "./ramps.ts";

export interface Words {
  readonly text: string;
  /** Colour of the ground under the words. */
  readonly on: string;
  readonly ring?: string;
}

const points = new WeakMap<Geometry, {lon: number; lat: number; room: number}[]>();

/** A point to write at for each part of a shape that has room, the roomiest first. */
export function labelFeatures(geometry: Geometry, words: Words): Feature[] {
  return pointsOf(geometry).map(({lon, lat, room}) => ({
    type: "Feature",
    geometry: {type: "Point", coordinates: [lon, lat]},
    properties: {
      text: words.text,
      ink: words.ring === undefined ? inkOn(words.on) : inkOn(words.on),
      halo: inkOn(words.on) === INK ? `${SHEET}b0` : "rgba(18,60,94,0.35)",
      room,
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
