import {FieldError, type Issue} from "../errors.ts";
import {formatShort} from "../units/format.ts";
import type {SampleRow} from "./lab-rows.ts";
import {idKey} from "./sample-id.ts";
import {sayRows} from "./say-rows.ts";
import type {SoilTest} from "./soil-test.ts";

/**
 * One set of results for each sample id.
 *
 * Rows that say the same are kept once; rows that complete each other (one package a row) are put together. Ids are
 * the same when they agree after trimming and upper-casing.
 *
 * @param tests - The results of each row, in the order of `rows`.
 * @throws {FieldError} `lab/duplicate-differs` when two rows give one sample different values.
 */
export function mergeRepeats(
  file: string,
  rows: readonly SampleRow[],
  tests: readonly (readonly SoilTest[])[],
): {tests: readonly SoilTest[]; issues: readonly Issue[]} {
  const samples = new Map<string, {rows: number[]; tests: SoilTest[]}>();
  const conflicts: Issue[] = [];
  rows.forEach(({row, sampleId}, i) => {
    const found = tests[i] as readonly SoilTest[];
    const sample = samples.get(idKey(sampleId));
    if (!sample) {
      samples.set(idKey(sampleId), {rows: [row], tests: [...found]});
      return;
    }
    sample.rows.push(row);
    for (const test of found) {
      const earlier = sample.tests.find((t) => t.analyte === test.analyte && t.method === test.method);
      if (!earlier) sample.tests.push(test);
      else if (earlier.value !== test.value || earlier.qualifier !== test.qualifier) {
        conflicts.push(conflict(file, earlier, test));
      }
    }
  });
  const [first, ...others] = conflicts;
  if (first) {
    throw new FieldError(first.code, first.message, {place: first.place, hint: first.hint, issues: others});
  }
  const issues = [...samples.values()]
    .filter((sample) => sample.rows.length > 1)
    .map((sample): Issue => {
      const id = rows.find(({row}) => row === sample.rows[0])?.sampleId;
      const together = sample.tests.some((test) => test.source.row !== sample.rows[0]);
      return {
        code: together ? "lab/rows-put-together" : "lab/duplicate",
        severity: "warning",
        message: together
          ? `Sample "${id}" is spread over ${sayRows(sample.rows)}; they do not contradict each other and were put together.`
          : `Sample "${id}" stands in ${sayRows(sample.rows)} with the same values; it was kept once.`,
        place: {file, row: sample.rows[1] as number},
      };
    });
  return {tests: [...samples.values()].flatMap((sample) => sample.tests), issues};
}

function conflict(file: string, one: SoilTest, other: SoilTest): Issue {
  const say = (test: SoilTest): string => `${test.qualifier ?? ""}${formatShort(test.value)}`;
  return {
    code: "lab/duplicate-differs",
    severity: "error",
    message: `Sample "${one.sampleId}" stands in rows ${one.source.row} and ${other.source.row} with different values of ${one.analyte}: ${say(one)} and ${say(other)}.`,
    place: {file, row: other.source.row, column: other.source.column},
    hint: "Keep the row you trust (a re-run, a lab check or a second depth is not the same sample), or choose rows by a depth or field column.",
  };
}
