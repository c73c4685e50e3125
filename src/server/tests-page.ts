import type {SoilTest, UnitValue} from "../lab/soil-test.ts";
import type {StrategyRun} from "../pipeline/run.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {Nutrient} from "../units/nutrient.ts";
import type {BagTests, BagValue, PooledTest, ReadTest, TestsPage} from "./api-types.ts";
import type {Viewed} from "./make-results.ts";

/** What the lab found in each bag, and what the guide made of it; nothing of plans without results. */
export function testsOf({run}: Viewed): TestsPage {
  return {
    bags: run.strategies.flatMap((strategy) => bagsOf(strategy)),
    pooled: run.strategies.filter(({plan}) => plan.pooled).flatMap(pooledOf),
  };
}

function bagsOf({plan, values, tests, recommendations}: StrategyRun): BagTests[] {
  return plan.units.flatMap(({id, area}): BagTests[] => {
    const found = (values.get(id) ?? []).map(
      (value): BagValue => ({...value, samples: (tests?.get(id) ?? []).filter((test) => isOf(test, value)).map(shown)}),
    );
    if (found.length === 0) return [];
    const own = recommendations.filter(({unit}) => unit === id);
    const read = plan.pooled
      ? recommendations.flatMap((pooled) => asPooled(pooled, found))
      : own.map((one) => readBy(one, found));
    return [{strategy: plan.strategy, unit: id, acres: area / SQUARE_METRES_PER_ACRE, values: found, read}];
  });
}

function pooledOf({plan, values, recommendations}: StrategyRun): PooledTest[] {
  const bags = plan.units.filter(({id}) => (values.get(id) ?? []).length > 0).length;
  return recommendations.map((one) => ({...readBy(one, []), strategy: plan.strategy, bags}));
}

function readBy({nutrient, test, testClass}: Recommendation, values: readonly BagValue[]): ReadTest {
  const {value, unit, method} = test;
  const qualifier = qualifierOf(values.find((one) => isReadAs(one, nutrient, test)));
  return {nutrient, value, unit, method, testClass, ...(qualifier && {qualifier})};
}

/** A bag's own value beside the mean it is part of, where both are the same measure. */
function asPooled({nutrient, test}: Recommendation, values: readonly BagValue[]): ReadTest[] {
  const found = values.find((one) => isReadAs(one, nutrient, test));
  if (!found) return [];
  const qualifier = qualifierOf(found);
  const {value, method} = found;
  return [{nutrient, value, unit: test.unit, method, ...(qualifier && {qualifier})}];
}

/** Of several results the mean says nothing of a limit; the value itself says how they were counted. */
function qualifierOf(value: BagValue | undefined): "<" | ">" | undefined {
  return value?.samples.length === 1 ? value.samples[0]?.qualifier : undefined;
}

const ELEMENT: Readonly<Partial<Record<Nutrient, UnitValue["analyte"]>>> = {P2O5: "P", K2O: "K"};

function isReadAs({analyte, unit, method}: UnitValue, nutrient: Nutrient, test: Recommendation["test"]): boolean {
  return ELEMENT[nutrient] === analyte && method === test.method && guideWord(unit) === test.unit;
}

/** Guides say ppm for mg/kg. */
const guideWord = (unit: string): string => (unit === "mg/kg" ? "ppm" : unit);

const isOf = (test: SoilTest, {analyte, method, unit, depthM}: UnitValue): boolean =>
  test.analyte === analyte && test.method === method && test.unit === unit && test.depthM === depthM;

function shown({sampleId, value, unit, qualifier, source, convertedFrom}: SoilTest): BagValue["samples"][number] {
  return {sampleId, value, unit, source, ...(qualifier && {qualifier}), ...(convertedFrom && {convertedFrom})};
}
