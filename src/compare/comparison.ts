import type {Strategy} from "../sampling/plan.ts";
import type {Nutrient} from "../units/nutrient.ts";

/** One product's line in a strategy's row of the ledger. */
export interface ProductLine {
  readonly code: string;
  readonly analysis: string;
  readonly nutrient: Nutrient;
  readonly meanLbPerAcre: number;
  readonly minLbPerAcre: number;
  readonly maxLbPerAcre: number;
  readonly totalLb: number;
  readonly nutrientLb: number;
  /** Nitrogen the product carries along, lb over the field. */
  readonly nitrogenLb: number;
  readonly cost?: number;
  /** Against the baseline strategy's total; absent on the baseline itself. */
  readonly differenceLb?: number;
}

/** One strategy in the ledger. */
export interface ComparisonRow {
  readonly strategy: Strategy;
  readonly samples: number;
  readonly cores: number;
  readonly acresPerSample: number;
  readonly products: readonly ProductLine[];
  readonly productCost?: number;
  readonly samplingCost?: number;
  readonly totalCost?: number;
  readonly differenceCost?: number;
  /** Acres by soil-test class, per nutrient, in the guide's own terms and order. */
  readonly acresByClass: Readonly<
    Partial<Record<Nutrient, readonly {readonly testClass: string; readonly acres: number}[]>>
  >;
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
