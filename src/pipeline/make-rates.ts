import type {Issue} from "../errors.ts";
import {assignTests, type SamplePlace} from "../lab/assign-tests.ts";
import {toMgPerKg} from "../lab/convert.ts";
import {type MatchedTests, matchTests} from "../lab/match-tests.ts";
import type {SoilTest, UnitValue} from "../lab/soil-test.ts";
import {valuesOf} from "../lab/values-of.ts";
import type {Guide} from "../recommend/guide.ts";
import {poolTests} from "../recommend/pool-tests.ts";
import {recommend} from "../recommend/recommend.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {Job} from "./job.ts";

/** Lab results of a field: joined to units by id, or by the place each sample was taken. */
export interface LabReport {
  readonly tests: readonly SoilTest[];
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
): {byPlan: ReadonlyMap<string, readonly UnitValue[]>[]; sentences: string[]; issues: Issue[]} {
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
    : splitByPlan(
        plans,
        take(
          matchTests(
            converted.tests,
            plans.flatMap(({units}) => units.map(({id}) => id)),
          ),
        ).byUnit,
      );
  const byPlan = matched.map((byUnit) => {
    const values = valuesOf(byUnit);
    issues.push(...values.issues);
    return values.byUnit;
  });
  return {byPlan, sentences, issues};
}

function splitByPlan(
  plans: readonly SamplingPlan[],
  byUnit: ReadonlyMap<string, readonly SoilTest[]>,
): ReadonlyMap<string, readonly SoilTest[]>[] {
  return plans.map(({units}) => new Map(units.map(({id}) => [id, byUnit.get(id) ?? []])));
}

/** What the guide recommends for each unit of a plan, or once for the mean of a pooled one. */
export function recommendPlan(
  job: Job,
  guide: Guide,
  plan: SamplingPlan,
  values: ReadonlyMap<string, readonly UnitValue[]>,
  nutrients: readonly Nutrient[] | undefined,
): {recommendations: Recommendation[]; issues: Issue[]} {
  if (!job.rates) throw new Error("rates were asked for without settings for them");
  const {rotation, buildup, cec, cecBoundary, clampCec, acceptMethod, missing} = job.rates;
  const goals = job.rates.crops;
  const cropsOf = (zone: number | undefined) =>
    goals.map(({crop, yieldGoal, byZone, year}) => ({
      crop,
      yieldGoal: byZone[String(zone)] ?? yieldGoal,
      ...(year !== undefined && {year}),
    }));
  const options = {
    ...(nutrients && {nutrients}),
    rotation,
    buildup,
    ...(cec !== undefined && {cecMeq: cec}),
    ...(cecBoundary && {cecBoundary}),
    ...(clampCec !== undefined && {clampCec}),
    ...(acceptMethod && {acceptMethod}),
  };
  const issues: Issue[] = [];
  const measured = plan.units.map((unit) => ({...unit, tests: values.get(unit.id) ?? []}));
  let inputs = measured.map(({id, tests, zone}) => ({unit: id, tests, crops: cropsOf(zone)}));
  if (plan.pooled) {
    const pooled = poolTests(measured);
    issues.push(...pooled.issues);
    inputs = [{unit: "whole field", tests: pooled.tests, crops: cropsOf(undefined)}];
  } else if (missing === "zero") {
    inputs = inputs.filter(({tests}) => tests.length > 0);
  }
  const recommendations = inputs.flatMap((input) => recommend(guide, {...input, options}));
  // Remarks on one rate stay with it and are told once for the plan as well.
  issues.push(...recommendations.flatMap((recommendation) => recommendation.issues));
  return {recommendations, issues};
}
