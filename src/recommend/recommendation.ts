import type {Issue} from "../errors.ts";
import type {Nutrient} from "../units/nutrient.ts";

/** One line of a rate's working: what was done, with the numbers in it, and where the rule stands. */
export interface WorkingStep {
  /** As in "buildup, a quarter of it a year: (20 − 17) × 5". */
  readonly text: string;
  readonly value: number;
  readonly unit: string;
  /** Guide and edition, page or table where known, or the user's setting. */
  readonly source: string;
  /** Where the rule's numbers come from: seen in print, or remembered and still to be checked against the bulletin. */
  readonly basis: "printed" | "from memory" | "user" | "arithmetic";
}

/** How much of one nutrient one unit needs, and why. */
export interface Recommendation {
  /** Sampling unit id, or `"whole field"` for a pooled plan. */
  readonly unit: string;
  readonly nutrient: Nutrient;
  /** lb of oxide per acre for all crops one application serves. Zero is a valid rate. */
  readonly rateLbPerAcre: number;
  /** The test it rests on, in the guide's unit. */
  readonly test: {readonly value: number; readonly unit: string; readonly method: string};
  /** Soil-test class in the guide's own terms: below the critical level, maintenance, above. */
  readonly testClass: string;
  /** The guide's classes for this soil, rising, with the soil test each but the last one ends at. */
  readonly classLimits?: {readonly names: readonly string[]; readonly upTo: readonly number[]};
  /** Soil test from which the guide builds nothing up or expects no response, in the guide's unit. */
  readonly criticalLevel?: number;
  /** The part of the guide's rate that raises the soil test; the rest replaces what crops take or serves the crop. */
  readonly buildupLbPerAcre?: number;
  /** What the guide itself gives, where a policy changed it. */
  readonly guideLbPerAcre?: number;
  readonly guide: {readonly id: string; readonly title: string; readonly edition: string};
  readonly working: readonly WorkingStep[];
  readonly issues: readonly Issue[];
}
