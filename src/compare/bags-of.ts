import type {SamplingPlan} from "../sampling/plan.ts";

/** Bags and cores of a plan, second bags among them: each is pulled and paid for. */
export function bagsOf({units, duplicates = []}: Pick<SamplingPlan, "units" | "duplicates">): {
  readonly samples: number;
  readonly cores: number;
} {
  const cores = [...units, ...duplicates].reduce((sum, bag) => sum + bag.cores.length, 0);
  return {samples: units.length + duplicates.length, cores};
}
