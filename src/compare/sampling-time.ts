import {METRES_PER_MILE} from "../units/factors.ts";

/** How fast samples are taken. No published minutes per sample were found: all are settings. */
export interface SamplingPace {
  /** Seconds to pull one core. */
  readonly secondsPerCore: number;
  /** Seconds to mix, bag and label one composite. */
  readonly secondsPerSample: number;
  /** Miles an hour from core to core. */
  readonly mph: number;
}

/** Hand probe and a small vehicle; assumptions without source. */
export const USUAL_PACE: SamplingPace = {secondsPerCore: 15, secondsPerSample: 60, mph: 8};

/**
 * Hours to sample a plan: way ÷ speed + samples × (cores × time of a core + time of a bag).
 *
 * @param walkM - Way past all cores, metres; 0 when not known, which leaves driving out.
 * @param cores - Of all samples together.
 *
 * Checked against: 64 points of 8 cores at 12 s and 60 s a bag over 20,790 ft at 8 mph: 196 min.
 */
export function samplingHours(walkM: number, samples: number, cores: number, pace: SamplingPace): number {
  const driving = walkM / METRES_PER_MILE / pace.mph;
  return driving + (cores * pace.secondsPerCore + samples * pace.secondsPerSample) / 3600;
}
