import {FieldError} from "../errors.ts";

/** How a yield log is cleaned. Every setting has a default; docs/methods/yield-cleaning.md says why. */
export interface CleanYieldOptions {
  /** Seconds from cutting to the flow sensor, or "estimate" to find it from neighbouring passes. Default "estimate". */
  readonly delayS?: number | "estimate";
  /** Work yield out from flow or mass, or take the given column. Default "auto": from flow where the log allows it. */
  readonly yieldFrom?: "auto" | "flow" | "given";
  /** Header width for logs that did not record it, metres. */
  readonly swathM?: number;
  /** Correct the width for ground that was already cut. Default true. */
  readonly effectiveSwath?: boolean;
  /** Count ground outside the boundary as already cut: only for boundaries drawn to the metre. Default false. */
  readonly clipSwathToBoundary?: boolean;
  /** Records with a smaller share of the header in crop are set aside. Default 0.5. */
  readonly leastSwathShare?: number;
  /** Records this far outside the boundary still belong to the field, metres. Default 5. */
  readonly boundaryToleranceM?: number;
  /** Slowest and fastest speed kept, as multiples of the median working speed. Defaults 0.5 and 2. */
  readonly slowest?: number;
  readonly fastest?: number;
  /** Seconds set aside after a pass begins and before it ends. Defaults 10 and 4. */
  readonly startRampS?: number;
  readonly endRampS?: number;
  /** Time over which grain mixes inside the machine, seconds. Default 4. */
  readonly mixingS?: number;
  /** A change of speed within the mixing time above this share of the median speed is sudden. Default 0.3. */
  readonly speedStep?: number;
  /** Passes with less usable time than this are set aside, seconds. Default 10. */
  readonly shortPassS?: number;
  /** Grain moistures outside are replaced by the pass's median, percent. Default [8, 35]. */
  readonly moistureRangePct?: readonly [number, number];
  /** Limits the user is sure of, t/ha. Default none: true zeros (drowned spots) stay. */
  readonly leastYieldTPerHa?: number;
  readonly mostYieldTPerHa?: number;
  /** Yields above upper quartile + this × interquartile range are set aside. Default 3. */
  readonly fence?: number;
  /** Records further than this many robust standard deviations from their neighbourhood are set aside. Default 3.5. */
  readonly localDeviations?: number;
  /** Level machines where their records mix, when the log names machines. Default true. */
  readonly matchMachines?: boolean;
  /**
   * Level the days of one machine too. Default false: days often part along headlands, which yield less than the
   * ground beside them with every calibration.
   */
  readonly matchDays?: boolean;
  /** Wet grain weighed for the whole log, kg: flow is scaled to it. Default no scaling. */
  readonly scaleTicketKg?: number;
}

export type ResolvedCleanOptions = Required<Omit<CleanYieldOptions, Unset>> & Pick<CleanYieldOptions, Unset>;
type Unset = "swathM" | "leastYieldTPerHa" | "mostYieldTPerHa" | "scaleTicketKg";

const DEFAULTS: ResolvedCleanOptions = {
  delayS: "estimate",
  yieldFrom: "auto",
  effectiveSwath: true,
  clipSwathToBoundary: false,
  leastSwathShare: 0.5,
  boundaryToleranceM: 5,
  slowest: 0.5,
  fastest: 2,
  startRampS: 10,
  endRampS: 4,
  mixingS: 4,
  speedStep: 0.3,
  shortPassS: 10,
  moistureRangePct: [8, 35],
  fence: 3,
  localDeviations: 3.5,
  matchMachines: true,
  matchDays: false,
};

/** @throws {FieldError} `yield/option` for a setting that makes no sense. */
export function resolveCleanOptions(options: CleanYieldOptions): ResolvedCleanOptions {
  const resolved = {...DEFAULTS, ...options};
  const atLeastZero = ["boundaryToleranceM", "startRampS", "endRampS", "mixingS", "shortPassS", "fence"] as const;
  for (const name of atLeastZero) refuse(!(resolved[name] >= 0), name, resolved[name], "zero or more");
  for (const name of ["localDeviations", "speedStep", "fastest", "swathM", "scaleTicketKg"] as const) {
    const value = resolved[name];
    refuse(value !== undefined && !(value > 0), name, value, "above zero");
  }
  refuse(!(resolved.slowest >= 0 && resolved.slowest < resolved.fastest), "slowest", resolved.slowest, "below fastest");
  const share = resolved.leastSwathShare;
  refuse(!(share >= 0 && share <= 1), "leastSwathShare", share, "between 0 and 1");
  const delay = resolved.delayS;
  refuse(delay !== "estimate" && !Number.isFinite(delay), "delayS", delay, '"estimate" or seconds');
  const [driest, wettest] = resolved.moistureRangePct;
  refuse(!(driest >= 0 && driest < wettest && wettest < 100), "moistureRangePct", driest, "two percentages, rising");
  return resolved;
}

function refuse(wrong: boolean, name: string, value: unknown, wanted: string): void {
  if (!wrong) return;
  throw new FieldError("yield/option", `Yield cleaning cannot use ${name} = ${String(value)}.`, {
    hint: `Give ${wanted}.`,
  });
}
