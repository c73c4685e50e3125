import type {SamplingAdvice} from "../compare/advise-sampling.ts";
import type {BreakEven} from "../compare/break-even.ts";
import type {Certainty} from "../compare/certainty.ts";
import type {Comparison} from "../compare/comparison.ts";
import type {DifferenceMap} from "../compare/difference-map.ts";
import type {HoldOutResult} from "../compare/hold-out.ts";
import type {Money} from "../compare/money.ts";
import type {AboveLimit, OverUnder} from "../compare/over-and-under.ts";
import type {PayOff} from "../compare/pay-off.ts";
import type {GuideRow, SensitivityCell} from "../compare/sensitivity.ts";
import type {ThinResult} from "../compare/thin-grid.ts";
import type {Issue} from "../errors.ts";
import type {MultiPolygon} from "../geo/shapes.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import type {Provenance} from "../provenance.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingPlan, Strategy} from "../sampling/plan.ts";

/** One strategy's plan and what came of it. */
export interface ReportStrategy {
  readonly plan: SamplingPlan;
  readonly recommendations: readonly Recommendation[];
  readonly prescriptions: readonly BuiltPrescription[];
}

/** What the record must name so that the run can be made again. */
export interface ReportRecord {
  readonly program: {readonly name: string; readonly version: string};
  readonly seed: number;
  readonly inputs: readonly {readonly name: string; readonly sha256: string; readonly bytes: number}[];
  readonly steps: readonly Provenance[];
  /** Every option in force, defaults included. */
  readonly options: unknown;
  /** How plan and lab report were reconciled. */
  readonly labSentences: readonly string[];
}

/**
 * Everything both reports are made from, as plain data. Maps, tables, CSV and JSON are drawn from the same objects, so that
 * a table cannot say another thing than a map.
 *
 * What is absent is left out of the reports; nothing is invented in its place.
 */
export interface ReportModel {
  readonly farm?: string | undefined;
  readonly field: string;
  readonly acres: number;
  /** What the rates are for, as in "corn 195 bu/ac, then soybean 58 bu/ac". */
  readonly crops: string;
  /** Day of the report as it should be printed; the program has no clock. */
  readonly date?: string | undefined;
  readonly outline: MultiPolygon;
  readonly strategies: readonly ReportStrategy[];
  /** The strategy whose rates go to the machine; absent until one is chosen. */
  readonly spread?: Strategy;
  readonly comparison: Comparison;
  readonly certainty?: Certainty;
  readonly advice?: SamplingAdvice;
  readonly money?: Money;
  readonly differences?: readonly DifferenceMap[];
  readonly overUnder?: readonly OverUnder[];
  readonly aboveLimits?: readonly AboveLimit[];
  readonly holdOuts?: readonly HoldOutResult[];
  readonly thinned?: readonly ThinResult[];
  readonly pay?: PayOff;
  readonly breakEvens?: readonly BreakEven[];
  readonly sensitivity?: readonly SensitivityCell[];
  readonly guides?: readonly GuideRow[];
  readonly issues: readonly Issue[];
  readonly record: ReportRecord;
  /** Stands on every page. */
  readonly caution: string;
}
