import type {Issue} from "../errors.ts";
import type {RecordedChoice} from "../lab/apply-choices.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import type {Receipt} from "../prescription/receipt.ts";
import type {Provenance} from "../provenance.ts";
import type {TestHistory} from "../recommend/history/test-history.ts";
import type {LimeRecommendation} from "../recommend/lime/recommend-lime.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingPlan, Strategy} from "../sampling/plan.ts";
import {given} from "./given.ts";
import type {Job} from "./job.ts";
import {type TakenPlan, takenRecord} from "./make-taken.ts";
import {VERSION} from "./version.ts";

/** What one strategy's part of the record holds. */
export interface StrategyRecord {
  readonly strategy: Strategy;
  readonly plan: SamplingPlan;
  readonly recommendations: readonly Recommendation[];
  readonly lime: readonly LimeRecommendation[];
  readonly histories: readonly TestHistory[];
  readonly drawdowns: readonly object[];
  readonly prescriptions: readonly BuiltPrescription[];
  readonly limeRates?: BuiltPrescription<"lime">;
  readonly receipts: readonly Receipt[];
}

export interface RunFacts {
  readonly job: Job;
  readonly field: {readonly name: string; readonly areaM2: number; readonly frame: unknown};
  readonly steps: readonly Provenance[];
  readonly strategies: readonly StrategyRecord[];
  readonly labSentences: readonly string[];
  readonly choices: readonly RecordedChoice[];
  readonly taken?: readonly TakenPlan[];
  /** How the number of zones was chosen, which edits were made and what was judged. */
  readonly zones?: object | undefined;
  readonly issues: readonly Issue[];
}

export interface Digest {
  readonly sha256: string;
  readonly bytes: number;
}

/**
 * The record of a run: enough to make it again and to see what it rested on. No clock, no machine: same input, same
 * bytes. Quantities in `job` and in the options of steps are in the units used inside: metres, square metres, lb/ac.
 */
export function runRecord(
  facts: RunFacts,
  inputs: Readonly<Record<string, Digest>>,
  outputs: Readonly<Record<string, Digest>>,
): string {
  const {job, field, steps, strategies, labSentences, choices, taken, zones, issues} = facts;
  const ofEach = <T extends object>(pick: (strategy: StrategyRecord) => readonly T[]) =>
    strategies.flatMap((one) => pick(one).map((item) => ({strategy: one.strategy, ...item})));
  const some = <T>(name: string, items: readonly T[]) => (items.length > 0 ? {[name]: items} : {});
  const record = {
    kind: "run record",
    program: {name: "loamwright", version: VERSION},
    caution: CAUTION,
    field,
    seed: job.seed,
    job,
    inputs,
    outputs,
    steps,
    ...(zones && {zones}),
    ...(taken && {taken: taken.map(takenRecord)}),
    lab: labSentences,
    ...some("choices", choices),
    rates: ofEach(({recommendations}) => recommendations),
    ...some(
      "lime",
      ofEach(({lime}) => lime),
    ),
    ...some(
      "histories",
      ofEach(({histories}) => histories),
    ),
    ...some(
      "yearsToCritical",
      ofEach(({drawdowns}) => drawdowns),
    ),
    ...some(
      "prescriptions",
      ofEach(({prescriptions, limeRates}) =>
        [...prescriptions, ...(limeRates ? [limeRates] : [])].flatMap(machineFacts),
      ),
    ),
    receipts: ofEach(({receipts}) => receipts),
    issues,
  };
  return `${JSON.stringify(record, null, 1)}\n`;
}

/** What levels, setbacks, merging and loads made of a prescription; nothing where none of them was asked for. */
function machineFacts(prescription: BuiltPrescription): object[] {
  const {product, nutrient, totals, shiftedBy, levels, setbacks, merging, simplified, supply} = prescription;
  if (!levels && !setbacks && !merging && !simplified && !supply.loads && nutrient !== "lime") return [];
  const facts = {levels, setbacks, merging, simplified};
  return [{product: product.analysis, nutrient, totalLb: totals.productLb, shiftedBy, ...given(facts), ...supply}];
}

/** Stands in every export. */
export const CAUTION =
  "Check against local nutrient-management code and setback rules, have a licensed or certified adviser sign, and verify the controller's reading of the file before spreading.";
