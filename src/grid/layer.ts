import type {Provenance} from "../provenance.ts";
import type {Grid} from "./grid.ts";

/** Units a layer may carry. `"1"` is a plain ratio or index; `"class"` a whole number naming a class. */
export type LayerUnit = "m" | "deg" | "%" | "% of mean" | "t/ha" | "mg/kg" | "pH" | "1" | "class" | (string & {});

/**
 * One measured or derived surface on a grid.
 *
 * **NaN is no-data; nothing else is.** Length of `values` is `grid.cols * grid.rows`, index `row * cols + col`.
 */
export interface Layer<U extends LayerUnit = LayerUnit> {
  readonly id: string;
  readonly label: string;
  readonly unit: U;
  readonly grid: Grid;
  readonly values: Float64Array;
  readonly madeFrom: Provenance;
}

/** A layer whose values are indexes into `classes`; NaN outside every class. */
export interface ClassLayer extends Layer<"class"> {
  readonly classes: readonly string[];
}
