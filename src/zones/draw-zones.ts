import {areaM2, boxOf} from "../geo/measure.ts";
import {mergeSmall} from "../geo/merge-small.ts";
import {sharedBorders} from "../geo/neighbours.ts";
import {dissolve, type Part, type Partition, partition} from "../geo/partition.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {snapLines} from "../geo/snap-lines.ts";
import {softenLines} from "../geo/soften-lines.ts";
import {type ExtendedLabels, extendLabels} from "../grid/extend-labels.ts";
import {cellAt, type Grid} from "../grid/grid.ts";
import {nearestCells} from "../grid/nearest-cell.ts";
import {burn, maskOf} from "../grid/rasterize.ts";
import {type BorderBetween, traceArcs} from "../grid/trace-arcs.ts";

/** A border that comes this close to the field's boundary, metres, runs on it: no machine steers to a hand's breadth. */
const SNAP_M = 0.25;

/**
 * Zones drawn: polygons whose inner borders are smooth lines and whose outer border is the field's, and the cells
 * that fall in them.
 *
 * The polygons are a valid coverage of the outline whatever the lines do, because the outline is divided by the lines
 * and nothing is drawn twice. Pieces under the minimum area go to the neighbour with the longest shared border.
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
  const extended = extendLabels(grid, labels, boxOf(outline));
  const arcs = traceArcs(extended.grid, extended.labels, strength && balance(extended, strength));
  const lines = softenLines(
    arcs.map(({points}) => points),
    grid.cellSize,
  );
  const division = partition(outline, snapLines(lines, outline, SNAP_M));
  const merged = mergeSmall(
    {
      labels: labelsOfFaces(division, extended),
      areasM2: division.faces.map((face) => areaM2([face])),
      borders: sharedBorders(division),
    },
    leastAreaM2,
  );
  const parts = dissolve(division, merged);
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

/** Each face has the label of most cells in it, or of the cell around its inner point when it holds no centre. */
function labelsOfFaces(division: Partition, {grid, labels}: ExtendedLabels): Int32Array {
  const votes = new Int32Array(256 * division.faces.length);
  burn(
    grid,
    division.faces.map((face) => [face]),
  ).owner.forEach((face, cell) => {
    if (face === -1) return;
    const at = 256 * face + (labels[cell] as number);
    votes[at] = (votes[at] as number) + 1;
  });
  return Int32Array.from(division.faces, (_, face) => {
    const own = votes.subarray(256 * face, 256 * (face + 1));
    const most = own.reduce((best, n, label) => (n > (own[best] as number) ? label : best), 0);
    if ((own[most] as number) > 0) return most;
    const {x, y} = division.inside[face] as XY;
    return labels[cellAt(grid, x, y)] as number;
  });
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
