import type {FieldError, Issue} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import type {Layer} from "../grid/layer.ts";
import type {RecordedChoice} from "../lab/apply-choices.ts";
import {idKey} from "../lab/sample-id.ts";
import type {SoilTest, UnitValue} from "../lab/soil-test.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import {drawDown} from "../recommend/history/draw-down.ts";
import type {TestHistory} from "../recommend/history/test-history.ts";
import type {Drawdown} from "../recommend/history/years-to-critical.ts";
import type {LimeRecommendation} from "../recommend/lime/recommend-lime.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {explainRefusal} from "./explain-refusal.ts";
import {given} from "./given.ts";
import {type Host, step} from "./host.ts";
import type {Job} from "./job.ts";
import {leavesOut, leftOut, unlessLeftOut} from "./leave-out.ts";
import {historiesOf} from "./make-history.ts";
import {limePlan} from "./make-lime.ts";
import {prescribeLime, prescribePlan, productsOf} from "./make-prescriptions.ts";
import {type RatesSetting, recommendPlan, resultsByPlan} from "./make-rates.ts";
import {readSetbacks} from "./make-setbacks.ts";
import {surfaceOf} from "./make-surfaces.ts";
import {checkUnitNames, guideOf, recommendOptions} from "./rate-options.ts";
import {heldOutIds} from "./read-hold-outs.ts";
import {type Remarks, remarksAt} from "./read-inputs.ts";
import {readLabFiles} from "./read-lab-files.ts";
import {rateColumn} from "./to-features.ts";
import {limeNotAsked, unratedGround} from "./unrated-ground.ts";

/** A plan with what its lab results lead to; nothing without results. */
export interface RatedPlan {
  readonly plan: SamplingPlan;
  /** Lab results by unit, as the guide gets them. */
  readonly values: ReadonlyMap<string, readonly UnitValue[]>;
  /** The results those values were made of, by unit; absent without any. */
  readonly tests?: ReadonlyMap<string, readonly SoilTest[]>;
  readonly recommendations: readonly Recommendation[];
  readonly lime: readonly LimeRecommendation[];
  readonly histories: readonly TestHistory[];
  /** Years of cropping alone until a high test is at the critical level, by unit and nutrient. */
  readonly drawdowns: readonly {readonly unit: string; readonly nutrient: Nutrient; readonly drawdown: Drawdown}[];
  readonly prescriptions: readonly BuiltPrescription<Nutrient>[];
  /** Where the job's machine has limits for lime. */
  readonly limeRates?: BuiltPrescription<"lime">;
}

/** What was found on the way to the rates of all plans. */
export interface RatedPlans {
  readonly strategies: readonly RatedPlan[];
  /** Plans and report reconciled, in words. */
  readonly labSentences: readonly string[];
  readonly choices: readonly RecordedChoice[];
  /** What the rates rest on; absent without them. */
  readonly setting?: RatesSetting;
}

/**
 * Lab results, rates, lime and prescriptions of every plan.
 *
 * @param others - Plans that the samples were not taken by, with the refusal of results that bear their ids.
 * @param history - Mean relative yield, where the job has yield logs.
 * @throws {FieldError} `lab/other-plan`, and what readers, guide and machine refuse.
 */
export async function ratePlans(
  job: Job,
  field: Field,
  plans: readonly SamplingPlan[],
  files: FileSet,
  host: Host,
  remarks: Remarks,
  others: ReadonlyMap<SamplingPlan, FieldError>,
  history?: Layer<"% of mean">,
): Promise<RatedPlans> {
  const bare = plans.map(unrated);
  if (!job.lab) return {strategies: bare, labSentences: [], choices: []};
  await step(host, "reading lab results");
  const report = await readLabFiles(job, field, files, remarks);
  const heldOut = await heldOutIds(job, field, files);
  const tests = report.tests.filter(({sampleId}) => !heldOut.has(idKey(sampleId)));
  const {byPlan, tests: matched, sentences, issues} = resultsByPlan(job, plans, {...report, tests});
  remarks.push(...issues);
  const histories = await historiesOf(job, field, plans, byPlan, files, remarks);
  const tested = bare.map((one, i) => ({
    ...one,
    values: byPlan[i] ?? new Map(),
    tests: matched[i] ?? new Map(),
    histories: histories[i] ?? [],
  }));
  const found = {labSentences: sentences, choices: report.choices};
  const setbacks = await readSetbacks(job, field, files, remarks);
  await step(host, "working out rates");
  const without = new Set<SamplingPlan>();
  for (const [plan, other] of others) {
    const bearsItsIds = [...(matched[plans.indexOf(plan)]?.values() ?? [])].some((results) => results.length > 0);
    if (!bearsItsIds) continue;
    if (!leavesOut(job)) throw other;
    without.add(plan);
    remarks.push(leftOut(plan, other));
  }
  const rate = (one: RatedPlan, work: () => RatedPlan): RatedPlan => {
    const made = without.has(one.plan) ? undefined : unlessLeftOut(job, one.plan, remarks, work);
    if (made) return made;
    without.add(one.plan);
    return unrated(one.plan);
  };
  const limed = tested.map((one) =>
    rate(one, () => {
      const {lime, issues: doubts} = explainRefusal(job, undefined, remarks, () => limePlan(job, one.plan, one.values));
      remarks.push(...remarksAt({file: `rates-${one.plan.strategy}`}, doubts));
      const limeRates = prescribeLime(job, field, one.plan, lime, setbacks);
      if (limeRates) remarks.push(...remarksAt({file: `rates-${one.plan.strategy}`}, limeRates.issues));
      remarks.push(...remarksAt({file: `rates-${one.plan.strategy}`}, limeNotAsked(job, one.plan, one.values)));
      return {...one, lime, ...(limeRates && {limeRates})};
    }),
  );
  const {rates} = job;
  if (!rates) {
    for (const one of limed) tellUnrated(one, [], report.choices, remarks);
    return {strategies: limed, ...found};
  }
  checkUnitNames(
    rates,
    plans.flatMap(({units}) => units.map(({id}) => id)),
  );
  const products = productsOf(job);
  const nutrients = products.length > 0 ? [...new Set(products.map(({nutrient}) => nutrient))] : undefined;
  if (products.length === 0) remarks.push(NO_PRODUCTS);
  const guide = guideOf(rates, files);
  const setting = {rates, guide, nutrients, history};
  const explained = <T>(work: () => T): T => explainRefusal(job, guide, remarks, work);
  const strategies = limed.map((one) =>
    rate(one, () => {
      const {plan, values} = one;
      const {recommendations, issues: doubts} = explained(() => recommendPlan(setting, plan, values));
      const file = `rates-${plan.strategy}`;
      remarks.push(...remarksAt({file}, doubts));
      const between: Issue[] = [];
      const surface = surfaceOf(job, field, setting, plan, values, products, between);
      remarks.push(...remarksAt({file}, between));
      const prescriptions = explained(() =>
        prescribePlan(job, field, plan, recommendations, products, setbacks, surface),
      );
      // A surface gives every acre its rate.
      const spread = surface ? [] : (nutrients ?? guide.nutrients.map(({nutrient}) => nutrient));
      tellUnrated({...one, recommendations}, spread, report.choices, remarks);
      for (const {product, issues: own} of prescriptions) {
        remarks.push(...remarksAt({file, column: rateColumn(product.code)}, own));
      }
      return {...one, recommendations, drawdowns: drawdownsOf(setting, recommendations, values), prescriptions};
    }),
  );
  return {strategies, ...found, setting};
}

const NO_PRODUCTS: Issue = {
  code: "rates/no-products",
  severity: "note",
  message: "The job names no products, so rates of nutrients are worked out and no rate files of them are written.",
  hint: 'Name what is spread under "products", as in {"analysis": "11-52-0", "nutrient": "P2O5"}.',
};

function tellUnrated(
  one: RatedPlan,
  spread: readonly Nutrient[],
  choices: readonly RecordedChoice[],
  remarks: Remarks,
): void {
  remarks.push(...remarksAt({file: `rates-${one.plan.strategy}`}, unratedGround(one, spread, choices)));
}

/** A plan nobody has lab results of yet. */
export function unrated(plan: SamplingPlan): RatedPlan {
  return {plan, values: new Map(), recommendations: [], lime: [], histories: [], drawdowns: [], prescriptions: []};
}

function drawdownsOf(
  {rates, guide}: RatesSetting,
  recommendations: readonly Recommendation[],
  values: ReadonlyMap<string, readonly UnitValue[]>,
): RatedPlan["drawdowns"] {
  const crops = rates.crops.map(({crop, yieldGoal, year}) => ({crop, yieldGoal: yieldGoal.amount, ...given({year})}));
  const options = recommendOptions(rates, undefined);
  return recommendations.flatMap((recommendation) => {
    const {unit, nutrient} = recommendation;
    const cec = values.get(unit)?.find(({analyte}) => analyte === "CEC")?.value ?? rates.cec;
    const drawdown = drawDown(guide, recommendation, crops, cec, options);
    return drawdown ? [{unit, nutrient, drawdown}] : [];
  });
}
