import {FieldError, type Issue} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import type {BuiltPrescription, Product, UnitRate} from "../prescription/prescription.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import type {Host} from "./host.ts";
import type {Job} from "./job.ts";
import {inputsOf} from "./make-rates.ts";
import type {RatedPlan} from "./rate-plans.ts";
import {runJob} from "./run.ts";

/** One unit's rates of one strategy, ready to be shown with their working. */
export interface ExplainedRate {
  readonly strategy: string;
  readonly recommendation: Recommendation;
  readonly spreadAs?: {readonly product: Product; readonly rate: UnitRate};
}

export interface RatesRun {
  readonly field: string;
  readonly strategies: readonly RatedPlan[];
  readonly issues: readonly Issue[];
}

/** @throws {FieldError} `rates/nothing-to-rate` for a job without lab results or crops, and what a run refuses. */
export async function runRates(job: Job, files: FileSet, host: Host): Promise<RatesRun> {
  if (!job.lab || (!job.rates && !job.lime)) {
    throw new FieldError("rates/nothing-to-rate", "The job has no lab results to work rates out from.", {
      hint: 'Name the lab report under "lab" and the crops under "rates".',
    });
  }
  const {field, strategies, issues} = await runJob(job, files, host);
  return {field: field.name, strategies, issues};
}

/** The tests each rate rests on: of a unit its own, of a pooled plan the means of the whole field. */
export function ratedTests({plan, values}: RatedPlan): ReadonlyMap<string, readonly UnitValue[]> {
  return new Map(inputsOf({missing: "refuse"}, plan, values, []).map(({unit, tests}) => [unit, tests]));
}

function rateOf({unitRates}: BuiltPrescription, {pooled}: SamplingPlan, unit: string): UnitRate | undefined {
  return unitRates.find((one) => one.unit === unit || (pooled && unitRates.length === 1));
}

/**
 * The rates of one unit, with the product they go out as.
 *
 * @param unit - A sample id, or `"whole field"`; case does not matter.
 * @throws {FieldError} `rates/no-such-unit`.
 */
export function explain({strategies}: RatesRun, unit: string): readonly ExplainedRate[] {
  const wanted = unit.trim().toUpperCase();
  const found = strategies.flatMap(({plan, recommendations, prescriptions}) =>
    recommendations
      .filter((recommendation) => recommendation.unit.toUpperCase() === wanted)
      .map((recommendation): ExplainedRate => {
        const carried = prescriptions
          .filter(({nutrient}) => nutrient === recommendation.nutrient)
          .map((prescription) => ({prescription, rate: rateOf(prescription, plan, recommendation.unit)}));
        // A mix may leave out the first product of a nutrient.
        const {prescription, rate} = carried.find((one) => (one.rate?.rateLbPerAcre ?? 0) > 0) ?? carried[0] ?? {};
        return {
          strategy: plan.strategy,
          recommendation,
          ...(prescription && rate && {spreadAs: {product: prescription.product, rate}}),
        };
      }),
  );
  if (found.length > 0) return found;
  const units = strategies.flatMap(({recommendations}) => recommendations.map((one) => one.unit));
  const named = [...new Set(units)];
  throw new FieldError("rates/no-such-unit", `There are no rates for a unit "${unit}".`, {
    hint: `Units with rates are ${named.slice(0, 8).join(", ")}${named.length > 8 ? ` and ${named.length - 8} more` : ""}.`,
  });
}
