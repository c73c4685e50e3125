import {FieldError, type Issue, isFieldError} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import type {Analyte, UnitValue} from "../lab/soil-test.ts";
import {type DatedTest, type TestHistory, testHistory} from "../recommend/history/test-history.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import type {Job} from "./job.ts";
import {resultsByPlan} from "./make-rates.ts";
import type {Remarks} from "./read-inputs.ts";
import {readReport} from "./read-lab-files.ts";

type ByUnit = ReadonlyMap<string, readonly UnitValue[]>;

/** Soil tests whose change over the years is worth a line. */
const FOLLOWED: readonly Analyte[] = ["P", "K", "pH"];

/**
 * How the soil tests of each plan's units changed since the earlier reports of the job; none without such reports.
 *
 * Reports join units by the same ids or places as today's. Units without an earlier test have no history.
 *
 * @throws {FieldError} `lab/no-date` when today's report has none, and those of the readers.
 */
export async function historiesOf(
  job: Job,
  field: Field,
  plans: readonly SamplingPlan[],
  now: readonly ByUnit[],
  files: FileSet,
  remarks: Remarks,
): Promise<TestHistory[][]> {
  if (!job.lab || job.lab.earlier.length === 0) return plans.map(() => []);
  const {date} = job.lab;
  if (date === undefined) {
    throw new FieldError("lab/no-date", "The job names earlier reports, and not the day of this one.", {
      hint: 'Write it under "lab", as in "date": "2026-04-12".',
    });
  }
  const dated: {date: string; byPlan: readonly ByUnit[]}[] = [{date, byPlan: now}];
  for (const source of job.lab.earlier) {
    const read = await readReport(job, field, files, [source], remarks);
    const report = {tests: read.tests, choices: [], ...(read.places.length > 0 && {places: read.places})};
    const {byPlan, issues} = resultsByPlan(job, plans, report);
    // Units that were not sampled then are no fault of the report.
    remarks.push(...issues.filter(({code}) => code !== "lab/no-results"));
    dated.push({date: source.date, byPlan});
  }
  return plans.map((plan, p) =>
    plan.units.flatMap(({id}) =>
      FOLLOWED.flatMap((analyte): TestHistory[] => {
        const tests = dated.flatMap(({date: day, byPlan}): DatedTest[] =>
          (byPlan[p]?.get(id) ?? []).filter((test) => test.analyte === analyte).map((test) => ({date: day, test})),
        );
        return tests.length < 2 ? [] : historyOf(id, tests, remarks);
      }),
    ),
  );
}

/** A history that cannot be told is remarked on; today's rates do not hang on it. */
function historyOf(unit: string, tests: readonly DatedTest[], remarks: Remarks): TestHistory[] {
  try {
    const made = testHistory(unit, tests);
    remarks.push(...made.issues);
    return [made];
  } catch (error) {
    if (!isFieldError(error) || error.code === "recommend/bad-date") throw error;
    const {code, message, place, hint} = error;
    remarks.push({code, severity: "warning", message, place, hint} as Issue);
    return [];
  }
}
