import {insideTest} from "../../geo/inside.ts";
import {polygonAreaM2} from "../../geo/measure.ts";
import {mergeSmall} from "../../geo/merge-small.ts";
import {sharedBorders} from "../../geo/neighbours.ts";
import {dissolve, type Partition, partition} from "../../geo/partition.ts";
import type {MultiPolygon, XY} from "../../geo/shapes.ts";
import {snapLines} from "../../geo/snap-lines.ts";

/** Zones cut further: every face lies in one zone. */
export interface CutZones {
  readonly division: Partition;
  /** Index of the zone each face is in; -1 for ground of no zone. */
  readonly owner: Int32Array;
}

/** Lines drawn on a screen follow a border they come this close to, metres. */
const SNAP_M = 2;
/** Crumbs under this area, left between a drawn line and a border, go to a neighbour. */
const CRUMB_M2 = 100;

/**
 * Cuts zones along lines drawn by hand.
 *
 * @param shapes - Zones of the outline, in order.
 */
export function cutZones(
  outline: MultiPolygon,
  shapes: readonly MultiPolygon[],
  lines: readonly (readonly XY[])[],
  snapM = SNAP_M,
): CutZones {
  const borders = shapes.flatMap((shape) => shape.flat());
  const snapped = snapM > 0 ? snapLines(lines, [...outline, ...shapes.flat()], snapM) : lines;
  const division = partition(outline, [...borders, ...snapped]);
  const tests = shapes.map(insideTest);
  const owner = Int32Array.from(division.inside, ({x, y}) => tests.findIndex((inside) => inside(x, y)));
  return {division, owner};
}

/**
 * Zones from faces, in order of their index: a valid coverage. Crumbs join the neighbour with the longest shared border.
 *
 * @param owner - Index of the zone of each face.
 * @param count - Zones; one without ground comes out empty.
 */
export function zonesOfFaces(division: Partition, owner: Int32Array, count: number): MultiPolygon[] {
  const merged = mergeSmall(
    {labels: owner, areasM2: division.faces.map(polygonAreaM2), borders: sharedBorders(division)},
    CRUMB_M2,
  );
  const shapes: MultiPolygon[] = Array.from({length: count}, () => []);
  for (const {label, shape} of dissolve(division, merged)) shapes[label] = shape;
  return shapes;
}
