import type {Purpose} from "../prescription/prescription.ts";
import type {Strategy} from "../sampling/plan.ts";
import type {Nutrient} from "../units/nutrient.ts";

/** One product's line in a strategy's row of the ledger. */
export interface ProductLine {
  readonly code: string;
  readonly analysis: string;
  readonly nutrient: Purpose;
  /** Over the whole field, weighted by area. */
  readonly meanLbPerAcre: number;
  readonly minLbPerAcre: number;
  readonly maxLbPerAcre: number;
  readonly totalLb: number;
  /** Of its nutrient; 0 of lime. */
  readonly nutrientLb: number;
  /** Nitrogen the product carries along, lb over the field. */
  readonly nitrogenLb: number;
  /** lb of product that rounding and machine limits added (positive) or took away. */
  readonly shiftedLb: number;
  /** Dollars over the field; absent without a price. */
  readonly cost?: number;
  /** Against the baseline strategy's total; absent on the baseline itself and where it spreads no such product. */
  readonly differenceLb?: number;
}

/** One strategy in the ledger. */
export interface ComparisonRow {
  readonly strategy: Strategy;
  readonly samples: number;
  readonly cores: number;
  readonly acresPerSample: number;
  readonly products: readonly ProductLine[];
  /** Dollars over the field. Each is absent when a price for a part of it is. */
  readonly productCost?: number;
  readonly samplingCost?: number;
  /** The sampling cost spread over the years it serves. */
  readonly samplingCostPerYear?: number;
  readonly totalCost?: number;
  readonly differenceCost?: number;
  /** Acres by soil-test class, per nutrient, in the guide's own terms and order. */
  readonly acresByClass: Readonly<Partial<Record<Nutrient, readonly ClassAcres[]>>>;
}

export interface ClassAcres {
  readonly testClass: string;
  readonly acres: number;
}

/** The ledger. */
export interface Comparison {
  readonly field: string;
  readonly acres: number;
  readonly baseline: Strategy;
  readonly rows: readonly ComparisonRow[];
  /** Sentences that must be shown with the table: what the numbers do not say, and overrides in force. */
  readonly notes: readonly string[];
}
