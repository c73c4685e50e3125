import type {Issue} from "../errors.ts";
import type {Polygon} from "../geo/shapes.ts";
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
  /** Dollars per lb of product; the user's price. */
  readonly pricePerLb?: number;
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
  };
  /** lb of product the limits and rounding added (positive) or took away over the field. */
  readonly shiftedLb: number;
  readonly issues: readonly Issue[];
}
