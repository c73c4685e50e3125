import type {Grid} from "./grid.ts";

/** Connected cells of one label, numbered in order of their first cell. */
export interface Regions {
  /** Region of each cell, -1 where the label is 0. */
  readonly owner: Int32Array;
  /** Label of each region. */
  readonly labels: Int32Array;
  /** Cells in each region. */
  readonly cells: Int32Array;
}

/**
 * Patches of cells that share a label and hang together by their sides.
 *
 * Cells that only touch at a corner are apart: a polygon pinched to a point there would not be valid.
 *
 * @param labels - 0 is outside.
 */
export function labelRegions({cols, rows}: Pick<Grid, "cols" | "rows">, labels: Uint8Array): Regions {
  const owner = new Int32Array(cols * rows).fill(-1);
  const regionLabels: number[] = [];
  const sizes: number[] = [];
  const stack: number[] = [];
  for (let first = 0; first < owner.length; first++) {
    if (labels[first] === 0 || owner[first] !== -1) continue;
    const region = regionLabels.length;
    const label = labels[first] as number;
    const visit = (cell: number): void => {
      if (labels[cell] !== label || owner[cell] !== -1) return;
      owner[cell] = region;
      stack.push(cell);
    };
    let size = 0;
    visit(first);
    for (let cell = stack.pop(); cell !== undefined; cell = stack.pop()) {
      size++;
      const col = cell % cols;
      if (col > 0) visit(cell - 1);
      if (col < cols - 1) visit(cell + 1);
      if (cell >= cols) visit(cell - cols);
      if (cell < (rows - 1) * cols) visit(cell + cols);
    }
    regionLabels.push(label);
    sizes.push(size);
  }
  return {owner, labels: Int32Array.from(regionLabels), cells: Int32Array.from(sizes)};
}

/** Cell sides each pair of regions shares: `borders[i].get(j)`. */
export function regionBorders({cols, rows}: Pick<Grid, "cols" | "rows">, regions: Regions): Map<number, number>[] {
  const {owner} = regions;
  const borders = Array.from(regions.labels, () => new Map<number, number>());
  const meet = (a: number, b: number): void => {
    if (a === b || a === -1 || b === -1) return;
    borders[a]?.set(b, (borders[a]?.get(b) ?? 0) + 1);
    borders[b]?.set(a, (borders[b]?.get(a) ?? 0) + 1);
  };
  for (let cell = 0; cell < owner.length; cell++) {
    if (cell % cols < cols - 1) meet(owner[cell] as number, owner[cell + 1] as number);
    if (cell < (rows - 1) * cols) meet(owner[cell] as number, owner[cell + cols] as number);
  }
  return borders;
}
