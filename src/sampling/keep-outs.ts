import {FieldError} from "../errors.ts";
import {buffer, bufferLines, makeValid, union} from "../geo/geos.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {METRES_PER_FOOT} from "../units/factors.ts";
import {type Metres, metres} from "../units/quantity.ts";

/** Ground where no core is taken, its distance included. It never takes acres from a unit, only room for cores. */
export interface KeepOut {
  /** In words, as in "waterway". */
  readonly name: string;
  readonly shape: MultiPolygon;
  /** False: the way between cores goes round it. */
  readonly canBeCrossed: boolean;
}

/** What was drawn, metres in the field's frame. */
export interface Drawn {
  readonly polygons?: MultiPolygon;
  readonly lines?: readonly (readonly XY[])[];
  readonly points?: readonly XY[];
}

/** Why a distance is what it is. */
export interface UsualDistance {
  readonly distance: Metres;
  readonly source: string;
}

const feet = (distance: number, source: string): UsualDistance => ({
  distance: metres(distance * METRES_PER_FOOT),
  source,
});

/** Distances taken where the user gives none. */
export const USUAL_DISTANCES = {
  "gravel road": feet(150, "University of Missouri Extension: raised pH out to 150 ft; Minnesota advises 300 ft"),
  waterway: feet(30, "common practice, no source; Illinois advises to leave waterways out"),
  "old farmstead": feet(30, "common practice, no source; Missouri and Penn State advise to sample such ground apart"),
  "manure stack": feet(100, "from memory, little certain; Minnesota advises to stay away from piles and spills"),
  "tile inlet": feet(50, "common practice, 20 to 50 ft, no source"),
} as const satisfies Readonly<Record<string, UsualDistance>>;

export type KeepOutKind = keyof typeof USUAL_DISTANCES;

/**
 * A keep-out from what was drawn: polygons, lines and points, each with all ground within a distance.
 *
 * @param distance - 0 for polygons that are to be kept out as drawn.
 * @throws {FieldError} `sampling/keep-out` when nothing was drawn, or when a line or point has no distance.
 */
export function makeKeepOut(name: string, drawn: Drawn, distance: Metres, canBeCrossed = true): KeepOut {
  const {polygons = [], lines = [], points = []} = drawn;
  const thin = [...lines.filter((line) => line.length > 0), ...points.map((point) => [point])];
  if (polygons.length === 0 && thin.length === 0) {
    throw new FieldError("sampling/keep-out", `The keep-out "${name}" holds no shape.`, {
      hint: "Give a file with a polygon, a line or a point, or leave it out.",
    });
  }
  if (thin.length > 0 && !(distance > 0)) {
    throw new FieldError("sampling/keep-out", `The keep-out "${name}" is a line or a point and has no distance.`, {
      hint: 'Give the distance cores keep from it, as in "50 ft".',
    });
  }
  const ground = polygons.map((polygon) => makeValid([polygon]));
  const grown = distance > 0 ? ground.map((shape) => buffer(shape, distance)) : ground;
  return {name, shape: union([...grown, ...(thin.length > 0 ? [bufferLines(thin, distance)] : [])]), canBeCrossed};
}
