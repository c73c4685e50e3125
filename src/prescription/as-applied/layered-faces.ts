import {facesBetween, pointOnSurface} from "../../geo/geos.ts";
import {insideTest} from "../../geo/inside.ts";
import {boxOf, polygonAreaM2} from "../../geo/measure.ts";
import type {Box, MultiPolygon, Polygon, XY} from "../../geo/shapes.ts";

/** Ground between lines, with the shapes that lie on it. */
export interface LayeredFace {
  readonly face: Polygon;
  readonly areaM2: number;
  /** Indexes of the shapes, rising. */
  readonly shapes: readonly number[];
}

/**
 * The ground of shapes that may share it, cut along all their outlines into faces that do not.
 *
 * One noding of all lines in place of an overlay of each pair: outlines that all but coincide, as strips of one pass do,
 * end up on one line, and faces add up to the ground of the shapes.
 *
 * @param shapes - Valid, in one plane frame, metres.
 * @returns Faces that lie on at least one shape.
 */
export function layeredFaces(shapes: readonly MultiPolygon[]): LayeredFace[] {
  const faces = facesBetween(shapes.flatMap((shape) => shape.flat()));
  const points = faces.map(pointOnSurface);
  const layers = shapesAt(points, shapes);
  return faces.flatMap((face, i) => {
    const on = layers[i] as number[];
    return on.length > 0 ? [{face, areaM2: polygonAreaM2(face), shapes: on}] : [];
  });
}

/** The shapes that hold each point; points and shapes are gone over from the west. */
function shapesAt(points: readonly XY[], shapes: readonly MultiPolygon[]): number[][] {
  const boxes = shapes.map(boxOf);
  const tests = shapes.map(insideTest);
  const west = (i: number): number => (boxes[i] as Box).west;
  const x = (p: number): number => (points[p] as XY).x;
  const coming = shapes.map((_, i) => i).sort((a, b) => west(a) - west(b) || a - b);
  const found: number[][] = points.map(() => []);
  let active: number[] = [];
  let next = 0;
  for (const p of points.map((_, i) => i).sort((a, b) => x(a) - x(b) || a - b)) {
    const point = points[p] as XY;
    for (; next < coming.length && west(coming[next] as number) <= point.x; next++) active.push(coming[next] as number);
    active = active.filter((i) => (boxes[i] as Box).east >= point.x);
    const on = active.filter((i) => {
      const {south, north} = boxes[i] as Box;
      return point.y >= south && point.y <= north && tests[i]?.(point.x, point.y);
    });
    found[p] = on.sort((a, b) => a - b);
  }
  return found;
}
