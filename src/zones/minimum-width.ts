import {wideCells} from "../grid/distance-to-border.ts";
import type {Grid} from "../grid/grid.ts";
import {labelRegions, type Regions} from "../grid/label-regions.ts";

export {type MachineReach, minimumWidth} from "../units/machine-reach.ts";

/** Ground of a label map that a machine cannot treat by itself. */
export interface NarrowGround {
  /** Patches of it, by label. */
  readonly patches: Regions;
  readonly areaM2: number;
}

/**
 * Strips, necks and tips narrower than a width, in ground where the field is wide enough.
 *
 * Corners and dents are let be: where zones meet, some angle is sharp, and a disc never fills it.
 *
 * @param leastM2 - Smaller bits do not count unless they join two wide pieces. Default a square of half the width.
 * @param roomy - What `roomyCells` says of the field, where it is known already.
 */
export function narrowGround(
  grid: Grid,
  labels: Uint8Array,
  widthM: number,
  leastM2: number = (widthM / 2) ** 2,
  roomy: Uint8Array = roomyCells(grid, labels, widthM),
): NarrowGround {
  const wide = wideCells(grid, labels, widthM);
  const rest = labels.map((label, cell) => (roomy[cell] && !wide[cell] ? label : 0));
  const regions = labelRegions(grid, rest);
  const necks = joints(grid, labels, wide, regions);
  const cellArea = grid.cellSize * grid.cellSize;
  const isNarrow = regions.labels.map((_, r) =>
    (regions.cells[r] as number) * cellArea >= leastM2 || necks.has(r) ? 1 : 0,
  );
  const patches = labelRegions(
    grid,
    rest.map((label, cell) => (label !== 0 && isNarrow[regions.owner[cell] as number] ? label : 0)),
  );
  return {patches, areaM2: patches.cells.reduce((sum, cells) => sum + cells * cellArea, 0)};
}

/** 1 where the field itself has room for the width: elsewhere no map could keep it. */
export function roomyCells(grid: Grid, labels: Uint8Array, widthM: number): Uint8Array {
  return wideCells(
    grid,
    labels.map((label) => (label === 0 ? 0 : 1)),
    widthM,
  );
}

/** Regions that join two wide parts of their label: however small, they are necks. */
function joints(grid: Grid, labels: Uint8Array, wide: Uint8Array, {owner}: Regions): Set<number> {
  const bodies = labelRegions(
    grid,
    labels.map((label, cell) => (wide[cell] ? label : 0)),
  ).owner;
  const beside = new Map<number, number>();
  const necks = new Set<number>();
  const meet = (a: number, b: number): void => {
    const [region, body] = [owner[a] as number, bodies[b] as number];
    if (region === -1 || body === -1 || labels[a] !== labels[b]) return;
    if (!beside.has(region)) beside.set(region, body);
    else if (beside.get(region) !== body) necks.add(region);
  };
  for (let cell = 0; cell < owner.length; cell++) {
    const right = cell + 1;
    const below = cell + grid.cols;
    if (right % grid.cols !== 0) {
      meet(cell, right);
      meet(right, cell);
    }
    if (below < owner.length) {
      meet(cell, below);
      meet(below, cell);
    }
  }
  return necks;
}
