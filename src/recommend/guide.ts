import type {Analyte, Method, SoilTestUnit, UnitValue} from "../lab/soil-test.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {PlannedCrop} from "./crop-years.ts";

/**
 * A published recommendation as data: its limits, coefficients and conditions, each number with how well we know it.
 *
 * A guide is evaluated in its own units; nothing of it is converted. Adding a guide is adding a file of this shape, and
 * an evaluator only where its rules are of a new kind.
 */
export interface Guide {
  readonly id: string;
  readonly title: string;
  /** Year or number that tells this edition from others whose numbers differ. */
  readonly edition: string;
  /** Named beside every number in a rate's working, as in "Tri-State 2020, Bulletin 974". */
  readonly cite: string;
  readonly authors: readonly string[];
  readonly publication: string;
  readonly year: number;
  readonly region: string;
  readonly crops: readonly GuideCrop[];
  readonly nutrients: readonly NutrientRule[];
  /** Crop years one application may serve at most. */
  readonly mostCropYears: Cited;
  /** What the guide is for and what it leaves out, a sentence each. */
  readonly validity: readonly string[];
  /** One soil and one rotation, worked out on the guide's page. */
  readonly example: {readonly tests: readonly UnitValue[]; readonly crops: readonly PlannedCrop[]};
  /** What was read, and which numbers it gave. */
  readonly sources: readonly {readonly title: string; readonly gives: string}[];
}

/** Seen in print, or remembered and still to be checked against the bulletin. */
export type Basis = "printed" | "from memory";

/** One number of a guide. */
export interface Cited {
  readonly value: number;
  readonly basis: Basis;
  readonly note?: string;
}

export interface GuideCrop {
  readonly id: string;
  readonly yieldUnit: "bu/ac" | "ton/ac";
  /** A yield goal outside is remarked on: most likely another unit or another crop. Common sense, no source. */
  readonly usualYield: readonly [low: number, high: number];
  /** lb of oxide taken away with one bushel or ton of harvest. */
  readonly removal: Readonly<Partial<Record<Nutrient, Cited>>>;
}

/** How one nutrient's rate is worked out. Guides made of tables or of sufficiency equations bring kinds of their own. */
export type NutrientRule = BuildupRule;

/**
 * Below the critical level the soil is built up and the crop's removal replaced; from there to the maintenance limit
 * removal is replaced; at the limit and above nothing is due.
 */
export interface BuildupRule {
  readonly kind: "buildup and maintenance";
  readonly nutrient: Nutrient;
  readonly test: TestNeed;
  /** The row with the highest critical level among the crops of a rotation holds for all of them. */
  readonly limits: readonly LimitRow[];
  /** lb of oxide per acre, crop year and unit of soil test under the critical level: `base + perCec × CEC`. */
  readonly buildup: {readonly base: Cited; readonly perCec?: Cited};
  /** lb of oxide per acre added to removal once a crop year. */
  readonly perCropYear?: Cited;
  /** Present where limits or buildup depend on the cation exchange capacity. */
  readonly cec?: CecNeed;
  /** The guide's words for the three classes, rising. */
  readonly classes: readonly [below: string, within: string, above: string];
}

/** The soil test a rule was made for. Any other is refused. */
export interface TestNeed {
  readonly analyte: Analyte;
  readonly methods: readonly Method[];
  readonly unit: SoilTestUnit;
  /** The unit in the guide's own spelling. */
  readonly unitLabel: string;
  /** Lower end of the sampled layer; half an inch either way lets 20 cm pass for 8 in. */
  readonly depthM: readonly [from: number, to: number];
  readonly depthLabel: string;
}

export interface LimitRow {
  readonly crops: readonly string[];
  /** Which side of the CEC boundary the row is for; absent: all soils. */
  readonly cec?: "low" | "high";
  readonly critical: Cited;
  readonly maintenance: Cited;
}

export interface CecNeed {
  /** meq/100 g that parts low from high; which side the boundary itself is on is a setting. */
  readonly boundary: Cited;
  /** meq/100 g the buildup slope was fitted for; outside it the rate carries a warning. */
  readonly fittedFor: {readonly from: number; readonly to: number; readonly basis: Basis};
}
