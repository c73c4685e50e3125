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

/** A quarter circle is drawn with 8 sides, which run inside it; grown by this they run outside. */
const OUTSIDE = 1 / Math.cos(Math.PI / 32);

/**
 * All ground within a distance of what was drawn: never nearer, at corners and round points up to 0.5 % farther.
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
