import {areaM2, boxOf, contains, polygonAreaM2} from "../geo/measure.ts";
import {bordersAmong} from "../geo/neighbours.ts";
import {dissolve, partition} from "../geo/partition.ts";
import type {Box, MultiPolygon, Polygon, XY} from "../geo/shapes.ts";
import {type SquareMetres, squareMetres} from "../units/quantity.ts";
import type {RatedGround} from "./rated-ground.ts";
import type {Setback} from "./setback.ts";

/** A single-part polygon of one ground, inside the same setbacks all over. */
export interface Piece {
  /** Index of its ground. */
  readonly ground: number;
  readonly polygon: Polygon;
  readonly area: SquareMetres;
  /** Indices of the setbacks it lies in, rising. */
  readonly setbacks: readonly number[];
}

type Ground = Pick<RatedGround, "shape" | "area">;

/** Open left-overs below this beside a setback become part of it. */
const SLIVER_M2 = 10;

/**
 * Ground in single parts, cut along setbacks. Pieces share their edges exactly where the ground did, and those of one
 * ground add up to its area.
 *
 * @returns In order of ground; without setbacks in the order of its own parts.
 */
export function divideGround(ground: readonly Ground[], setbacks: readonly Setback[]): Piece[] {
  if (setbacks.length === 0) {
    return ground.flatMap(({shape}, g) =>
      withAreas(
        ground,
        g,
        shape.map((polygon) => ({polygon, setbacks: []})),
      ),
    );
  }
  const cuts = setbacks.flatMap(({shape}) => shape.flat());
  const division = partition(
    ground.flatMap(({shape}) => shape),
    cuts,
  );
  const groundAt = finder(ground.map(({shape}) => shape));
  const setbacksAt = finder(setbacks.map(({shape}) => shape));
  // One label for each ground and set of setbacks, in order of ground, open parts first.
  const keys = division.inside.map((p) => {
    const g = groundAt(p)[0];
    if (g === undefined) throw new Error("a face outside all ground");
    return {g, inside: setbacksAt(p)};
  });
  const nameOf = ({g, inside}: (typeof keys)[number]): string =>
    [g, ...inside].map((n) => String(n).padStart(6, "0")).join();
  const names = [...new Set(keys.map(nameOf))].sort();
  const labels = keys.map((key) => names.indexOf(nameOf(key)));
  const sides = names.map((name) => name.split(",").map(Number));
  const parts = dissolve(division, closeSlivers(division.faces, labels, sides));
  const found = parts.flatMap(({label, shape}) => {
    const [g = 0, ...inside] = sides[label] as number[];
    return shape.map((polygon) => ({g, polygon, setbacks: inside}));
  });
  return ground.flatMap((_, g) =>
    withAreas(
      ground,
      g,
      found.filter((piece) => piece.g === g),
    ),
  );
}

/** Shares a ground's own area out by the pieces' area in the plane. */
function withAreas(
  ground: readonly Ground[],
  g: number,
  pieces: readonly {readonly polygon: Polygon; readonly setbacks: readonly number[]}[],
): Piece[] {
  const {area} = ground[g] as Ground;
  const planar = areaM2(pieces.map(({polygon}) => polygon));
  return pieces.map(({polygon, setbacks}) => ({
    ground: g,
    polygon,
    area: squareMetres((area * polygonAreaM2(polygon)) / planar),
    setbacks,
  }));
}

/** Open faces that are left-overs of cutting get the label of the setback they share the longest border with. */
function closeSlivers(faces: readonly Polygon[], labels: readonly number[], sides: readonly number[][]): number[] {
  const open = faces.map((_, i) => (sides[labels[i] as number] as number[]).length === 1);
  const slivers = faces.flatMap((face, i) => (open[i] && polygonAreaM2(face) < SLIVER_M2 ? [i] : []));
  if (slivers.length === 0) return [...labels];
  const borders = bordersAmong(faces);
  const out = [...labels];
  for (const i of slivers) {
    const beside = [...(borders[i] as Map<number, number>)].filter(
      ([j]) => !open[j] && sides[labels[j] as number]?.[0] === sides[labels[i] as number]?.[0],
    );
    const [best] = beside.sort((a, b) => b[1] - a[1] || a[0] - b[0]);
    if (best) out[i] = labels[best[0]] as number;
  }
  return out;
}

/** Looks up which shapes hold a point, in their order. */
function finder(shapes: readonly MultiPolygon[]): (p: XY) => number[] {
  const boxes = shapes.map(boxOf);
  return ({x, y}) =>
    shapes.flatMap((shape, i) => {
      const {west, south, east, north} = boxes[i] as Box;
      return x >= west && x <= east && y >= south && y <= north && contains(shape, x, y) ? [i] : [];
    });
}
