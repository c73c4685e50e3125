import {areaM2} from "../geo/measure.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import type {Grid} from "../grid/grid.ts";
import {burn, maskOf} from "../grid/rasterize.ts";
import {squareMetres} from "../units/quantity.ts";
import type {Feature} from "./feature-matrix.ts";
import {fillFromNearest} from "./smooth-labels.ts";
import type {Zone} from "./zone-map.ts";
import {zoneMeans} from "./zone-means.ts";

/** Zones from their shapes and cells, numbered in the order given, with what each layer is like in them. */
export function describeZones(
  shapes: readonly MultiPolygon[],
  cells: Uint8Array,
  features: readonly Feature[],
  names: readonly (string | undefined)[] = [],
): Zone[] {
  const described = zoneMeans(features, cells, shapes.length);
  return shapes.map((shape, i) => ({
    id: i + 1,
    label: names[i] ?? `Zone ${i + 1}`,
    area: squareMetres(areaM2(shape)),
    shape,
    ...(described[i] as (typeof described)[number]),
  }));
}

/** Zone of each cell from 1, by where its centre falls; one exactly on a border is in the zone of a cell beside it. */
export function cellsOfShapes(grid: Grid, outline: MultiPolygon, shapes: readonly MultiPolygon[]): Uint8Array {
  const mask = maskOf(grid, outline);
  const labels = Uint8Array.from(burn(grid, shapes).owner, (index, cell) => (mask[cell] ? index + 1 : 0));
  const inField = Int32Array.from(mask.keys()).filter((cell) => mask[cell] === 1);
  return fillFromNearest(grid, inField, labels);
}
