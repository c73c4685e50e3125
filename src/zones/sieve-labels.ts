import {mergeSmall} from "../geo/merge-small.ts";
import type {Grid} from "../grid/grid.ts";
import {labelRegions, type Regions, regionBorders} from "../grid/label-regions.ts";

/** How ill each label suits each cell. */
export interface CellMisfit {
  /** Grid index of each row of `values`. */
  readonly cells: Int32Array;
  /** Row-major, one column per label from 1; NaN is unknown. */
  readonly values: Float64Array;
}

/**
 * Zone labels without patches under a minimum area: each goes to the neighbour that shares most of its border and
 * suits it best. A patch without neighbours (a part of the field by itself) stays.
 *
 * @param labels - 0 is outside.
 * @param misfit - Left out, only borders decide.
 */
export function sieveLabels(grid: Grid, labels: Uint8Array, leastAreaM2: number, misfit?: CellMisfit): Uint8Array {
  const regions = labelRegions(grid, labels);
  const cellArea = grid.cellSize * grid.cellSize;
  const patches = {
    labels: regions.labels,
    areasM2: Float64Array.from(regions.cells, (n) => n * cellArea),
    borders: regionBorders(grid, regions),
    ...(misfit && {misfit: sumByRegion(regions, misfit, cellArea)}),
  };
  const merged = mergeSmall(patches, leastAreaM2);
  return labels.map((label, cell) => (label === 0 ? 0 : (merged[regions.owner[cell] as number] as number)));
}

/** Misfit of every label times area, summed over the cells of each region. */
function sumByRegion({owner, labels}: Regions, {cells, values}: CellMisfit, cellArea: number): Float64Array {
  const columns = values.length / cells.length;
  const sums = new Float64Array(labels.length * columns);
  cells.forEach((cell, i) => {
    if (Number.isNaN(values[i * columns])) return;
    for (let j = 0; j < columns; j++) {
      const at = (owner[cell] as number) * columns + j;
      sums[at] = (sums[at] as number) + cellArea * (values[i * columns + j] as number);
    }
  });
  return sums;
}
