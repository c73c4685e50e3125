import type {MultiPolygon} from "../../geo/shapes.ts";
import type {SquareMetres} from "../../units/quantity.ts";

/**
 * One product as a machine logged putting it out, in the field's frame; record `i` is index `i` of every column.
 *
 * Columns a machine did not log are absent. NaN is "not recorded" for that row. Records stand in file order.
 */
export interface AppliedLog {
  readonly id: string;
  /** Position of the receiver, metres in the field's frame. */
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** lb of product per acre. One of this and `massLb` is there. */
  readonly rateLbPerAcre?: Float64Array;
  /** lb of product put out since the record before. */
  readonly massLb?: Float64Array;
  /** Seconds since any fixed moment. */
  readonly timeS?: Float64Array;
  readonly swathM?: Float64Array;
  /** Driven since the record before. */
  readonly distanceM?: Float64Array;
  readonly speedMPerS?: Float64Array;
  /** 1 working, 0 switched off. */
  readonly working?: Float64Array;
  readonly pass?: Float64Array;
  /** Number of the machine or of the log, where several are put together. */
  readonly machine?: Float64Array;
}

/** What a file of polygons says was put out: one rate on one piece of ground. */
export interface AppliedPolygon {
  readonly shape: MultiPolygon;
  readonly rateLbPerAcre: number;
}

/** Ground with one planned rate. */
export interface PlannedUnit {
  readonly id: string;
  readonly shape: MultiPolygon;
  /** True area, which need not be that of the shape in the frame to the last digit. */
  readonly area: SquareMetres;
  readonly rateLbPerAcre: number;
}

/** What was to be put out. */
export interface RatePlan {
  /** Valid shapes without overlap, in the field's frame. */
  readonly units: readonly PlannedUnit[];
  /** Planned on ground of the field that is in no unit. */
  readonly elsewhereLbPerAcre: number;
}

export interface AppliedOptions {
  /** Width spread, where the log has none. */
  readonly swathM?: number | undefined;
  /** A rate further than this from the planned one is off, percent of the planned rate. Default 10. */
  readonly tolerancePct?: number | undefined;
  /** Cells of the picture of covered ground; larger on very large fields. Default 0.5 m. */
  readonly cellM?: number | undefined;
}
