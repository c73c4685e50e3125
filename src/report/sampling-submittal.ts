import type {Analyte, Method} from "../lab/soil-test.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {METRES_PER_INCH, SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {roundHalfAway} from "../units/format.ts";
import {bagsOf, PLAN_KINDS} from "./sampling-bags.ts";

/** One test asked of the laboratory. */
export interface AskedTest {
  readonly analyte: Analyte;
  /** Any of these will do; empty where the laboratory may choose. */
  readonly methods: readonly Method[];
}

export interface SubmittalModel {
  readonly farm?: string | undefined;
  readonly field: string;
  readonly plan: SamplingPlan;
  /** What the plan is called. Default: its strategy. */
  readonly kind?: string | undefined;
  readonly tests: readonly AskedTest[];
}

/** A table for a file: what its columns are called, and its rows. */
export interface FileTable {
  readonly header: readonly string[];
  readonly rows: readonly (readonly (string | number | null)[])[];
}

/**
 * The list that goes to the laboratory with the bags, one row for each in the order of ids, so that second bags cannot be
 * told from others; date and remarks are left blank to be filled in.
 */
export function submittalTable({farm, field, plan, kind, tests}: SubmittalModel): FileTable {
  const asked = tests.map(askedText).join("; ");
  return {
    header: ["sample", "farm", "field", "strategy", "depth_from_in", "depth_to_in", "tests", "date_sampled", "remarks"],
    rows: bagsOf(plan)
      .map(({id}) => id)
      .sort()
      .map((id) => [
        id,
        farm ?? "",
        field,
        kind ?? PLAN_KINDS[plan.strategy],
        0,
        roundHalfAway(plan.depth / METRES_PER_INCH, 2),
        asked,
        null,
        null,
      ]),
  };
}

/** The bags of a plan as the crew counts them, in walking order, with columns to fill in. */
export function bagTable({field, plan}: Pick<SubmittalModel, "field" | "plan">): FileTable {
  return {
    header: ["order", "sample", "field", "ground", "acres", "cores", "depth_in", "cores_taken", "skipped_why"],
    rows: bagsOf(plan).map(({id, unit, cores, again}, i) => [
      i + 1,
      id,
      field,
      again ? `${unit.label}, second bag` : unit.label,
      again ? null : roundHalfAway(unit.area / SQUARE_METRES_PER_ACRE, 2),
      cores.length,
      roundHalfAway(plan.depth / METRES_PER_INCH, 2),
      null,
      null,
    ]),
  };
}

/** "P (mehlich-3 icp or bray-1)". */
export function askedText({analyte, methods}: AskedTest): string {
  return methods.length === 0 ? analyte : `${analyte} (${methods.join(" or ")})`;
}
