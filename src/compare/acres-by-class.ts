import type {Recommendation} from "../recommend/recommendation.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {StrategyResult} from "./compare-input.ts";
import type {ClassAcres, ComparisonRow} from "./comparison.ts";

type Classes = ComparisonRow["acresByClass"];

const NUTRIENTS: readonly Nutrient[] = ["N", "P2O5", "K2O"];
const WHOLE_FIELD = "whole field";
const NO_RESULT = "no result";

/**
 * Acres in each soil-test class, per strategy and nutrient.
 *
 * All strategies list the same classes, empty ones too, so that the rows can be read down. A unit without a
 * recommendation counts as "no result", last; a strategy without any has no classes.
 */
export function acresByClass(
  strategies: readonly StrategyResult[],
  order: Readonly<Partial<Record<Nutrient, readonly string[]>>>,
): Classes[] {
  return strategies.map((strategy) => {
    const classes: Partial<Record<Nutrient, ClassAcres[]>> = {};
    for (const nutrient of NUTRIENTS) {
      const mine = (strategy.recommendations ?? []).filter((r) => r.nutrient === nutrient);
      if (mine.length > 0) classes[nutrient] = acresIn(strategy, mine, namesOf(strategies, nutrient, order[nutrient]));
    }
    return classes;
  });
}

function acresIn(
  {plan}: StrategyResult,
  recommendations: readonly Recommendation[],
  names: readonly string[],
): ClassAcres[] {
  const classOf = new Map(recommendations.map(({unit, testClass}) => [unit, testClass]));
  const acres = new Map(names.map((name) => [name, 0]));
  for (const unit of plan.units) {
    const name = classOf.get(unit.id) ?? classOf.get(WHOLE_FIELD) ?? NO_RESULT;
    acres.set(name, (acres.get(name) ?? 0) + unit.area / SQUARE_METRES_PER_ACRE);
  }
  return [...acres].map(([testClass, sum]) => ({testClass, acres: sum}));
}

/** In the guide's order; classes it does not name come after, in order of the tests found in them. */
function namesOf(
  strategies: readonly StrategyResult[],
  nutrient: Nutrient,
  guideOrder: readonly string[] = [],
): readonly string[] {
  const tests = new Map<string, {sum: number; count: number}>();
  for (const {recommendations = []} of strategies) {
    for (const {nutrient: which, testClass, test} of recommendations) {
      if (which !== nutrient || guideOrder.includes(testClass)) continue;
      const {sum, count} = tests.get(testClass) ?? {sum: 0, count: 0};
      tests.set(testClass, {sum: sum + test.value, count: count + 1});
    }
  }
  const found = [...tests].map(([name, {sum, count}]) => ({name, mean: sum / count}));
  return [...guideOrder, ...found.sort((a, b) => a.mean - b.mean).map(({name}) => name)];
}
