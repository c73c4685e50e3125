import type {Part} from "../geo/partition.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import {drawLabels} from "../grid/draw-labels.ts";
import type {ExtendedLabels} from "../grid/extend-labels.ts";
import type {Grid} from "../grid/grid.ts";
import {nearestCells} from "../grid/nearest-cell.ts";
import {burn, maskOf} from "../grid/rasterize.ts";
import type {BorderBetween} from "../grid/trace-arcs.ts";

/**
 * Zones drawn (see `drawLabels`), and the cells that fall in them.
 *
 * @param labels - Zone of each grid cell from 1; 0 outside. At least one cell has a zone.
 * @param strength - Smoothed membership per label: borders then run where two zones are equally strong instead of
 *   half-way between cells.
 */
export function drawZones(
  outline: MultiPolygon,
  grid: Grid,
  labels: Uint8Array,
  leastAreaM2: number,
  strength?: readonly Float64Array[],
): {parts: Part[]; cells: Uint8Array} {
  const border = strength && ((extended: ExtendedLabels) => balance(extended, strength));
  const parts = drawLabels(outline, grid, labels, leastAreaM2, border);
  return {parts, cells: cellsOf(grid, outline, parts)};
}

/**
 * Border where the two strongest zones are equally strong, by straight line between the centres.
 *
 * The strongest, not those on the map: a patch merged into a neighbour keeps its outline towards all others.
 */
function balance({source}: ExtendedLabels, strength: readonly Float64Array[]): BorderBetween {
  const strongest = (cell: number): Float64Array =>
    strength.reduce((best, own) => ((own[cell] as number) > (best[cell] as number) ? own : best));
  return (first, second) => {
    const [p, q] = [source[first] as number, source[second] as number];
    const [a, b] = [strongest(p), strongest(q)];
    const before = (a[p] as number) - (b[p] as number);
    const after = (b[q] as number) - (a[q] as number);
    return before + after > 0 ? before / (before + after) : 0.5;
  };
}

/** Zone of each cell by where its centre falls; a centre exactly on a border is in the zone of a cell beside it. */
function cellsOf(grid: Grid, outline: MultiPolygon, parts: readonly Part[]): Uint8Array {
  const mask = maskOf(grid, outline);
  const {owner} = burn(
    grid,
    parts.map(({shape}) => shape),
  );
  const labels = new Uint8Array(mask.length);
  owner.forEach((part, cell) => {
    if (part !== -1) labels[cell] = (parts[part] as Part).label;
  });
  const unowned = mask.some((inField, cell) => inField === 1 && labels[cell] === 0);
  const source = unowned ? nearestCells(grid, labels) : undefined;
  return mask.map((inField, cell) => (inField ? (labels[source?.[cell] ?? cell] as number) : 0));
}
