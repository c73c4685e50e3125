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
  readonly example: {
    readonly tests: readonly UnitValue[];
    readonly crops: readonly PlannedCrop[];
    readonly options?: {readonly soilGroup?: string; readonly previousCrop?: string};
  };
  /** Two-letter codes of the states it was made for. Where a field's state is given, others are refused. */
  readonly states?: readonly string[];
  /** Other published removal numbers, to be asked for by id. */
  readonly removalSets?: readonly RemovalSet[];
  /** Groups of soils with limits of their own, one of which must be named. */
  readonly soilGroups?: {readonly what: string; readonly names: readonly string[]};
  /** Ids of the published relations by which a test of another method may be converted, when asked; the first is the default. */
  readonly conversions?: readonly string[];
  /** Levels from which the same publisher expects no response, where they stand outside the rules: shown, never used. */
  readonly levels?: readonly PublishedLevel[];
  /** What was read, and which numbers it gave. */
  readonly sources: readonly {readonly title: string; readonly gives: string}[];
}

/** Seen in print, remembered and still to be checked against the bulletin, or set by the user in a guide of their own. */
export type Basis = "printed" | "from memory" | "user";

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

/** Removal of every crop from one publication, lb of oxide per bushel or ton. */
export interface RemovalSet {
  readonly id: string;
  readonly title: string;
  readonly removal: Readonly<Record<string, Readonly<Partial<Record<Nutrient, Cited>>>>>;
}

export interface PublishedLevel {
  readonly crops: readonly string[];
  readonly analyte: Analyte;
  readonly method: Method;
  readonly level: Cited;
  readonly source: string;
}

/** How one nutrient's rate is worked out. */
export type NutrientRule = BuildupRule | EquationRule | ClassTableRule;

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
  /** lb of oxide per acre and unit of soil test under the critical level, `base + perCec × CEC`: see `Buildup`. */
  readonly buildup: Buildup;
  /** lb of oxide per acre added to removal once a crop year. */
  readonly perCropYear?: Cited;
  /** Present where limits or buildup depend on the cation exchange capacity. */
  readonly cec?: CecNeed;
  /** A soil exactly at the maintenance limit still gets removal; absent: it gets nothing. */
  readonly limitIncluded?: boolean;
  /** The guide asks for an application every year below the critical level. */
  readonly yearlyBelowCritical?: boolean;
  /** The guide's words for the three classes, rising. */
  readonly classes: readonly [below: string, within: string, above: string];
  /** The word for the range between maintenance limit and zero point, where there is a drawdown. */
  readonly drawdownClass?: string;
}

export interface Buildup {
  readonly base: Cited;
  readonly perCec?: Cited;
  readonly years?: {
    /** Years the guide builds up over. */
    readonly usual: Cited;
    /** Years the guide lets one choose from; others are the user's own. */
    readonly choices?: readonly number[];
    /** True when `base` is the whole buildup, to be divided by the years; false when it is a year's part of it. */
    readonly divides: boolean;
  };
  /** Differences are taken between square roots of soil tests, not between the tests. */
  readonly squareRoot?: boolean;
}

/** The rate is an equation in soil test and yield goal; never below zero. */
export interface EquationRule {
  readonly kind: "equation";
  readonly nutrient: Nutrient;
  readonly test: TestNeed;
  readonly rows: readonly EquationRow[];
  /** The guide's words for soils that are and are not expected to respond. */
  readonly classes: readonly [below: string, above: string];
}

export interface EquationRow {
  readonly crops: readonly string[];
  /** Methods the coefficients are for; absent: all of the rule's. */
  readonly methods?: readonly Method[];
  /** Only after this crop; a row without it is for all others. */
  readonly after?: string;
  readonly equation: Equation;
  /** Soil test from which nothing is due, whatever the equation gives. */
  readonly zeroFrom?: Cited;
  /** lb of oxide given at least where anything is due. */
  readonly least?: Cited;
}

export type Equation =
  /** (intercept − slope × test) × yield goal */
  | {readonly form: "per yield"; readonly intercept: Cited; readonly slope: Cited}
  /** (level − test) × times */
  | {readonly form: "difference"; readonly level: Cited; readonly times: Cited}
  /** constant + perYield × yield goal − perTest × test − perBoth × yield goal × test */
  | {
      readonly form: "full";
      readonly constant: Cited;
      readonly perYield: Cited;
      readonly perTest: Cited;
      readonly perBoth: Cited;
    };

/** The soil test falls into a class, and the class has a rate. */
export interface ClassTableRule {
  readonly kind: "class table";
  readonly nutrient: Nutrient;
  readonly test: TestNeed;
  /** Rising. */
  readonly classes: readonly string[];
  /** Highest whole number of each class but the last, by method. */
  readonly scales: readonly {readonly methods: readonly Method[]; readonly upTo: readonly Cited[]}[];
  readonly rows: readonly ClassRateRow[];
}

export interface ClassRateRow {
  readonly crops: readonly string[];
  /** One rate for all these crops, in this order of years, from one application. */
  readonly together?: boolean;
  /** lb of oxide per acre for each class; "removal" is yield goal × removal of all the row's crops that are served. */
  readonly rates: readonly (Cited | "removal")[];
}

/** The soil test a rule was made for. Any other is refused. */
export interface TestNeed {
  readonly analyte: Analyte;
  readonly methods: readonly Method[];
  readonly unit: SoilTestUnit;
  /** The unit in the guide's own spelling. */
  readonly unitLabel: string;
  /** A second unit the guide itself gives, and the factor that makes the first of it. */
  readonly alsoIn?: {readonly unit: SoilTestUnit; readonly factor: number; readonly rule: string};
  /** Lower end of the sampled layer; half an inch either way lets 20 cm pass for 8 in. */
  readonly depthM: readonly [from: number, to: number];
  readonly depthLabel: string;
}

export interface LimitRow {
  readonly crops: readonly string[];
  /** Which side of the CEC boundary the row is for; absent: all soils. */
  readonly cec?: "low" | "high";
  /** The soil group the row is for; absent: all. */
  readonly group?: string;
  readonly critical: Cited;
  readonly maintenance: Cited;
  /** Soil test at which the rate has run out, straight down from the maintenance limit; absent: in one step there. */
  readonly zero?: Cited;
  /** Added to all limits of the row for each meq/100 g of CEC. */
  readonly perCec?: Cited;
}

export interface CecNeed {
  /** meq/100 g that parts low from high; which side the boundary itself is on is a setting. */
  readonly boundary?: Cited;
  /** The side the boundary is on in the guide; "at most" where it does not say. */
  readonly low?: "at most" | "below";
  /** meq/100 g the buildup slope was fitted for; outside it the rate carries a warning. */
  readonly fittedFor?: {readonly from: number; readonly to: number; readonly basis: Basis};
}
