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

/** What a rate was worked out for. */
export type Purpose = Nutrient | "lime";

/** What the machine can do and the user allows; lb of product per acre. */
export interface MachineLimits {
  readonly stepLbPerAcre: number;
  readonly minLbPerAcre: number;
  readonly maxLbPerAcre: number;
  /** What becomes of a rate above zero but below the minimum. Zero itself always stays zero. */
  readonly belowMin: "zero" | "minimum";
  /** Rate outside all polygons. */
  readonly outsideLbPerAcre: number;
  /** Rate where the controller does not know where it is. Default: the rate outside. */
  readonly lostPositionLbPerAcre?: number;
  /** Rate before the map has spoken. Default: the rate outside. */
  readonly defaultLbPerAcre?: number;
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
export interface Prescription<For extends Purpose = Purpose> {
  readonly strategy: Strategy;
  readonly product: Product;
  /** What the rate was worked out for; nutrients that are in the product besides ride along. */
  readonly nutrient: For;
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
  /** lb of product added (positive) to what the guide calls for, or taken away, over the field: see `RateShift`. */
  readonly shiftedLb: number;
  readonly issues: readonly Issue[];
}

/** A prescription as it was built, with what explains it; a machine needs only the `Prescription` in it. */
export interface BuiltPrescription<For extends Purpose = Purpose> extends Prescription<For> {
  readonly unitRates: readonly UnitRate[];
  readonly shiftedBy: RateShift;
  readonly steps: RateSteps;
  /** What each sampling unit gets, whatever polygons it lies in. */
  readonly spread: readonly UnitSpread[];
  /** Rates in use, rising, where their number was limited. */
  readonly levels?: readonly number[];
  readonly setbacks?: readonly SetbackTaken[];
  readonly merging?: Merging;
  /** Present where outlines were simplified to keep to a number of corners. */
  readonly simplified?: Simplified;
  readonly supply: Supply;
}

/** From a unit's nutrient rate to the rate the machine gets. */
export interface UnitRate {
  readonly unit: string;
  /** Ids of the polygons that carry the rate; merged ones may carry those of other units too. */
  readonly polygons: readonly string[];
  readonly acres: number;
  /** lb of the nutrient; of lime, of the material. */
  readonly nutrientLbPerAcre: number;
  /** Product that holds exactly that, before rounding and limits. */
  readonly exactLbPerAcre: number;
  /** After rounding to the step, before limits. */
  readonly roundedLbPerAcre: number;
  /** After limits and, where asked for, levels; before merging and setbacks. */
  readonly rateLbPerAcre: number;
  /** The limit that moved it, if one did. */
  readonly heldBy?: "minimum" | "maximum";
  readonly working: readonly WorkingStep[];
}

/** What a sampling unit gets on the ground. */
export interface UnitSpread {
  readonly unit: string;
  readonly acres: number;
  /** By its own test, rounded and limited. */
  readonly ownLbPerAcre: number;
  /** Mean over its ground after levels, merging and setbacks. */
  readonly meanLbPerAcre: number;
  /** Share of a change of its own rate that reaches the ground: 1 without setbacks. */
  readonly share: number;
}

/** lb of product added (positive) or taken away over the field, by reason. Adds up to `shiftedLb`. */
export interface RateShift {
  readonly roundingLb: number;
  readonly minimumLb: number;
  readonly maximumLb: number;
  /** The rest are absent where nothing of the kind was asked for. */
  readonly levelsLb?: number;
  readonly outlinesLb?: number;
  readonly setbacksLb?: number;
  readonly mergingLb?: number;
}

/** What one setback took out of one prescription. Where setbacks overlap, the ground counts for the strictest. */
export interface SetbackTaken {
  readonly name: string;
  readonly kind: string;
  /** Ids of its polygons. */
  readonly polygons: readonly string[];
  readonly acres: number;
  /** lb that would have gone there, and lb that do. */
  readonly openLb: number;
  readonly lb: number;
}

/** What merging of polygons moved. */
export interface Merging {
  readonly leastAreaM2: number;
  readonly leastWidthM: number;
  readonly withinLbPerAcre: number;
  /** Polygons joined to a neighbour of nearly the same rate, and because they were too small or too narrow. */
  readonly close: number;
  readonly small: number;
  /** Ground whose rate changed, lb put on it and taken off it; both positive. */
  readonly acresMoved: number;
  readonly lbAdded: number;
  readonly lbTaken: number;
  /** Ids of polygons still too small or too narrow, having no neighbour to join. */
  readonly left: readonly string[];
}

/** What a limit on corners cost. */
export interface Simplified {
  readonly mostVertices: number;
  readonly before: number;
  readonly after: number;
  /** Wiggles of inner borders up to this size went, metres. */
  readonly toleranceM: number;
  /** Ground that changed its unit. */
  readonly acresMoved: number;
}

/** What the product comes to on the road and on the bill. */
export interface Supply {
  /** Absent without a price. */
  readonly dollars?: number;
  readonly gallons?: number;
  /** Loose; absent where the weight of the product is not known. */
  readonly cubicFeet?: number;
  readonly loads?: Loads;
}

export interface Loads {
  /** The partial one included. */
  readonly count: number;
  readonly lbPerLoad: number;
  readonly lastLb: number;
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
