import type {Issue} from "../../errors.ts";
import type {MultiPolygon} from "../../geo/shapes.ts";
import type {Grid} from "../../grid/grid.ts";
import type {RecordReason} from "./screen-records.ts";

/** Planned against applied on one piece of ground. Amounts are of product. */
export interface AppliedRow {
  readonly unit: string;
  readonly acres: number;
  readonly plannedLb: number;
  readonly appliedLb: number;
  readonly differenceLb: number;
  /** Of the planned amount; NaN where nothing was planned. */
  readonly differencePct: number;
  /** Ground that got any product. */
  readonly coveredAcres: number;
  /** Ground with a planned rate above zero that got none, and what it should have got. */
  readonly gapAcres: number;
  readonly gapLb: number;
  /** Ground covered more than once, and what fell on it after the first time. NaN where it cannot be told. */
  readonly overlapAcres: number;
  readonly overlapLb: number;
  /** Covered ground that got less, or more, than the planned rate by more than the tolerance. */
  readonly underAcres: number;
  readonly overAcres: number;
  /** Gaps, under and over together. */
  readonly offAcres: number;
}

export interface AppliedComparison {
  readonly id: string;
  /** How ground was told from records: strips along passes, the nearest record, or the file's own polygons. */
  readonly how: "passes" | "nearest record" | "polygons";
  readonly tolerancePct: number;
  readonly units: readonly AppliedRow[];
  /** Ground of the field that is in no unit; absent where there is none. */
  readonly elsewhere?: AppliedRow;
  /** All of the plan and the field. */
  readonly field: AppliedRow;
  /** Product that fell outside the field and the plan. */
  readonly outside: {readonly acres: number; readonly appliedLb: number};
  /** Field and outside together. */
  readonly total: {
    readonly plannedLb: number;
    readonly appliedLb: number;
    readonly differenceLb: number;
    readonly differencePct: number;
  };
  /** Sum of rate × swath × distance, or of logged amounts: the machine's own account. Absent without passes. */
  readonly loggedLb?: number;
  readonly records: {
    readonly all: number;
    readonly used: number;
    readonly byReason: Readonly<Partial<Record<RecordReason, number>>>;
  };
  readonly passes: number;
  readonly lag: LagEstimate;
  readonly issues: readonly Issue[];
}

/** How long the machine took to follow the map. */
export interface LagEstimate {
  /** Seconds from crossing into a rate to putting it out; below zero when it changed too early. */
  readonly lagS?: number;
  readonly lagM?: number;
  /** Correlation of planned and logged rate at that lag, and without one. */
  readonly correlation?: number;
  readonly correlationAtZero?: number;
  readonly refused?: string;
  /** In seconds, or in metres where the log has no time. */
  readonly unit: "s" | "m";
  readonly curve: readonly {readonly lag: number; readonly correlation: number}[];
  /** Passes long enough, and changes of the planned rate along them. */
  readonly passes: number;
  readonly changes: number;
}

/** Applied less planned, lb/ac, cell by cell; NaN where nothing was planned and nothing fell. */
export interface DifferenceMap {
  readonly grid: Grid;
  readonly values: Float64Array;
}

/** Ground with one applied rate that is off the planned one; 0 in a gap. */
export interface OffRateGround {
  readonly unit: string;
  readonly shape: MultiPolygon;
  readonly acres: number;
  readonly plannedLbPerAcre: number;
  readonly appliedLbPerAcre: number;
}
