import {distanceM} from "../geo/measure.ts";
import {METRES_PER_MILE} from "../units/factors.ts";
import type {SamplingPlan} from "./plan.ts";

/** How fast samples are taken. */
export interface Pace {
  /** Miles an hour from bag to bag. */
  readonly drivingMph: number;
  /** Miles an hour between the cores of one bag. */
  readonly walkingMph: number;
  /** To pull one core. */
  readonly secondsPerCore: number;
  /** To mix, bag and label one composite. */
  readonly secondsPerBag: number;
}

/**
 * A hand probe and a small vehicle. Assumptions: no published minutes per sample were found. Seconds per core 12 to 20 and
 * 60 s a bag, 8 mph and 2.7 mph are from memory, little certain.
 */
export const USUAL_PACE: Pace = {drivingMph: 8, walkingMph: 2.7, secondsPerCore: 15, secondsPerBag: 60};

export interface TimeOnField {
  readonly hours: number;
  /** Way from bag to bag, and between the cores of bags, metres. */
  readonly betweenM: number;
  readonly withinM: number;
}

/**
 * Hours to take all bags of a plan: way ÷ speed + cores × time of a core + bags × time of a bag.
 *
 * Checked against: 64 points of 8 cores at 12 s and 60 s a bag over 20,790 ft at 8 mph: 196 min, by hand.
 */
export function timeOnField(plan: Pick<SamplingPlan, "units" | "duplicates" | "walk">, pace: Pace): TimeOnField {
  const bags = [...plan.units, ...(plan.duplicates ?? [])].filter(({cores}) => cores.length > 0);
  let withinM = 0;
  let cores = 0;
  for (const bag of bags) {
    cores += bag.cores.length;
    bag.cores.forEach((core, i) => {
      const before = bag.cores[i - 1];
      if (before) withinM += distanceM(before, core);
    });
  }
  const betweenM = Math.max(0, (plan.walk ?? 0) - withinM);
  const way = betweenM / pace.drivingMph + withinM / pace.walkingMph;
  const seconds = cores * pace.secondsPerCore + bags.length * pace.secondsPerBag;
  return {hours: way / METRES_PER_MILE + seconds / 3600, betweenM, withinM};
}
