import {YIELD_ROLES} from "../formats/yield-heading-words.ts";
import {ANALYTES} from "../lab/analytes.ts";
import {BUSHEL} from "../units/factors.ts";
import type {ColumnRoles} from "./api-types.ts";

/** What columns of a table can hold, for whoever says it by hand. */
export function columnRoles(): ColumnRoles {
  return {
    yield: Object.entries(YIELD_ROLES).map(([role, {means, units}]) => ({role, means, units})),
    lab: Object.entries(ANALYTES).map(([analyte, {units, methods}]) => ({
      analyte,
      // Labs write mg/kg as ppm, the guides too.
      units: units.flatMap((unit) => (unit === "mg/kg" ? ["ppm", unit] : [unit])),
      methods,
    })),
    crops: Object.keys(BUSHEL),
  };
}
