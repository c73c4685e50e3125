import {signal} from "@preact/signals";
import {api, got} from "../api/client.ts";
import type {PooledTest, Strategy, TestsPage} from "../api/types.ts";

/** One bag's soil test as a guide reads it. */
export interface UnitTest {
  readonly strategy: Strategy;
  readonly unit: string;
  readonly nutrient: string;
  /** Absent for a bag that counts only as part of a mean. */
  readonly testClass?: string;
  readonly test: {readonly value: number; readonly unit: string; readonly method: string; readonly qualifier?: string};
}

const found = signal<{readonly id: string; readonly page: TestsPage} | undefined>(undefined);
let asked: string | undefined;

/** Every bag's soil tests, while there is no guide as the lab reports them; absent until they have come. */
export function testsOf(resultId: string): readonly UnitTest[] | undefined {
  const page = pageOf(resultId);
  if (page?.bags.every(({read}) => read.length === 0)) return page.bags.flatMap(asReported);
  return page?.bags.flatMap(({strategy, unit, read}) =>
    read.map(({nutrient, testClass, ...test}) => ({
      strategy,
      unit,
      nutrient,
      ...(testClass !== undefined && {testClass}),
      test,
    })),
  );
}

const OXIDES: Readonly<Record<string, string>> = {P: "P2O5", K: "K2O"};

function asReported({strategy, unit: bag, values}: TestsPage["bags"][number]): UnitTest[] {
  return values.flatMap(({analyte, value, unit, method}) => {
    const nutrient = OXIDES[analyte];
    return nutrient === undefined ? [] : [{strategy, unit: bag, nutrient, test: {value, unit, method}}];
  });
}

/** The mean that a plan with one rate for all its bags rests on. */
export function pooledTest(resultId: string, strategy: Strategy, nutrient: string): PooledTest | undefined {
  return pageOf(resultId)?.pooled.find((one) => one.strategy === strategy && one.nutrient === nutrient);
}

function pageOf(resultId: string): TestsPage | undefined {
  if (found.value?.id === resultId) return found.value.page;
  if (asked !== resultId) {
    asked = resultId;
    got(api.results[":id"].tests.$get({param: {id: resultId}})).then(
      (page) => {
        found.value = {id: resultId, page};
      },
      () => {
        asked = undefined;
      },
    );
  }
  return undefined;
}
