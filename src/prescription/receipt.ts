import type {Issue} from "../errors.ts";
import type {LonLatMultiPolygon} from "../geo/shapes.ts";

/** One shape as it stands in a hand-over file, its rate already turned into lb of product per acre. */
export interface ReadBackPolygon {
  /** The id in the file, where the format keeps one. With ids on all, order does not matter. */
  readonly id?: string;
  readonly shape: LonLatMultiPolygon;
  readonly rateLbPerAcre: number;
}

/** What a hand-over file holds, proved by reading it back. */
export interface Receipt {
  readonly file?: string;
  readonly product: string;
  readonly polygons: number;
  readonly acres: number;
  readonly distinctRates: number;
  readonly minLbPerAcre: number;
  readonly meanLbPerAcre: number;
  readonly maxLbPerAcre: number;
  readonly totalLb: number;
  /** What the prescription says. */
  readonly plannedLb: number;
  readonly checks: readonly ReceiptCheck[];
  /** All checks passed. */
  readonly passed: boolean;
  readonly issues: readonly Issue[];
}

/** One line of a receipt. */
export interface ReceiptCheck {
  readonly what: string;
  /** In words and figures, units included. */
  readonly planned: string;
  readonly inFile: string;
  readonly passed: boolean;
}
