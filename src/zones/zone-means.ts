import {type Feature, isClassLayer} from "./feature-matrix.ts";
import type {Zone} from "./zone-map.ts";

/**
 * What each layer is like in each zone: the mean of numeric layers, the share of each class of class layers.
 *
 * @param cells - Zone of each grid cell, 1 to `count`; 0 is outside.
 * @returns One entry per zone. A mean is NaN where the zone has no data of that layer; shares are of the cells with
 *   data and leave out classes that do not occur.
 */
export function zoneMeans(
  features: readonly Feature[],
  cells: Uint8Array,
  count: number,
): {means: Zone["means"]; classShares: NonNullable<Zone["classShares"]>}[] {
  return Array.from({length: count}, (_, i) => {
    const means: Record<string, number> = {};
    const classShares: Record<string, Record<string, number>> = {};
    for (const {layer} of features) {
      if (isClassLayer(layer)) classShares[layer.id] = sharesIn(layer.values, layer.classes, cells, i + 1);
      else means[layer.id] = meanIn(layer.values, cells, i + 1);
    }
    return {means, classShares};
  });
}

/** Mean of a layer over the cells of one zone, in the layer's unit. */
export function meanIn(values: Float64Array, cells: Uint8Array, zone: number): number {
  let sum = 0;
  let known = 0;
  for (let i = 0; i < values.length; i++) {
    if (cells[i] !== zone || Number.isNaN(values[i])) continue;
    sum += values[i] as number;
    known++;
  }
  return sum / known;
}

function sharesIn(
  values: Float64Array,
  classes: readonly string[],
  cells: Uint8Array,
  zone: number,
): Record<string, number> {
  const counts = new Float64Array(classes.length);
  let known = 0;
  for (let i = 0; i < values.length; i++) {
    const index = values[i] as number;
    if (cells[i] !== zone || Number.isNaN(index)) continue;
    counts[index] = (counts[index] as number) + 1;
    known++;
  }
  return Object.fromEntries(
    classes.flatMap((name, index) =>
      (counts[index] as number) > 0 ? [[name, (counts[index] as number) / known]] : [],
    ),
  );
}
