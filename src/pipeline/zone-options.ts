import {minimumWidth} from "../zones/minimum-width.ts";
import type {ZoneOptions} from "../zones/zone-options.ts";
import {given} from "./given.ts";
import type {Job} from "./job.ts";

/** Options of the zone stage as the job gives them; its number of zones only where it is a number. */
export function zoneOptionsOf(job: Job): ZoneOptions {
  const {count, method, principalComponents, minWidth, scale, dropNoise, calm, minArea, smoothing, weights, restarts} =
    job.zones;
  return {
    ...given({
      count: typeof count === "number" ? count : undefined,
      method: method === "fuzzy c-means" ? ("fuzzy" as const) : method,
      components: principalComponents,
      minWidth: typeof minWidth === "object" ? minimumWidth(minWidth) : minWidth,
      scale,
      dropNoise,
      calm,
      minArea,
      smoothing,
    }),
    weights,
    restarts,
    seed: job.seed,
  };
}
