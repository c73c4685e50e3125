import type {Grid} from "../grid/grid.ts";
import {labelRegions, regionBorders} from "../grid/label-regions.ts";
import {mergeSmall} from "./merge-small.ts";

/**
 * Zone labels without patches under a minimum area: each goes to the neighbour that shares most of its border and
 * suits it best. A patch without neighbours (a part of the field by itself) stays.
 *
 * @param labels - 0 is outside.
 * @param misfit - Row-major over `cells`, one column per label from 1: how ill each label suits the cell. NaN is
 *   unknown. Left out, only borders decide.
 */
export function sieveLabels(
  grid: Grid,
  labels: Uint8Array,
  leastAreaM2: number,
  misfit?: {readonly cells: Int32Array; readonly values: Float64Array},
): Uint8Array {
  const regions = labelRegions(grid, labels);
  const cellArea = grid.cellSize * grid.cellSize;
  const patches = {
    labels: regions.labels,
    areasM2: Float64Array.from(regions.cells, (n) => n * cellArea),
    borders: regionBorders(grid, regions),
  };
  const merged = mergeSmall(
    misfit ? {...patches, misfit: byRegion(regions.owner, patches, misfit)} : patches,
    leastAreaM2,
  );
  return labels.map((label, cell) => (label === 0 ? 0 : (merged[regions.owner[cell] as number] as number)));

  function byRegion(
    owner: Int32Array,
    {labels: {length: count}}: {labels: Int32Array},
    {cells, values}: {cells: Int32Array; values: Float64Array},
  ): Float64Array {
    const columns = values.length / cells.length;
    const sums = new Float64Array(count * columns);
    cells.forEach((cell, i) => {
      if (Number.isNaN(values[i * columns])) return;
      for (let j = 0; j < columns; j++) {
        const at = (owner[cell] as number) * columns + j;
        sums[at] = (sums[at] as number) + cellArea * (values[i * columns + j] as number);
      }
    });
    return sums;
  }
}
