import {parseShp} from "shpjs";
import type {LonLat} from "../geo/shapes.ts";
import type {ShpLayout} from "./shp-layout.ts";

/** A shape as it stands in the file: coordinates of the file, parts in file order. */
export type RawShape =
  | {readonly shapeClass: "point" | "multipoint"; readonly points: readonly LonLat[]}
  | {readonly shapeClass: "line" | "polygon"; readonly parts: readonly (readonly LonLat[])[]};

/**
 * The shapes of a checked `.shp`, null for null shapes. The one door to shpjs, which hangs or guesses on files whose
 * counts lie: only what passed `readShpLayout` may come here.
 *
 * Polygons are handed over under the type of lines, so that every ring comes back as written: the package sorts rings
 * into polygons by their boxes alone, which puts holes into the wrong one.
 */
export function parseShapes(shp: Uint8Array, layout: ShpLayout): (RawShape | null)[] {
  const copy = shp.slice(0, layout.length);
  const type = copy[32] as number;
  if (layout.shapeClass === "polygon") copy[32] = type - 2; // 5, 15, 25 to 3, 13, 23
  return parseShp(copy).map((shape) => {
    if (!shape) return null;
    switch (shape.type) {
      case "Point":
        return {shapeClass: "point", points: [flat(shape.coordinates)]};
      case "MultiPoint":
        return {shapeClass: "multipoint", points: shape.coordinates.map(flat)};
      case "LineString":
        return parts(layout, [shape.coordinates]);
      case "MultiLineString":
        return parts(layout, shape.coordinates);
      default:
        throw new Error(`shpjs returned a ${shape.type} for lines`);
    }
  });
}

function parts(layout: ShpLayout, lines: readonly (readonly number[][])[] | readonly number[][][]): RawShape {
  const shapeClass = layout.shapeClass === "polygon" ? "polygon" : "line";
  return {shapeClass, parts: lines.map((line) => line.map(flat))};
}

/** Without the height. */
function flat(position: readonly number[]): LonLat {
  return [position[0] as number, position[1] as number];
}
