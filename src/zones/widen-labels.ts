import type {Grid} from "../grid/grid.ts";
import {labelRegions, regionBorders} from "../grid/label-regions.ts";
import {nearestCells} from "../grid/nearest-cell.ts";
import {narrowGround, roomyCells} from "./minimum-width.ts";
import type {CellMisfit} from "./sieve-labels.ts";

/**
 * Zone labels without strips, necks and tips narrower than a width: each goes to the neighbour that shares most of its
 * border and suits it best.
 *
 * What a neighbour is given may be narrow there too and is then handed on. Ground never returns to a label it has left,
 * so the work ends; what no neighbour could take stays narrow. Where the field itself is narrower, as in its corners,
 * cells take the label of the nearest roomy cell; a part of the field without room keeps its labels.
 *
 * @param labels - 0 is outside; others from 1 to 31.
 * @param widthM - 0 returns a copy.
 * @param misfit - Left out, only borders decide.
 */
export function widenLabels(grid: Grid, labels: Uint8Array, widthM: number, misfit?: CellMisfit): Uint8Array {
  if (widthM === 0) return labels.slice();
  const left = new Uint32Array(labels.length);
  const roomy = roomyCells(grid, labels, widthM);
  let map: Uint8Array = labels.slice();
  for (;;) {
    const next = handOver(grid, map, widthM, roomy, left, misfit);
    if (!next) return fillTightPlaces(grid, map, roomy);
    map = next;
  }
}

/** One round: every narrow patch to a neighbour that is not narrow itself. Undefined when none could go. */
function handOver(
  grid: Grid,
  labels: Uint8Array,
  widthM: number,
  roomy: Uint8Array,
  left: Uint32Array,
  misfit: CellMisfit | undefined,
): Uint8Array | undefined {
  const {patches: narrow} = narrowGround(grid, labels, widthM, undefined, roomy);
  if (narrow.labels.length === 0) return undefined;
  // Narrow patches and what remains of their zones as regions of one map, told apart by a bit.
  const regions = labelRegions(
    grid,
    labels.map((label, cell) => (narrow.owner[cell] === -1 ? label : label | NARROW)),
  );
  const borders = regionBorders(grid, regions);
  const cellsOf = Array.from(regions.labels, (): number[] => []);
  regions.owner.forEach((region, cell) => {
    if (region !== -1 && (regions.labels[region] as number) & NARROW) cellsOf[region]?.push(cell);
  });
  const unlike = misfit && misfitsOf(misfit, labels.length);
  const next = labels.slice();
  let moved = false;
  cellsOf.forEach((cells, region) => {
    if (cells.length === 0) return;
    const own = (regions.labels[region] as number) & ~NARROW;
    const shares = new Map<number, number>();
    for (const [neighbour, length] of borders[region] as Map<number, number>) {
      const label = regions.labels[neighbour] as number;
      if (label & NARROW || label === own || cells.some((cell) => (left[cell] as number) & (1 << label))) continue;
      shares.set(label, (shares.get(label) ?? 0) + length);
    }
    let best = 0;
    let bestScore = -Infinity;
    for (const [label, length] of [...shares].sort(([a], [b]) => a - b)) {
      const score = Math.log(length) - (unlike ? meanOver(cells, (cell) => unlike(cell, label)) : 0);
      if (score > bestScore) [best, bestScore] = [label, score];
    }
    if (best === 0) return;
    moved = true;
    for (const cell of cells) {
      next[cell] = best;
      left[cell] = (left[cell] as number) | (1 << own);
    }
  });
  return moved ? next : undefined;
}

const NARROW = 128;

/** Misfit of a label in a grid cell; NaN where unknown. */
function misfitsOf({cells, values}: CellMisfit, count: number): (cell: number, label: number) => number {
  const rows = new Int32Array(count).fill(-1);
  cells.forEach((cell, row) => {
    rows[cell] = row;
  });
  const columns = values.length / cells.length;
  return (cell, label) => values[(rows[cell] as number) * columns + label - 1] as number;
}

function meanOver(cells: readonly number[], value: (cell: number) => number): number {
  let sum = 0;
  let known = 0;
  for (const cell of cells) {
    const v = value(cell);
    if (Number.isNaN(v)) continue;
    sum += v;
    known++;
  }
  return known > 0 ? sum / known : 0;
}

/** Cells where the field is narrow take the label of the nearest roomy ground, if their part of the field has any. */
function fillTightPlaces(grid: Grid, labels: Uint8Array, roomy: Uint8Array): Uint8Array {
  const parts = labelRegions(
    grid,
    labels.map((label) => (label === 0 ? 0 : 1)),
  );
  const hasRoom = new Uint8Array(parts.labels.length);
  parts.owner.forEach((part, cell) => {
    if (part !== -1 && roomy[cell]) hasRoom[part] = 1;
  });
  const source = nearestCells(grid, roomy);
  return labels.map((label, cell) =>
    label !== 0 && !roomy[cell] && hasRoom[parts.owner[cell] as number]
      ? (labels[source[cell] as number] as number)
      : label,
  );
}
