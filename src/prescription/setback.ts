import {FieldError} from "../errors.ts";
import {buffer, bufferLines, makeValid, union} from "../geo/geos.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {roundHalfAway} from "../units/format.ts";
import type {MachineLimits, Product, Purpose} from "./prescription.ts";

/** Ground by water or a well where less goes on, or nothing. Whose rule it is, the user says; none is built in. */
export interface Setback {
  readonly name: string;
  /** In words, as in "ditch". */
  readonly kind: string;
  /** Metres in the field's frame, the distance included. */
  readonly shape: MultiPolygon;
  readonly rate: SetbackRate;
  /** Codes, analyses or "lime"; absent for all products. */
  readonly products?: readonly string[];
}

/** Nothing, a share of the rate around, or at most so many lb of product an acre. */
export type SetbackRate = "zero" | {readonly share: number} | {readonly lbPerAcre: number};

/** What was drawn, metres in the field's frame. */
export interface DrawnSetback {
  readonly polygons: MultiPolygon;
  readonly lines: readonly (readonly XY[])[];
  readonly points: readonly XY[];
}

/**
 * Rounds are drawn with 8 sides to a quarter circle, a partial one with sides up to half as long again, and wiggles of a
 * line under a hundredth of the distance are smoothed over. All of that runs inside; grown by this it runs outside.
 */
const OUTSIDE = 1 / Math.cos((1.5 * Math.PI) / 32) + 0.01;

/**
 * All ground within a distance of what was drawn: never nearer, up to 2.1 % of the distance farther.
 *
 * @param distanceM - 0 for polygons that are to be kept out as drawn.
 * @throws {FieldError} `setback/nothing-drawn`, `setback/no-distance` for lines and points.
 */
export function setbackShape(name: string, {polygons, lines, points}: DrawnSetback, distanceM: number): MultiPolygon {
  const thin = [...lines.filter((line) => line.length > 0), ...points.map((point) => [point])];
  if (polygons.length === 0 && thin.length === 0) {
    throw new FieldError("setback/nothing-drawn", `The setback "${name}" holds no shape.`, {
      hint: "Give a file with a line, a point or a polygon, or turn it off.",
    });
  }
  if (thin.length > 0 && !(distanceM > 0)) {
    throw new FieldError("setback/no-distance", `The setback "${name}" is a line or a point and has no distance.`, {
      hint: 'Give the distance, as in "35 ft".',
    });
  }
  const ground = polygons.map((polygon) => makeValid([polygon]));
  const grown = distanceM > 0 ? ground.map((shape) => buffer(shape, distanceM * OUTSIDE)) : ground;
  return union([...grown, ...(thin.length > 0 ? [bufferLines(thin, distanceM * OUTSIDE)] : [])]);
}

/** Whether a setback speaks of a product. */
export function concerns({products}: Setback, {code, analysis}: Product, purpose: Purpose): boolean {
  if (!products) return true;
  const names = [code, analysis, ...(purpose === "lime" ? ["lime"] : [])].map((name) => name.toLowerCase());
  return products.some((name) => names.includes(name.trim().toLowerCase()));
}

/** The rate inside a setback: rounded down to the step, never up, and nothing when the machine cannot spread as little. */
export function setbackRate({rate}: Setback, openLbPerAcre: number, limits: MachineLimits): number {
  if (rate === "zero") return 0;
  const asked = "share" in rate ? openLbPerAcre * rate.share : rate.lbPerAcre;
  if (asked >= openLbPerAcre) return openLbPerAcre;
  const {stepLbPerAcre: step, minLbPerAcre: least} = limits;
  const down = roundHalfAway(Math.floor(asked / step + 1e-9) * step, 6);
  return down < least ? 0 : down;
}
