import {FieldError} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {boxOf} from "../geo/measure.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {METRES_PER_FOOT, METRES_PER_INCH} from "../units/factors.ts";
import {formatNumber} from "../units/format.ts";
import {type Metres, metres, type SquareMetres} from "../units/quantity.ts";
import {coresNeeded} from "./cores-needed.ts";
import type {KeepOut} from "./keep-outs.ts";
import {type ResolvedRoute, type RouteOptions, resolveRoute} from "./route.ts";
import {idPrefix, MOST_UNITS} from "./sample-id.ts";

/** What every plan can be told. */
export interface PlanOptions {
  /** One to three letters that start every sample id. Default: from the field's name. */
  readonly prefix?: string | undefined;
  /** Cores mixed into one composite. The default depends on the strategy. */
  readonly cores?: number | undefined;
  /**
   * In place of `cores`: as many as bring a bag within this percent of its unit's mean 19 times in 20, by `coreCvPct`
   * (`coresNeeded`, Student's t).
   */
  readonly errorPct?: number | undefined;
  /**
   * Sampling depth. Default 8 in, the depth of the Ohio, Indiana and Michigan calibrations (Ohio State; the other two
   * from memory). Iowa, Wisconsin, Kansas and Minnesota use 6 in, Illinois 7 in: set it to the guide's depth.
   */
  readonly depth?: Metres | undefined;
  /** Distance cores keep from their unit's edge. Default 30 ft, over any position error (common practice, no source). */
  readonly edge?: Metres | undefined;
  /**
   * Distance cores keep from the field's edge and its holes. Default 50 ft: headlands are to be avoided (University of
   * Minnesota soil testing laboratory); the width is common practice, no source.
   */
  readonly fieldEdge?: Metres | undefined;
  /** Ground where no core is taken (old lots, piles, road dust, waterways), its distances included. Default none. */
  readonly keepOut?: MultiPolygon | undefined;
  /** The same by name, each with its own distance: see `makeKeepOut`. */
  readonly keepOuts?: readonly KeepOut[] | undefined;
  /** Where the walk starts, such as the gate. Default: the north-west corner of the field's box. */
  readonly start?: XY | undefined;
  /** Orders and numbers the bags along a way that knows rows and obstacles. Default: straight lines, and no numbers changed. */
  readonly route?: RouteOptions | undefined;
  /** Units, chosen at random, that get a second bag of their own cores: their difference is the noise. Default 0. */
  readonly duplicates?: number | undefined;
  /** True: every id ends in a check character (`checkCharacter`), so that most misread ids are found. Default false. */
  readonly checkCharacter?: boolean | undefined;
  /** Spread of single cores within a unit, percent of their mean, for the expected error. Default 35 %, assumed. */
  readonly coreCvPct?: number | undefined;
  /** Where that number comes from, in words, as in "12 duplicate bags of 2024". */
  readonly coreCvSource?: string | undefined;
  readonly seed?: number | undefined;
}

/** The same with every default filled in. */
export interface ResolvedOptions {
  readonly prefix: string;
  readonly cores: number;
  readonly depth: Metres;
  readonly edge: Metres;
  readonly fieldEdge: Metres;
  /** All of it. */
  readonly keepOut: MultiPolygon;
  readonly keepOuts?: readonly KeepOut[];
  readonly start: XY | null;
  readonly route?: ResolvedRoute;
  readonly duplicates?: number;
  readonly checkCharacter?: true;
  readonly coreCvPct: number;
  readonly coreCvSource?: string;
  readonly seed: number;
}

/**
 * @throws {FieldError} `sampling/cores`, `sampling/depth`, `sampling/edge`, `sampling/cv`, `sampling/prefix`,
 *   `sampling/duplicates`, `sampling/crossing`, `sampling/error-wanted`.
 */
export function resolveOptions(field: Field, options: PlanOptions, usualCores: number): ResolvedOptions {
  const {depth = metres(8 * METRES_PER_INCH), coreCvPct = USUAL_CORE_CV_PCT} = options;
  const {edge = metres(30 * METRES_PER_FOOT), fieldEdge = metres(50 * METRES_PER_FOOT)} = options;
  if (!(coreCvPct > 0)) {
    throw new FieldError("sampling/cv", `Cores cannot vary by ${coreCvPct} %.`, {
      hint: "Give the spread of single cores in percent of their mean; 35 is usual for phosphorus.",
    });
  }
  const cores = coresPerBag(options, usualCores);
  if (!Number.isInteger(cores) || cores < 1 || cores > MOST_CORES) {
    throw new FieldError("sampling/cores", `${cores} cores cannot be taken for a composite.`, {
      hint: `Choose a whole number from 1 to ${MOST_CORES}; 8 to 20 is usual.`,
    });
  }
  if (!(depth > 0 && depth <= MOST_DEPTH_M)) {
    throw new FieldError("sampling/depth", `A sampling depth of ${formatNumber(depth * 100, 1)} cm is not possible.`, {
      hint: "Give the depth the recommendations are calibrated to, as in 8 in.",
    });
  }
  for (const distance of [edge, fieldEdge]) {
    if (!(distance >= 0)) {
      throw new FieldError("sampling/edge", `Cores cannot keep ${distance} m from an edge.`, {
        hint: "Give a distance of zero or more, as in 30 ft.",
      });
    }
  }
  const {keepOut = [], keepOuts = [], duplicates = 0, coreCvSource, start, route} = options;
  if (!Number.isInteger(duplicates) || duplicates < 0) {
    throw new FieldError("sampling/duplicates", `${duplicates} duplicate bags cannot be taken.`, {
      hint: "Choose a whole number of zero or more; 6 to 10 pairs begin to show the noise.",
    });
  }
  return {
    prefix: idPrefix(options.prefix, field.name),
    cores,
    depth,
    edge,
    fieldEdge,
    keepOut: [...keepOut, ...keepOuts.flatMap(({shape}) => shape)],
    ...(keepOuts.length > 0 && {keepOuts}),
    start: start ?? null,
    ...(route && {route: resolveRoute(route, start !== undefined)}),
    ...(duplicates > 0 && {duplicates}),
    ...(options.checkCharacter && {checkCharacter: true as const}),
    coreCvPct,
    ...(coreCvSource !== undefined && {coreCvSource}),
    seed: options.seed ?? 1,
  };
}

/** Of single cores within a unit, assumed. */
const USUAL_CORE_CV_PCT = 35;

/**
 * Cores of one bag: as many as asked for, or as the wanted error takes, else the usual number.
 *
 * @throws {FieldError} `sampling/error-wanted`.
 */
export function coresPerBag(
  {cores, errorPct, coreCvPct = USUAL_CORE_CV_PCT}: Pick<PlanOptions, "cores" | "errorPct" | "coreCvPct">,
  usual: number,
): number {
  if (errorPct === undefined || cores !== undefined) return cores ?? usual;
  if (!(errorPct > 0 && errorPct < 100)) {
    throw new FieldError("sampling/error-wanted", `A bag cannot be within ${errorPct} % of its mean.`, {
      hint: "Give a percentage above zero and under 100, as in 15.",
    });
  }
  return coresNeeded(coreCvPct, errorPct, 0.95);
}

/** @throws {FieldError} `sampling/area` when an area is not positive. */
export function checkArea(area: SquareMetres, what: string): void {
  if (!(area > 0)) {
    throw new FieldError("sampling/area", `${what} cannot be ${formatNumber(area, 1)} m².`, {
      hint: "Give an area above zero, as in 2.5 ac.",
    });
  }
}

/** @throws {FieldError} `sampling/too-many-units` before anything is drawn that could not be numbered. */
export function checkCount(count: number): void {
  if (count > MOST_UNITS) {
    throw new FieldError("sampling/too-many-units", `The plan would have ${formatNumber(count)} samples.`, {
      hint: `Choose a larger area per sample: a plan holds up to ${MOST_UNITS}.`,
    });
  }
}

/** Where reading begins, and numbering when no gate is known. */
export function northWest(field: Field): XY {
  const {west, north} = boxOf(field.outline);
  return {x: west, y: north};
}

const MOST_CORES = 100;
const MOST_DEPTH_M = 2;
