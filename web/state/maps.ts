import {signal} from "@preact/signals";
import type {Strategy} from "../api/types.ts";
import type {FieldMap} from "../map/field-map.ts";

/** The maps on the page, once they have loaded: to draw on. */
export const openMaps = signal<ReadonlyMap<Strategy, FieldMap>>(new Map());

/** Puts a map among those that can be drawn on. Returns what takes it out again. */
export function openMap(strategy: Strategy, map: FieldMap): () => void {
  openMaps.value = new Map(openMaps.peek()).set(strategy, map);
  return () => {
    const rest = new Map(openMaps.peek());
    if (rest.get(strategy) === map) rest.delete(strategy);
    openMaps.value = rest;
  };
}
