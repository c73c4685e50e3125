import type {Core, SamplingPlan, SamplingUnit, Strategy} from "../sampling/plan.ts";

/** What a plan is called in print. */
export const PLAN_KINDS: Readonly<Record<Strategy, string>> = {
  "whole-field": "whole-field",
  grid: "grid",
  zone: "zone",
};

/** One bag the crew fills. */
export interface Bag {
  readonly id: string;
  /** Ground it is taken from. */
  readonly unit: SamplingUnit;
  readonly cores: readonly Core[];
  /** A second bag of its unit. */
  readonly again: boolean;
}

/** Every bag of a plan in the order they are filled: a unit's second bag follows its first. */
export function bagsOf(plan: SamplingPlan, units: readonly SamplingUnit[] = plan.units): Bag[] {
  return units.flatMap((unit) => [
    {id: unit.id, unit, cores: unit.cores, again: false},
    ...(plan.duplicates ?? [])
      .filter((bag) => bag.of === unit.id)
      .map(({id, cores}) => ({id, unit, cores, again: true})),
  ]);
}

/** The way past all cores: as it was worked out, else from the gate straight from core to core. */
export function wayOf(plan: SamplingPlan, gate?: {readonly x: number; readonly y: number}) {
  return plan.route?.line ?? [...(gate ? [gate] : []), ...bagsOf(plan).flatMap(({cores}) => cores)];
}
