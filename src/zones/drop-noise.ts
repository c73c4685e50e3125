import type {Issue} from "../errors.ts";
import {cellCount, type Grid} from "../grid/grid.ts";
import {moran, rookNeighbours} from "../stats/moran.ts";
import {moranChance} from "../stats/moran-chance.ts";
import type {Columns} from "./theme-columns.ts";

/** How alike neighbouring cells are in a layer. */
export interface LayerPattern {
  readonly id: string;
  /** Moran's I over cells that share a side: near 1 smooth, near 0 no pattern. Of classes that which shows most. */
  readonly moran: number;
  /** What a layer without any pattern exceeds once in a hundred times. */
  readonly bound: number;
}

/** One-sided, of the normal distribution: 1 in 100. */
const ONE_IN_HUNDRED = 2.326;
/** With fewer cells chance alone can look like a pattern and a pattern like chance. */
const LEAST_CELLS = 50;

/**
 * Layers in which neighbours are more alike than chance makes them. Noise cannot divide a field, only blur what can.
 *
 * Not a test of whether a pattern is real: a layer of noise that was smoothed or interpolated has one.
 *
 * @param drop - False keeps noise, and says nothing of it.
 * @returns All layers when all are noise, with a warning: there is nothing better to divide the field by.
 */
export function withoutNoise(
  grid: Grid,
  cells: Int32Array,
  layers: readonly Columns[],
  drop: boolean,
  issues: Issue[],
): {patterned: readonly Columns[]; patterns: LayerPattern[]} {
  const patterns = layers.flatMap((layer) => patternOf(grid, cells, layer) ?? []);
  const noise = new Map(patterns.filter(isNoise).map((pattern) => [pattern.id, pattern]));
  if (!drop || noise.size === 0) return {patterned: layers, patterns};
  const patterned = layers.filter(({feature}) => !noise.has(feature.layer.id));
  if (patterned.length === 0) {
    issues.push({
      code: "zones/only-noise",
      severity: "warning",
      message: "In none of the layers are neighbouring cells more alike than by chance, so any zones are arbitrary.",
      hint: "Do not zone this field by these layers.",
    });
    return {patterned: layers, patterns};
  }
  for (const {feature} of layers) {
    const pattern = noise.get(feature.layer.id);
    if (!pattern) continue;
    const {moran, bound} = pattern;
    issues.push({
      code: "zones/noise-layer",
      severity: "warning",
      message: `${feature.layer.label} was left out: its neighbouring cells are no more alike than by chance (Moran's I ${moran.toFixed(3)}; noise stays under ${bound.toFixed(3)} in 99 of 100 cases).`,
      hint: "Check the file, or keep noise if the layer is meant to count.",
    });
  }
  return {patterned, patterns};
}

/** True for a layer that chance explains. */
export function isNoise({moran, bound}: LayerPattern): boolean {
  return !(moran > bound);
}

function patternOf(grid: Grid, cells: Int32Array, {feature, columns, known}: Columns): LayerPattern | undefined {
  if (known < LEAST_CELLS) return undefined;
  const [first] = columns;
  if (!first) return undefined;
  const raster = new Float64Array(cellCount(grid)).fill(Number.NaN);
  const place = (column: Float64Array): void => {
    cells.forEach((cell, i) => {
      raster[cell] = column[i] as number;
    });
  };
  place(first);
  const neighbours = rookNeighbours(raster, grid.cols);
  if (neighbours.index.length < 4 * LEAST_CELLS) return undefined;
  let most = -Infinity;
  for (const column of columns) {
    place(column);
    most = Math.max(most, moran(raster, neighbours).i);
  }
  const {mean, sd} = moranChance(neighbours);
  return {id: feature.layer.id, moran: most, bound: mean + ONE_IN_HUNDRED * sd};
}
