import {sameGrid} from "../grid/grid.ts";
import type {Layer, LayerUnit} from "../grid/layer.ts";

/** One log of a season on the grid, and how many of its records each cell has. */
export interface SeasonPart<U extends LayerUnit = LayerUnit> {
  readonly layer: Layer<U>;
  readonly records: ArrayLike<number>;
}

/**
 * Several logs of one season as one layer: what one machine or one day left out, another has. Where both have a cell,
 * it is their mean by records; cells filled from neighbours alone count only where no log has a record.
 *
 * Levels are not touched: machines that read differently leave a seam.
 *
 * @param parts - On one grid, in one unit. The first names the layer.
 */
export function mergeSeason<U extends LayerUnit>(parts: readonly SeasonPart<U>[]): SeasonPart<U> {
  const [first] = parts;
  if (!first) throw new Error("mergeSeason needs at least one log");
  if (parts.length === 1) return first;
  const {grid, unit} = first.layer;
  const fits = parts.every(({layer}) => sameGrid(layer.grid, grid) && layer.unit === unit);
  if (!fits) throw new Error("logs of one season are on different grids or in different units");
  const records = new Uint32Array(first.layer.values.length);
  const values = first.layer.values.map((_, i) => {
    let known = 0;
    let sum = 0;
    let filled = 0;
    let filledSum = 0;
    for (const part of parts) {
      const value = part.layer.values[i] as number;
      if (Number.isNaN(value)) continue;
      const count = part.records[i] as number;
      known += count;
      sum += count * value;
      filled++;
      filledSum += value;
    }
    records[i] = known;
    return known > 0 ? sum / known : filledSum / filled;
  });
  const inputs = parts.flatMap(({layer}) => layer.madeFrom.inputs);
  return {layer: {...first.layer, values, madeFrom: {step: "layers/merge-season", inputs, options: {}}}, records};
}
