import {signal} from "@preact/signals";
import {api, got} from "../api/client.ts";
import type {Strategy} from "../api/types.ts";

/** One unit's soil test as a guide read it. */
export interface UnitTest {
  readonly strategy: Strategy;
  readonly unit: string;
  readonly nutrient: string;
  readonly testClass: string;
  readonly test: {readonly value: number; readonly unit: string; readonly method: string};
}

const found = signal<{readonly id: string; readonly tests: readonly UnitTest[]} | undefined>(undefined);
let asked: string | undefined;

/** Every unit's soil tests, from the record of the run; absent until it has come. */
export function testsOf(resultId: string): readonly UnitTest[] | undefined {
  if (found.value?.id === resultId) return found.value.tests;
  if (asked !== resultId) {
    asked = resultId;
    got(api.results[":id"].files[":name{.+}"].$get({param: {id: resultId, name: "run.json"}})).then(
      (record) => {
        found.value = {id: resultId, tests: (record as {rates?: UnitTest[]}).rates ?? []};
      },
      () => {
        asked = undefined;
      },
    );
  }
  return undefined;
}
