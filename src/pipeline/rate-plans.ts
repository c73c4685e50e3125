import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import {findGuide} from "../recommend/find-guide.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import {type Host, step} from "./host.ts";
import type {Job} from "./job.ts";
import {prescribePlan, productsOf} from "./make-prescriptions.ts";
import {recommendPlan, resultsByPlan} from "./make-rates.ts";
import {type Remarks, remarksAt} from "./read-inputs.ts";
import {readLabFiles} from "./read-lab-files.ts";
import {rateColumn} from "./to-features.ts";

/** A plan with the rates its lab results lead to; none without results. */
export interface RatedPlan {
  readonly plan: SamplingPlan;
  readonly recommendations: readonly Recommendation[];
  readonly prescriptions: readonly BuiltPrescription[];
}

/** Lab results, rates and prescriptions of every plan. */
export async function ratePlans(
  job: Job,
  field: Field,
  plans: readonly SamplingPlan[],
  files: FileSet,
  host: Host,
  remarks: Remarks,
): Promise<{strategies: RatedPlan[]; labSentences: string[]}> {
  const bare = plans.map((plan) => ({plan, recommendations: [], prescriptions: []}));
  if (!job.lab) return {strategies: bare, labSentences: []};
  await step(host, "reading lab results");
  const report = await readLabFiles(job, field, files, remarks);
  const {byPlan, sentences, issues} = resultsByPlan(job, plans, report);
  remarks.push(...issues);
  if (!job.rates) return {strategies: bare, labSentences: sentences};
  await step(host, "working out rates");
  const guide = findGuide(job.rates.guide);
  const products = productsOf(job);
  const nutrients = products.length > 0 ? [...new Set(products.map(({nutrient}) => nutrient))] : undefined;
  const strategies = plans.map((plan, i) => {
    const {recommendations, issues: found} = recommendPlan(job, guide, plan, byPlan[i] ?? new Map(), nutrients);
    const file = `rates-${plan.strategy}`;
    remarks.push(...remarksAt({file}, found));
    const prescriptions = prescribePlan(job, field, plan, recommendations, products);
    for (const {product, issues: doubts} of prescriptions) {
      remarks.push(...remarksAt({file, column: rateColumn(product.code)}, doubts));
    }
    return {plan, recommendations, prescriptions};
  });
  return {strategies, labSentences: sentences};
}
