import {type Signal, signal} from "@preact/signals";
import type {FeatureCollection} from "geojson";
import {api, got} from "../api/client.ts";

/**
 * Shapes of the result on show, by result and name; a signal each, so that a map is drawn anew only when one of its own
 * has come.
 */
const shapes = new Map<string, Signal<FeatureCollection | undefined>>();

/** How many were asked for and have not come. */
export const shapesOnTheWay = signal(0);

/** The shapes if they are here; otherwise asks for them, and the signal read here changes when they come. */
export function shapesOf(resultId: string, name: string): FeatureCollection | undefined {
  const key = `${resultId}/${name}`;
  const known = shapes.get(key);
  if (known) return known.value;
  const found = signal<FeatureCollection | undefined>(undefined);
  shapes.set(key, found);
  shapesOnTheWay.value = shapesOnTheWay.peek() + 1;
  got(api.results[":id"].shapes[":name"].$get({param: {id: resultId, name}}))
    .then(
      (collection) => {
        found.value = collection;
      },
      () => {
        found.value = {type: "FeatureCollection", features: []};
      },
    )
    .finally(() => {
      shapesOnTheWay.value = shapesOnTheWay.peek() - 1;
    });
  return found.value;
}

export function forgetShapes(): void {
  shapes.clear();
}
