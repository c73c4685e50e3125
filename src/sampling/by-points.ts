import {FieldError, type Issue} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {contains, distanceM} from "../geo/measure.ts";
import {runningAngle} from "../geo/oriented-box.ts";
import type {XY} from "../geo/shapes.ts";
import {METRES_PER_FOOT} from "../units/factors.ts";
import {type Metres, metres} from "../units/quantity.ts";
import {makePlan} from "./make-plan.ts";
import {nearestGround} from "./nearest-ground.ts";
import {checkCount, northWest, type PlanOptions, resolveOptions} from "./options.ts";
import type {SamplingPlan} from "./plan.ts";
import {walkingOrder} from "./walking-order.ts";

/** A place someone wants sampled. */
export interface DirectedPoint extends XY {
  /** What the file calls it; becomes part of the label, never the id. */
  readonly name?: string | undefined;
}

export interface PointOptions extends PlanOptions {
  /** `point` (default): cores near the point. `ground`: cores all over the ground nearest to it. */
  readonly pattern?: "point" | "ground" | undefined;
  /** Radius of a point's cores. Default 15 ft, as for grids. */
  readonly radius?: Metres | undefined;
}

/** North Carolina State University: 8 to 10 cores in the circle of a point. */
const USUAL_CORES = 8;

/**
 * Directed sampling: one composite at each of the user's points, each speaking for the ground that is nearest to it,
 * together exactly the field. Takes the place of a grid.
 *
 * Points chosen by judgement are no random sample: their mean need not be the field's.
 *
 * @throws {FieldError} `sampling/points` when no point lies in the field or two share a place, `sampling/radius`,
 *   `sampling/too-many-units`, and those of the common options.
 */
export function planPoints(field: Field, points: readonly DirectedPoint[], options: PointOptions = {}): SamplingPlan {
  const {pattern = "point", radius = metres(15 * METRES_PER_FOOT)} = options;
  const settings = resolveOptions(field, options, USUAL_CORES);
  if (!(radius > 0)) {
    throw new FieldError("sampling/radius", `A circle of ${radius} m holds no cores.`, {
      hint: "Give a radius above zero, as in 15 ft.",
    });
  }
  const {inside, issues} = pointsInside(field, points);
  checkCount(inside.length);
  const grounds = nearestGround(field.outline, inside);
  const order = walkingOrder(inside, {start: settings.start ?? northWest(field)});
  const units = order.map((at) => {
    const {name, x, y} = inside[at] as DirectedPoint;
    return {label: `point ${name ?? at + 1}`, shape: grounds[at] ?? [], point: {x, y}};
  });
  return makePlan(
    field,
    {
      strategy: "grid",
      units,
      pooled: false,
      angle: runningAngle(field.outline),
      circleM: pattern === "point" ? radius : undefined,
      issues,
      inputs: [field.id, "points"],
      options: {points: inside, pattern, radius},
    },
    settings,
  );
}

// --- inside ---------------------------------------------------------------------------------------------------

/** Nearer than this two points would be one on the ground. */
const SAME_M = 0.5;

function pointsInside(field: Field, points: readonly DirectedPoint[]): {inside: DirectedPoint[]; issues: Issue[]} {
  const inside = points.filter(({x, y}) => contains(field.outline, x, y));
  if (inside.length === 0) {
    throw new FieldError("sampling/points", `None of ${points.length} points lies in ${field.name}.`, {
      hint: "Check that the file is of this field and its coordinate system is named.",
    });
  }
  inside.forEach((p, i) => {
    const twin = inside.findIndex((q, j) => j < i && distanceM(p, q) < SAME_M);
    if (twin < 0) return;
    const names = [twin, i].map((k) => inside[k]?.name ?? String(k + 1));
    throw new FieldError("sampling/points", `Points ${names.join(" and ")} are in one place.`, {
      hint: "Remove one of them; for a second bag of a place ask for duplicates.",
    });
  });
  const outside = points.length - inside.length;
  if (outside === 0) return {inside, issues: []};
  return {
    inside,
    issues: [
      {
        code: "sampling/points-outside",
        severity: "warning",
        message: `${outside} of ${points.length} points ${outside === 1 ? "lies" : "lie"} outside ${field.name} and ${outside === 1 ? "was" : "were"} left out.`,
        hint: "Check the boundary and the points' coordinate system.",
      },
    ],
  };
}
