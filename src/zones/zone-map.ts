import type {Issue} from "../errors.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import type {Grid} from "../grid/grid.ts";
import type {Provenance} from "../provenance.ts";
import type {SquareMetres} from "../units/quantity.ts";
import type {TidyingCost} from "./tidy-labels.ts";

export interface Zone {
  /** 1…k, in order of rising mean of the leading layer. */
  readonly id: number;
  readonly label: string;
  /** Measured on `shape`, not cells times cell area. */
  readonly area: SquareMetres;
  /** In the field's frame; part of a valid coverage of the field. */
  readonly shape: MultiPolygon;
  /** Mean of each numeric feature layer over the zone's cells, in the layer's own unit; key is the layer id. */
  readonly means: Readonly<Record<string, number>>;
  /** Share of the zone's cells in each class of each class layer, 0 to 1: by layer id, then class name. */
  readonly classShares?: Readonly<Record<string, Readonly<Record<string, number>>>>;
}

export interface ZoneMap {
  readonly grid: Grid;
  /** Zone id per cell, same order as a layer's values; 0 is outside the field. */
  readonly cells: Uint8Array;
  readonly zones: readonly Zone[];
  /** Share of the variance of the clustering layers that the zones explain, before and after tidying, 0 to 1. */
  readonly varianceExplained: {readonly clustered: number; readonly tidied: number};
  /** What tidying moved and what is still narrower than a machine needs, from the cells as clustered to those drawn. */
  readonly tidying?: TidyingCost;
  readonly issues: readonly Issue[];
  readonly madeFrom: Provenance;
}
