import {pointOnSurface} from "../geo/geos.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {cellAt, centreX, centreY, type Grid} from "../grid/grid.ts";
import type {Layer} from "../grid/layer.ts";
import {burn} from "../grid/rasterize.ts";
import type {RatePolygon} from "../prescription/prescription.ts";
import {overlay} from "./overlay-rates.ts";

/**
 * The best available truth about the field, by which strategies are judged: parts with a value each (the cells of the
 * densest sampling), or any surface read at the cells of a grid.
 */
export type Yardstick<T> =
  | {readonly kind: "parts"; readonly parts: readonly {readonly shape: MultiPolygon; readonly value: T}[]}
  | {readonly kind: "surface"; readonly grid: Grid; readonly at: (x: number, y: number) => T | undefined};

/** Ground with one rate and one value of the yardstick; `value` is undefined where it is not known. */
export interface JudgedGround<T> {
  /** Index of the rate polygon. */
  readonly polygon: number;
  readonly rateLbPerAcre: number;
  readonly areaM2: number;
  readonly value: T | undefined;
}

/** A layer as a yardstick; NaN cells are not known. */
export function layerYardstick({grid, values}: Layer): Yardstick<number> {
  return {
    kind: "surface",
    grid,
    at: (x, y) => {
      const value = values[cellAt(grid, x, y)];
      return value === undefined || Number.isNaN(value) ? undefined : value;
    },
  };
}

/**
 * Takes the rates apart along the yardstick. Areas add up to the polygons' own, whatever the grid.
 *
 * Parts are laid over exactly; a surface is read at cell centres, so borders are as sharp as its cells.
 */
export function judgedGround<T>(polygons: readonly RatePolygon[], yardstick: Yardstick<T>): JudgedGround<T>[] {
  return yardstick.kind === "parts" ? byParts(polygons, yardstick.parts) : bySurface(polygons, yardstick);
}

function byParts<T>(
  polygons: readonly RatePolygon[],
  parts: readonly {readonly shape: MultiPolygon; readonly value: T}[],
): JudgedGround<T>[] {
  const {pieces, uncovered} = overlay(
    polygons,
    parts.map(({shape}) => shape),
  );
  const known = pieces.map(({first, second, areaM2}) => ({
    polygon: first,
    rateLbPerAcre: (polygons[first] as RatePolygon).rateLbPerAcre,
    areaM2,
    value: parts[second]?.value,
  }));
  const unknown = [...uncovered].map(([first, share]) => {
    const {rateLbPerAcre, area} = polygons[first] as RatePolygon;
    return {polygon: first, rateLbPerAcre, areaM2: area * share, value: undefined};
  });
  return [...known, ...unknown];
}

function bySurface<T>(
  polygons: readonly RatePolygon[],
  {grid, at}: {readonly grid: Grid; readonly at: (x: number, y: number) => T | undefined},
): JudgedGround<T>[] {
  const {owner} = burn(
    grid,
    polygons.map(({polygon}) => [polygon]),
  );
  const places: XY[][] = polygons.map(() => []);
  owner.forEach((polygon, cell) => {
    if (polygon < 0) return;
    const row = Math.floor(cell / grid.cols);
    places[polygon]?.push({x: centreX(grid, cell % grid.cols), y: centreY(grid, row)});
  });
  return polygons.flatMap(({polygon, area, rateLbPerAcre}, i) => {
    const own = places[i] as XY[];
    // A sliver between cell centres is read at a point inside it.
    const read = own.length > 0 ? own : [pointOnSurface(polygon)];
    return read.map(({x, y}) => ({polygon: i, rateLbPerAcre, areaM2: area / read.length, value: at(x, y)}));
  });
}
