import type {Feature, Geometry, Polygon} from "geojson";
import {type LabelPoint, labelPoint} from "./label-point.ts";
import {inkOn} from "./ramps.ts";

export interface Words {
  readonly text: string;
  /** Colour of the ground under the words. */
  readonly on: string;
  /** A number in a ring before the words; where there is no room for both, the words stand alone. */
  readonly ring?: string;
}

/** How many times as wide as high a ring with its words is. */
const WIDE = 2.2;
/** Pixels: a ring with the gap after it, a figure of the words, and the half height a ring needs. */
const [RING_WIDTH, FIGURE_WIDTH, RING_HALF] = [24, 6.5, 8];

const points = {plain: new WeakMap<Geometry, LabelPoint[]>(), wide: new WeakMap<Geometry, LabelPoint[]>()};

/** A point to write at for each part of a shape that has room, the roomiest first. */
export function labelFeatures(geometry: Geometry, words: Words): Feature[] {
  const isPair = words.ring !== undefined && words.text !== "";
  return pointsOf(geometry, isPair).map(({lon, lat, room}) => ({
    type: "Feature",
    geometry: {type: "Point", coordinates: [lon, lat]},
    properties: {
      text: words.text,
      ink: inkOn(words.on),
      halo: words.on,
      room,
      ...(isPair && {pair: Math.max(RING_HALF, (RING_WIDTH + FIGURE_WIDTH * words.text.length) / 2 / WIDE)}),
      ...(words.ring !== undefined && {ring: words.ring}),
    },
  }));
}

function pointsOf(geometry: Geometry, isPair: boolean): LabelPoint[] {
  const among = isPair ? points.wide : points.plain;
  const known = among.get(geometry);
  if (known) return known;
  const parts: Polygon["coordinates"][] =
    geometry.type === "Polygon" ? [geometry.coordinates] : geometry.type === "MultiPolygon" ? geometry.coordinates : [];
  const found = parts
    .map((rings) => labelPoint(rings, isPair ? WIDE : 1))
    .filter((point) => point !== undefined)
    .sort((a, b) => b.room - a.room);
  among.set(geometry, found);
  return found;
}
