import {pointOnSurface} from "../geo/geos.ts";
import {chainedBorders, chainedFaces, joinFaces} from "../geo/label-faces.ts";
import {boxOf, polygonAreaM2} from "../geo/measure.ts";
import {mergeSmall} from "../geo/merge-small.ts";
import {sharedBorders} from "../geo/neighbours.ts";
import {dissolve, type Part, type Partition, partition} from "../geo/partition.ts";
import type {MultiPolygon, Polygon} from "../geo/shapes.ts";
import {snapLines} from "../geo/snap-lines.ts";
import {softenLines} from "../geo/soften-lines.ts";
import {type ExtendedLabels, extendLabels} from "./extend-labels.ts";
import {cellAt, type Grid} from "./grid.ts";
import {burn} from "./rasterize.ts";
import {type BorderBetween, traceArcs} from "./trace-arcs.ts";

/** A border that comes this close to the field's boundary, metres, runs on it: no machine steers to a hand's breadth. */
const SNAP_M = 0.25;

/**
 * Labelled cells drawn as polygons whose inner borders are smooth lines and whose outer border is the field's.
 *
 * The polygons are a valid coverage of the outline whatever the lines do, because the outline is divided by the lines
 * and nothing is drawn twice. Pieces under the minimum area go to the neighbour with the longest shared border.
 *
 * @param labels - Of each grid cell from 1; 0 outside. At least one cell has a label.
 * @param borderBetween - Where the border between two cells runs, given the extended labels. Default half-way.
 */
export function drawLabels(
  outline: MultiPolygon,
  grid: Grid,
  labels: Uint8Array,
  leastAreaM2: number,
  borderBetween?: (extended: ExtendedLabels) => BorderBetween,
): Part[] {
  const extended = extendLabels(grid, labels, boxOf(outline));
  const arcs = traceArcs(extended.grid, extended.labels, borderBetween?.(extended));
  const lines = softenLines(
    arcs.map(({points}) => points),
    grid.cellSize,
  );
  const cuts = snapLines(lines, outline, SNAP_M);
  const chained = chainedFaces(outline, cuts);
  if (chained) {
    const merged = labelsOf(chained, extended, leastAreaM2, () => chainedBorders(chained));
    return joinFaces(chained, merged);
  }
  const division = partition(outline, cuts);
  const merged = labelsOf(division, extended, leastAreaM2, () => sharedBorders(division));
  return dissolve(division, merged);
}

/** Label of each face, once those under the least area have joined a neighbour. */
function labelsOf(
  {faces}: Pick<Partition, "faces">,
  extended: ExtendedLabels,
  leastAreaM2: number,
  borders: () => Map<number, number>[],
): Int32Array {
  const labels = votedLabels(faces, extended);
  const areasM2 = faces.map(polygonAreaM2);
  const small = areasM2.some((area) => area < leastAreaM2);
  return small ? mergeSmall({labels, areasM2, borders: borders()}, leastAreaM2) : labels;
}

/** Each face has the label of most cells in it, or of the cell around its inner point when it holds no centre. */
function votedLabels(faces: readonly Polygon[], {grid, labels}: ExtendedLabels): Int32Array {
  const votes = new Int32Array(256 * faces.length);
  burn(
    grid,
    faces.map((face) => [face]),
  ).owner.forEach((face, cell) => {
    if (face === -1) return;
    const at = 256 * face + (labels[cell] as number);
    votes[at] = (votes[at] as number) + 1;
  });
  return Int32Array.from(faces, (polygon, face) => {
    const own = votes.subarray(256 * face, 256 * (face + 1));
    const most = own.reduce((best, n, label) => (n > (own[best] as number) ? label : best), 0);
    if ((own[most] as number) > 0) return most;
    const {x, y} = pointOnSurface(polygon);
    return labels[cellAt(grid, x, y)] as number;
  });
}
