import {blurCells} from "../grid/blur-cells.ts";
import {cellCount, type Grid} from "../grid/grid.ts";
import {nearestCells} from "../grid/nearest-cell.ts";

/** Zones as cells, with how strongly each cell is drawn to each zone. */
export interface SmoothLabels {
  /** Label of each grid cell from 1; 0 outside the field. */
  readonly labels: Uint8Array;
  /** Smoothed membership of each label (index 0 is label 1) in each grid cell; NaN where there is none. */
  readonly strength: readonly Float64Array[];
}

/**
 * The label each cell belongs to most, after memberships were averaged with those of the cells around.
 *
 * Memberships are smoothed, not labels: a doubtful cell is swayed by its neighbours, a clear one holds out. Cells
 * without memberships take the label of the nearest cell that has one.
 *
 * @param cells - Grid index of each row of `memberships`.
 * @param memberships - Row-major, `count` to a row; NaN where unknown.
 * @param sigmaM - Reach of the bell-shaped average, metres; 0 leaves memberships as they are.
 *
 * Source: Lark (1998), Forming spatially coherent regions by classification of multi-variate data, Int. J. Geogr.
 * Inf. Sci. 12:83-98 (smoothing memberships before they are made hard).
 */
export function smoothLabels(
  grid: Grid,
  cells: Int32Array,
  memberships: Float64Array,
  count: number,
  sigmaM: number,
): SmoothLabels {
  const known = new Uint8Array(cellCount(grid));
  cells.forEach((cell, i) => {
    if (!Number.isNaN(memberships[i * count])) known[cell] = 1;
  });
  const strength = Array.from({length: count}, (_, j) => {
    const spread = new Float64Array(known.length);
    cells.forEach((cell, i) => {
      if (known[cell]) spread[cell] = memberships[i * count + j] as number;
    });
    return blurCells(grid, spread, sigmaM);
  });
  const labels = new Uint8Array(known.length);
  for (let cell = 0; cell < known.length; cell++) {
    let sum = 0;
    let best = 0;
    strength.forEach((own, j) => {
      sum += own[cell] as number;
      if ((own[cell] as number) > ((strength[best] as Float64Array)[cell] as number)) best = j;
    });
    if (known[cell]) labels[cell] = best + 1;
    // Memberships sum to 1, so their blurred sum is the weight that fell on cells with data.
    for (const own of strength) own[cell] = known[cell] ? (own[cell] as number) / sum : Number.NaN;
  }
  return {labels: fillFromNearest(grid, cells, labels), strength};
}

/** Gives every cell of the field that has no label that of the nearest cell that has one. */
export function fillFromNearest(grid: Grid, cells: Int32Array, labels: Uint8Array): Uint8Array {
  const source = nearestCells(grid, labels);
  const out = new Uint8Array(labels.length);
  for (const cell of cells) out[cell] = labels[source[cell] as number] as number;
  return out;
}
