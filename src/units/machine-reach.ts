import {METRES_PER_FOOT, METRES_PER_MILE} from "./factors.ts";
import {type Metres, metres} from "./quantity.ts";

/** What decides how fine a pattern a machine can follow. */
export interface MachineReach {
  /** Width it treats at one rate. Default 100 ft, a wide spinner spreader. */
  readonly swath?: Metres | undefined;
  /** Metres a second. Default 15 mph. */
  readonly speed?: number | undefined;
  /** Seconds from one rate to the next. Default 4 s. */
  readonly rateChange?: number | undefined;
}

/**
 * The least width of ground that can have a rate of its own: the swath, or the way driven while the rate changes when
 * that is longer. Which way the passes run is not known here, so both must fit.
 *
 * Source: rate changes of spinner spreaders take 3 to 5 s (University of Georgia Extension, Precision Ag, 2024): 66 to
 * 110 ft at 15 mph. Swath and speed: common practice, no source.
 */
export function minimumWidth(machine: MachineReach = {}): Metres {
  const {swath = 100 * METRES_PER_FOOT, speed = (15 * METRES_PER_MILE) / 3600, rateChange = 4} = machine;
  return metres(Math.max(swath, speed * rateChange));
}
