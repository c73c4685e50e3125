import {equalAreaShapes} from "../geo/equal-parts.ts";
import type {Field} from "../geo/field.ts";
import {areaM2, centroid} from "../geo/measure.ts";
import {runningAngle} from "../geo/oriented-box.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {type SquareMetres, squareMetres} from "../units/quantity.ts";
import {compositesFor} from "./composites-for.ts";
import {makePlan} from "./make-plan.ts";
import {checkArea, checkCount, northWest, type PlanOptions, resolveOptions} from "./options.ts";
import type {SamplingPlan} from "./plan.ts";
import {walkingOrder} from "./walking-order.ts";

export interface WholeFieldOptions extends PlanOptions {
  /** Most ground for one composite. Default 25 ac (Ohio State University, agronomic crops team). */
  readonly maxArea?: SquareMetres | undefined;
  /** True (default): one rate from the mean of the composites. False: a rate for each. */
  readonly pooled?: boolean | undefined;
}

/** 15 to 20 cores to a composite (Penn State); 20 were found adequate in North Dakota (Swenson and others 1984). */
const USUAL_CORES = 20;

/**
 * Whole-field sampling: as few composites as the largest area allows, each from a compact part of the field, all parts
 * of one area (to 1e-6), together exactly the field.
 *
 * Not zones: the parts are drawn for even coverage and know nothing of soil.
 *
 * @throws {FieldError} `sampling/area`, `sampling/too-many-units`, and those of the common options.
 */
export function planWholeField(field: Field, options: WholeFieldOptions = {}): SamplingPlan {
  const {maxArea = squareMetres(25 * SQUARE_METRES_PER_ACRE), pooled = true} = options;
  checkArea(maxArea, "The largest area for one composite");
  const settings = resolveOptions(field, options, USUAL_CORES);
  const angle = runningAngle(field.outline);
  const count = compositesFor(areaM2(field.outline), maxArea);
  checkCount(count);
  const shapes = equalAreaShapes(field.outline, count, angle);
  const order = walkingOrder(shapes.map(centroid), {start: settings.start ?? northWest(field)});
  const labelAt = (i: number, n: number): string => `composite ${i + 1} of ${n}`;
  const units = order.map((at, i) => ({
    label: labelAt(i, order.length),
    shape: shapes[at] as (typeof shapes)[number],
  }));
  return makePlan(
    field,
    {
      strategy: "whole-field",
      units,
      labelAt,
      pooled,
      angle,
      issues: [],
      inputs: [field.id],
      options: {maxArea, pooled},
    },
    settings,
  );
}
