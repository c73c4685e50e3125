import {FieldError, type Issue, isFieldError} from "../errors.ts";
import type {Layer} from "../grid/layer.ts";
import type {RecordedChoice} from "../lab/apply-choices.ts";
import {assignTests, type SamplePlace} from "../lab/assign-tests.ts";
import {toMgPerKg} from "../lab/convert.ts";
import {type MatchedTests, matchTests} from "../lab/match-tests.ts";
import {proposeMatches} from "../lab/propose-matches.ts";
import type {SoilTest, UnitValue} from "../lab/soil-test.ts";
import {valuesOf} from "../lab/values-of.ts";
import {applyPolicy} from "../recommend/apply-policy.ts";
import {cautions} from "../recommend/caution/cautions.ts";
import type {PlannedCrop} from "../recommend/crop-years.ts";
import type {Guide} from "../recommend/guide.ts";
import {poolTests} from "../recommend/pool-tests.ts";
import {type RecommendInput, recommend} from "../recommend/recommend.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import {type UnitGoal, yieldGoals} from "../recommend/yield-goals.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import type {Nutrient} from "../units/nutrient.ts";
import {given} from "./given.ts";
import type {Job} from "./job.ts";
import {policyOf, type Rates, recommendOptions} from "./rate-options.ts";

/** Lab results of a field: joined to units by id, or by the place each sample was taken. */
export interface LabReport {
  readonly tests: readonly SoilTest[];
  /** What was decided about doubtful results, each with the number it was about. */
  readonly choices: readonly RecordedChoice[];
  /** Present when samples were not taken by the plans of this job. */
  readonly places?: readonly SamplePlace[];
}

/**
 * Gives every plan its results. Each id counts for the plan that holds it; an id of another plan is not unknown.
 */
export function resultsByPlan(
  job: Job,
  plans: readonly SamplingPlan[],
  report: LabReport,
): {
  byPlan: ReadonlyMap<string, readonly UnitValue[]>[];
  /** The results the values were made of. */
  tests: readonly ReadonlyMap<string, readonly SoilTest[]>[];
  sentences: string[];
  issues: Issue[];
} {
  const converted = job.lab?.toPpm ? toMgPerKg(report.tests) : {tests: report.tests, issues: []};
  const issues: Issue[] = [...converted.issues];
  const sentences: string[] = [];
  const take = (matched: MatchedTests): MatchedTests => {
    issues.push(...matched.issues);
    sentences.push(matched.counts.sentence);
    return matched;
  };
  const {places} = report;
  const matched = places
    ? plans.map((plan) => take(assignTests(converted.tests, places, plan.units)).byUnit)
    : splitByPlan(plans, take(joinById(job, plans, converted.tests)).byUnit);
  const byPlan = matched.map((byUnit) => {
    const values = valuesOf(byUnit);
    issues.push(...values.issues);
    return values.byUnit;
  });
  return {byPlan, tests: matched, sentences, issues};
}

/** Results joined by id; for ids that are in no plan, the one planned sample each can be is proposed. */
function joinById(job: Job, plans: readonly SamplingPlan[], tests: readonly SoilTest[]): MatchedTests {
  const planned = plans.flatMap(bagsOf);
  const accepted = job.lab?.accepted ?? {};
  const proposed = proposeMatches([...new Set(tests.map(({sampleId}) => sampleId))], planned)
    .filter(({reportId}) => accepted[reportId] === undefined)
    .map(
      ({reportId, unitId, why}): Issue => ({
        code: "lab/proposed-match",
        severity: "warning",
        message: `Sample "${reportId}" of the report may be planned sample "${unitId}": ${why}.`,
        place: {featureId: unitId},
        hint: `If it is, write "accepted": {"${reportId}": "${unitId}"} under "lab" in the job.`,
      }),
    );
  try {
    const matched = matchTests(tests, planned, accepted);
    return {...matched, issues: [...matched.issues, ...proposed]};
  } catch (error) {
    if (!isFieldError(error) || error.code !== "lab/nothing-matches") throw error;
    throw new FieldError(error.code, error.message, {
      place: error.place,
      hint: error.hint,
      issues: [...error.issues, ...proposed],
    });
  }
}

function splitByPlan(
  plans: readonly SamplingPlan[],
  byUnit: ReadonlyMap<string, readonly SoilTest[]>,
): ReadonlyMap<string, readonly SoilTest[]>[] {
  return plans.map((plan) => new Map(bagsOf(plan).map((id) => [id, byUnit.get(id) ?? []])));
}

/** Ids of all bags of a plan: one for each unit, and the second ones. */
function bagsOf({units, duplicates = []}: SamplingPlan): string[] {
  return [...units, ...duplicates].map(({id}) => id);
}

/** What a plan's rates rest on beside its lab results. */
export interface RatesSetting {
  readonly rates: Rates;
  readonly guide: Guide;
  readonly nutrients: readonly Nutrient[] | undefined;
  /** Mean relative yield, for goals from yield history. */
  readonly history?: Layer<"% of mean"> | undefined;
}

/**
 * What the guide recommends for each unit of a plan, or once for the mean of a pooled one, after the user's policy.
 * Cautions about soil phosphorus travel with the rates.
 *
 * @throws {FieldError} those of `recommend`, `applyPolicy` and `yieldGoals`; `rates/no-history`.
 */
export function recommendPlan(
  {rates, guide, nutrients, history}: RatesSetting,
  plan: SamplingPlan,
  values: ReadonlyMap<string, readonly UnitValue[]>,
): {recommendations: Recommendation[]; issues: Issue[]} {
  const options = recommendOptions(rates, nutrients);
  const policy = policyOf(rates);
  const issues: Issue[] = [];
  const goals = goalsFromHistory(rates, plan, history, issues);
  const inputs = inputsOf(rates, plan, values, issues).map(
    ({unit, zone, tests}): RecommendInput => ({unit, tests, crops: cropsOf(rates, unit, zone, goals), options}),
  );
  const made = rates.missing === "zero" ? whereMeasured(guide, inputs) : inputs.map((one) => recommend(guide, one));
  const recommendations = inputs.flatMap(({unit, tests}, i) =>
    (made[i] ?? []).map((one) => {
      const decided = applyPolicy(one, policy);
      const careful = cautions({
        unit,
        // A potash rate says nothing of phosphorus.
        tests: decided.nutrient === "P2O5" ? tests : [],
        crops: rates.crops.map(({crop}) => crop),
        recommendation: decided,
        ...given({state: rates.state}),
      });
      return careful.length === 0 ? decided : {...decided, issues: [...decided.issues, ...careful]};
    }),
  );
  // Remarks on one rate stay with it and are told once for the plan as well.
  issues.push(...recommendations.flatMap((recommendation) => recommendation.issues));
  return {recommendations, issues};
}

/**
 * Recommendations of each unit for the nutrients it has a test for.
 *
 * @throws {FieldError} the first refusal where not one unit has a nutrient's test, and whatever else the guide refuses.
 */
function whereMeasured(guide: Guide, inputs: readonly RecommendInput[]): Recommendation[][] {
  const asked = inputs[0]?.options?.nutrients;
  const own = guide.nutrients.map(({nutrient}) => nutrient).filter((one) => asked === undefined || asked.includes(one));
  // A nutrient the guide has no rule for is asked too, to be refused.
  const nutrients = new Set([...own, ...(asked ?? [])]);
  const found = inputs.map((): Recommendation[] => []);
  for (const nutrient of nutrients) {
    let refused: unknown;
    inputs.forEach(({options, ...input}, i) => {
      try {
        found[i]?.push(...recommend(guide, {...input, options: {...options, nutrients: [nutrient]}}));
      } catch (error) {
        if (!isFieldError(error) || !NOT_MEASURED.includes(error.code)) throw error;
        refused ??= error;
      }
    });
    const isRated = found.some((unit) => unit.some((one) => one.nutrient === nutrient));
    if (refused !== undefined && !isRated) throw refused;
  }
  return found;
}

/** What the guide says of a unit that lacks a test. */
export const NOT_MEASURED: readonly string[] = ["recommend/no-test", "recommend/no-cec"];

/** Units with their tests; one unit, the whole field, for a pooled plan. */
export function inputsOf(
  {missing}: Pick<Rates, "missing">,
  plan: SamplingPlan,
  values: ReadonlyMap<string, readonly UnitValue[]>,
  issues: Issue[],
): {unit: string; zone?: number | undefined; tests: readonly UnitValue[]}[] {
  const measured = plan.units.map((unit) => ({...unit, tests: values.get(unit.id) ?? []}));
  if (plan.pooled) {
    const pooled = poolTests(measured);
    issues.push(...pooled.issues);
    return [{unit: "whole field", tests: pooled.tests}];
  }
  return measured
    .filter(({tests}) => missing !== "zero" || tests.length > 0)
    .map(({id, zone, tests}) => ({unit: id, zone, tests}));
}

export type Goals = ReadonlyMap<string, UnitGoal>;

/** For each crop of the job, what yield history makes of its goal in each unit; nothing when goals are as given. */
export function goalsFromHistory(
  {crops, goals}: Rates,
  plan: SamplingPlan,
  history: Layer<"% of mean"> | undefined,
  issues: Issue[],
): readonly Goals[] {
  if (goals === "as given" || plan.pooled) return [];
  if (!history) {
    throw new FieldError("rates/no-history", "Yield goals were asked for from yield history, and there is none.", {
      hint: 'Name yield logs under "layers", or set "goals" to "as given".',
    });
  }
  return crops.map(({yieldGoal}) => {
    const made = yieldGoals(yieldGoal.amount, plan.units, {percentOfMean: history});
    issues.push(...made.issues);
    return made.goals;
  });
}

/** The crops of one unit with the goals that hold there. */
export function cropsOf(
  {crops}: Rates,
  unit: string,
  zone: number | undefined,
  goals: readonly Goals[],
): PlannedCrop[] {
  return crops.map(({crop, yieldGoal, byZone, byUnit, year}, i) => {
    const own = byUnit[unit] ?? byZone[String(zone)];
    const fromHistory = own ? undefined : goals[i]?.get(unit);
    const {amount, unit: yieldUnit} = own ?? yieldGoal;
    return {
      crop,
      yieldGoal: fromHistory?.yieldGoal ?? amount,
      yieldUnit,
      ...(fromHistory && {goalFrom: fromHistory.goalFrom}),
      ...given({year}),
    };
  });
}
