import type {Field} from "../geo/field.ts";
import {planGrid} from "../sampling/by-grid.ts";
import {planZones} from "../sampling/by-zone.ts";
import type {PlanOptions} from "../sampling/options.ts";
import type {SamplingPlan, Strategy} from "../sampling/plan.ts";
import {planWholeField} from "../sampling/whole-field.ts";
import type {ZoneMap} from "../zones/zone-map.ts";
import type {Job} from "./job.ts";

/** The sampling plan of one strategy as the job asks for it. */
export function makePlan(job: Job, field: Field, strategy: Strategy, zoneMap: ZoneMap | undefined): SamplingPlan {
  const {depth, edge, fieldEdge, wholeField, grid, zone} = job.sampling;
  const shared: PlanOptions = {prefix: job.field.prefix, seed: job.seed, depth, edge, fieldEdge};
  switch (strategy) {
    case "whole-field":
      return planWholeField(field, {
        ...shared,
        maxArea: wholeField.maxArea,
        cores: wholeField.cores,
        pooled: wholeField.rate === "one",
      });
    case "grid":
      return planGrid(field, {...shared, ...grid});
    case "zone":
      if (!zoneMap) throw new Error("a zone plan was asked for before zones were made");
      return planZones(field, zoneMap, {...shared, ...zone});
  }
}
