import {signal} from "@preact/signals";
import type {FeatureCollection} from "geojson";
import {api, got} from "../api/client.ts";

/** Shapes of the result on show, by result and name; absent until they have come. */
export const shapes = signal<ReadonlyMap<string, FeatureCollection>>(new Map());

const asked = new Set<string>();

/** The shapes if they are here; otherwise asks for them, and the signal changes when they come. */
export function shapesOf(resultId: string, name: string): FeatureCollection | undefined {
  const key = `${resultId}/${name}`;
  const found = shapes.value.get(key);
  if (found || asked.has(key)) return found;
  asked.add(key);
  got(api.results[":id"].shapes[":name"].$get({param: {id: resultId, name}})).then(
    (collection) => {
      shapes.value = new Map(shapes.value).set(key, collection);
    },
    () => {
      shapes.value = new Map(shapes.value).set(key, {type: "FeatureCollection", features: []});
    },
  );
  return undefined;
}

export function forgetShapes(): void {
  asked.clear();
  shapes.value = new Map();
}
