import {FieldError, type Issue} from "../errors.ts";
import {equalParts} from "../geo/equal-parts.ts";
import type {Field} from "../geo/field.ts";
import {buffer, difference, makeValid, union} from "../geo/geos.ts";
import {pointAt} from "../geo/half-plane.ts";
import {areaM2, distanceM} from "../geo/measure.ts";
import {runningAngle} from "../geo/oriented-box.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import type {Provenance} from "../provenance.ts";
import {seededRandom} from "../stats/random.ts";
import {METRES_PER_FOOT} from "../units/factors.ts";
import {formatArea, formatLength} from "../units/format.ts";
import {type Metres, metres} from "../units/quantity.ts";
import {placeCores} from "./place-cores.ts";
import type {Core, SamplingPlan} from "./plan.ts";
import {pointCircle} from "./point-circle.ts";
import {idPrefix, sampleIds} from "./sample-id.ts";
import {walkingOrder} from "./walking-order.ts";

export interface ValidationOptions {
  /** Bags. Default 12; 10 to 16 are enough to put one strategy before another, fewer only report. */
  readonly count?: number | undefined;
  /** Cores of a bag. Default 8, as at grid points. */
  readonly cores?: number | undefined;
  /** All cores of a bag lie within this distance of its place. Default 15 ft. */
  readonly radius?: Metres | undefined;
  /** Distance from the field's edge and its holes. Default 50 ft, as for plans. */
  readonly fieldEdge?: Metres | undefined;
  readonly keepOut?: MultiPolygon | undefined;
  readonly depth: Metres;
  readonly prefix?: string | undefined;
  readonly checkCharacter?: boolean | undefined;
  readonly start?: XY | undefined;
  readonly seed: number;
}

/** One bag that belongs to no strategy. */
export interface ValidationBag {
  readonly id: string;
  /** Its place; the bag speaks for it alone. */
  readonly centre: XY;
  readonly cores: readonly Core[];
}

export interface ValidationSet {
  readonly bags: readonly ValidationBag[];
  readonly depth: Metres;
  readonly issues: readonly Issue[];
  readonly madeFrom: Provenance;
}

const USUAL_COUNT = 12;
/** Fewer are no ranking; more are rarely paid for. */
const FEWEST = 10;
const MOST = 16;

/**
 * Bags to judge strategies by: a random place in each of so many compact parts of equal area, none within a core circle
 * of any plan, none used to make a map or a rate.
 *
 * A probability sample of the ground where cores may go: each place there had the same chance but for the small circles
 * around the plans' cores. So its mean error is an honest estimate of a strategy's (Brus 2019, tutorial on sampling for
 * mapping, from memory).
 *
 * @param plans - Of all strategies that are to be judged.
 * @throws {FieldError} `sampling/validation` for a count that is not 4 to 60, or when there is no room; those of the prefix.
 */
export function validationSet(field: Field, plans: readonly SamplingPlan[], options: ValidationOptions): ValidationSet {
  const {
    count = USUAL_COUNT,
    cores = 8,
    radius = metres(15 * METRES_PER_FOOT),
    fieldEdge = metres(50 * METRES_PER_FOOT),
  } = options;
  const {keepOut = [], depth, seed, checkCharacter = false} = options;
  if (!Number.isInteger(count) || count < 4 || count > 60) {
    throw new FieldError("sampling/validation", `${count} bags are no validation set.`, {
      hint: `Choose ${FEWEST} to ${MOST}.`,
    });
  }
  const out = union(keepOut.map((polygon) => makeValid([polygon])));
  const inner = fieldEdge > 0 ? buffer(field.outline, -fieldEdge) : field.outline;
  const legal = out.length > 0 ? difference(inner, out) : inner;
  if (areaM2(legal) < 1) {
    throw new FieldError("sampling/validation", "Keep-outs and edges leave no room for validation bags.", {
      hint: "Make the distance from the field's edge smaller.",
    });
  }
  const planned = plans.flatMap(({units}) => units.flatMap((unit) => unit.cores));
  const angle = runningAngle(field.outline);
  let kept = CLEAR_OF_CORES * radius;
  const places = equalParts(legal, count, angle).parts.map((part, i): XY => {
    const random = seededRandom(seed, `sampling/validation ${i + 1}`);
    for (let attempt = 1; ; attempt++) {
      const place = pointAt(part, random.next(), random.next());
      if (planned.every((core) => distanceM(core, place) >= kept)) return place;
      if (attempt % GIVE_UP === 0) kept *= 0.9;
    }
  });
  const order = walkingOrder(places, {start: options.start});
  const ids = validationIds(field.name, options);
  const bags = order.map((at, i): ValidationBag => {
    const centre = places[at] as XY;
    const {shape} = pointCircle(legal, radius, centre);
    const around = placeCores(shape, cores, angle, seededRandom(seed, `sampling/validation cores ${at + 1}`));
    const walk = walkingOrder(around, {start: centre});
    return {
      id: ids[i] as string,
      centre,
      cores: walk.map((k, n) => ({...(around[k] as XY), number: n + 1})),
    };
  });
  return {
    bags,
    depth,
    issues: remarks(count, radius, kept, areaM2(legal)),
    madeFrom: {
      step: "sampling/validation",
      inputs: [field.id, ...plans.map(({madeFrom}) => madeFrom.step)],
      options: {count, cores, radius, fieldEdge, keepOut, depth, checkCharacter, seed},
      seed,
    },
  };
}

/** The sample ids of a field's validation bags, which hang on no plan. */
export function validationIds(
  fieldName: string,
  {count = USUAL_COUNT, prefix, checkCharacter = false}: Pick<ValidationOptions, "count" | "prefix" | "checkCharacter">,
): string[] {
  return sampleIds(idPrefix(prefix, fieldName), "validation", count, checkCharacter);
}

// --- inside ---------------------------------------------------------------------------------------------------

/** In radii: no core of a plan inside the circle of a bag. */
const CLEAR_OF_CORES = 1;
/** Tries in one part before the distance from planned cores gives way. */
const GIVE_UP = 200;

function remarks(count: number, radius: number, kept: number, legalM2: number): Issue[] {
  const few = count < FEWEST;
  return [
    {
      code: "sampling/validation",
      severity: few ? "warning" : "note",
      message: `${count} validation bags, each at a random place of ${formatArea(legalM2 / count)}, at least ${formatLength(kept)} from any core of a plan. No strategy may use them.${few ? ` Fewer than ${FEWEST} report errors but rank nothing.` : ""}`,
      ...(few && {hint: `Take ${FEWEST} to ${MOST}.`}),
    },
    ...(kept < CLEAR_OF_CORES * radius * 0.999
      ? [
          {
            code: "sampling/validation-near",
            severity: "note" as const,
            message: `Planned cores leave little ground free: validation bags come as near as ${formatLength(kept)} to one.`,
          },
        ]
      : []),
  ];
}
