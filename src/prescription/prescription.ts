import type {Issue} from "../errors.ts";
import type {Polygon} from "../geo/shapes.ts";
import type {WorkingStep} from "../recommend/recommendation.ts";
import type {Strategy} from "../sampling/plan.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {SquareMetres} from "../units/quantity.ts";

/** A fertilizer by its guaranteed analysis, percent by weight N - P2O5 - K2O. */
export interface Product {
  /** Short name for column headings: letters and digits, at most 5. */
  readonly code: string;
  readonly name: string;
  /** As printed on the bag: "11-52-0". */
  readonly analysis: string;
  readonly percent: Readonly<Record<Nutrient, number>>;
  /** The fourth number of an analysis, where it has one. */
  readonly sulfurPct?: number;
  /** Dollars per lb of product; the user's price. */
  readonly pricePerLb?: number;
  /** Weight of a fluid; absent on dry products. */
  readonly lbPerGallon?: number;
}

/** What the machine can do and the user allows; lb of product per acre. */
export interface MachineLimits {
  readonly stepLbPerAcre: number;
  readonly minLbPerAcre: number;
  readonly maxLbPerAcre: number;
  /** What becomes of a rate above zero but below the minimum. Zero itself always stays zero. */
  readonly belowMin: "zero" | "minimum";
  /** Rate outside all polygons. */
  readonly outsideLbPerAcre: number;
}

/** One polygon, one rate: single part, valid, no overlap with another. */
export interface RatePolygon {
  /** Id of the unit, with `-2`, `-3` … after it for the second and later pieces of a unit in several parts. */
  readonly unit: string;
  readonly polygon: Polygon;
  readonly area: SquareMetres;
  readonly rateLbPerAcre: number;
}

/** One product on one field for one strategy, ready for a machine. */
export interface Prescription {
  readonly strategy: Strategy;
  readonly product: Product;
  /** The nutrient the rate was worked out for; others in the product ride along. */
  readonly nutrient: Nutrient;
  readonly polygons: readonly RatePolygon[];
  readonly limits: MachineLimits;
  readonly totals: {
    readonly area: SquareMetres;
    readonly productLb: number;
    readonly meanLbPerAcre: number;
    /** Each nutrient the product carries, lb over the field. */
    readonly nutrientLb: Readonly<Record<Nutrient, number>>;
    readonly sulfurLb?: number;
    readonly gallons?: number;
  };
  /** lb of product the limits and rounding added (positive) or took away over the field. */
  readonly shiftedLb: number;
  readonly issues: readonly Issue[];
}

/** A prescription as it was built, with what explains it; a machine needs only the `Prescription` in it. */
export interface BuiltPrescription extends Prescription {
  readonly unitRates: readonly UnitRate[];
  readonly shiftedBy: RateShift;
  readonly steps: RateSteps;
}

/** From a unit's nutrient rate to the rate the machine gets. */
export interface UnitRate {
  readonly unit: string;
  /** Ids of the polygons that carry the rate. */
  readonly polygons: readonly string[];
  readonly acres: number;
  readonly nutrientLbPerAcre: number;
  /** Product that holds exactly that, before rounding and limits. */
  readonly exactLbPerAcre: number;
  /** After rounding to the step, before limits. */
  readonly roundedLbPerAcre: number;
  readonly rateLbPerAcre: number;
  /** The limit that moved it, if one did. */
  readonly heldBy?: "minimum" | "maximum";
  readonly working: readonly WorkingStep[];
}

/** lb of product added (positive) or taken away over the field, by reason. Adds up to `shiftedLb`. */
export interface RateShift {
  readonly roundingLb: number;
  readonly minimumLb: number;
  readonly maximumLb: number;
}

/** Changes of rate across the borders between neighbouring polygons, where spreaders are furthest off. */
export interface RateSteps {
  /** Pairs of polygons with a common border. */
  readonly borders: number;
  /** Borders whose two sides have different rates. */
  readonly changes: number;
  /** Borders where the rate changes by more than `largeStepLbPerAcre`. */
  readonly large: number;
  readonly largeStepLbPerAcre: number;
  readonly largestLbPerAcre: number;
  /** Ids of the two polygons with the largest change; the first such pair. */
  readonly largestBetween?: readonly [string, string];
}
