import {FieldError, type Issue} from "../../errors.ts";
import type {UnitValue} from "../../lab/soil-test.ts";
import {formatShort as n} from "../../units/format.ts";

/** One soil test of a unit with the day it was taken, `"2021-04-12"`. */
export interface DatedTest {
  readonly date: string;
  readonly test: UnitValue;
}

export interface TestHistory {
  readonly unit: string;
  readonly tests: readonly DatedTest[];
  /** Last less first, in the unit of the test. */
  readonly change: number;
  /** Half the width of its 95 % interval. */
  readonly changeError: number;
  /** Slope of the weighted line through all tests, a year. */
  readonly perYear: number;
  readonly perYearError: number;
  /** True when the change is larger than its error: otherwise nothing has been shown to change. */
  readonly isTold: boolean;
  readonly issues: readonly Issue[];
}

export interface HistoryOptions {
  /** Standard deviation of one composite with its laboratory, percent of the value. */
  readonly errorPct?: number;
}

/**
 * 12 % of the value: 15 cores of a field whose cores vary by 35 %, with a laboratory error of 8 %,
 * √(35²/15 + 8²) = 12.07.
 */
const ERROR_PCT = 12;
/** Reports are in whole numbers: no value is known better than to half of one. */
const LEAST_ERROR = 0.5;
/** Two-sided 95 % of the normal distribution. */
const Z95 = 1.959963984540054;
/** More months apart than this and the season alone moves potassium. */
const MONTHS_APART = 2;

/**
 * How a unit's soil test has changed over the years, with the error of the change.
 *
 * @throws {FieldError} `recommend/history-short` with fewer than two dates, `recommend/history-mixed` when method, unit
 *   or depth differ (results of different tests are no history), `recommend/bad-date`.
 */
export function testHistory(
  unit: string,
  dated: readonly DatedTest[],
  {errorPct = ERROR_PCT}: HistoryOptions = {},
): TestHistory {
  const tests = [...dated].map((one) => ({...one, day: dayOf(one.date)})).sort((a, b) => a.day - b.day);
  const first = tests[0];
  const last = tests.at(-1);
  if (!first || !last || first.day === last.day) {
    throw new FieldError("recommend/history-short", `Unit "${unit}" has no soil tests of two different days.`, {
      place: {featureId: unit},
      hint: "Add the report of an earlier year.",
    });
  }
  for (const {test} of tests) refuseMixed(unit, first.test, test);
  const spread = (value: number): number => Math.max((errorPct / 100) * value, LEAST_ERROR);
  const change = last.test.value - first.test.value;
  const changeError = Z95 * Math.hypot(spread(first.test.value), spread(last.test.value));
  const line = weightedLine(tests.map(({day, test}) => ({x: day / 365.25, y: test.value, error: spread(test.value)})));
  return {
    unit,
    tests: tests.map(({date, test}) => ({date, test})),
    change,
    changeError,
    perYear: line.slope,
    perYearError: Z95 * line.error,
    isTold: Math.abs(change) > changeError,
    issues: remarks(unit, tests, change, changeError),
  };
}

/** Days since 1970 of a written day; a mere year counts as its first of July. */
function dayOf(date: string): number {
  const match = /^(\d{4})(?:-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01]))?$/.exec(date.trim());
  const day = match
    ? Date.UTC(Number(match[1]), Number(match[2] ?? 7) - 1, Number(match[3] ?? 1)) / 86_400_000
    : Number.NaN;
  if (Number.isFinite(day)) return day;
  throw new FieldError("recommend/bad-date", `"${date}" is no date that can be read.`, {
    hint: 'Write year, month and day, as in "2021-04-12".',
  });
}

function refuseMixed(unit: string, one: UnitValue, other: UnitValue): void {
  const differing = (["analyte", "method", "unit"] as const).find((key) => one[key] !== other[key]);
  const deep = Math.abs(one.depthM - other.depthM) > 0.0127 ? "depth" : undefined;
  const what = differing ?? deep;
  if (!what) return;
  const say = (test: UnitValue): string =>
    what === "depth" ? `${n(test.depthM * 100, 0)} cm` : String(test[what as "method"]);
  throw new FieldError(
    "recommend/history-mixed",
    `Unit "${unit}" has soil tests of different ${what}: ${say(one)} and ${say(other)}.`,
    {
      place: {featureId: unit},
      hint: "Compare like with like; results of different tests are different numbers.",
    },
  );
}

/** Least squares with known errors: slope and its standard error. */
function weightedLine(points: readonly {readonly x: number; readonly y: number; readonly error: number}[]) {
  const weights = points.map(({error}) => 1 / error ** 2);
  const total = weights.reduce((sum, w) => sum + w, 0);
  const mean = (of: (p: (typeof points)[number]) => number): number =>
    points.reduce((sum, point, i) => sum + (weights[i] as number) * of(point), 0) / total;
  const [mx, my] = [mean(({x}) => x), mean(({y}) => y)];
  const sxx = points.reduce((sum, {x}, i) => sum + (weights[i] as number) * (x - mx) ** 2, 0);
  const sxy = points.reduce((sum, {x, y}, i) => sum + (weights[i] as number) * (x - mx) * (y - my), 0);
  return {slope: sxy / sxx, error: Math.sqrt(1 / sxx)};
}

function remarks(
  unit: string,
  tests: readonly (DatedTest & {readonly day: number})[],
  change: number,
  error: number,
): Issue[] {
  const {analyte} = (tests[0] as DatedTest).test;
  const issues: Issue[] = [];
  if (Math.abs(change) <= error) {
    issues.push({
      code: "recommend/change-not-told",
      severity: "note",
      message: `${analyte} of unit "${unit}" changed by ${n(change, 0)}, within the error of ${n(error, 0)} that two composites have: no change has been shown.`,
      place: {featureId: unit},
    });
  }
  const months = tests.filter(({date}) => date.includes("-")).map(({date}) => Number(date.slice(5, 7)));
  const apart = Math.max(
    ...months.flatMap((a) => months.map((b) => Math.min(Math.abs(a - b), 12 - Math.abs(a - b)))),
    0,
  );
  if (analyte === "K" && apart > MONTHS_APART) {
    issues.push({
      code: "recommend/seasons-differ",
      severity: "warning",
      message: `The potassium tests of unit "${unit}" were taken up to ${apart} months apart in the year; potassium is highest in spring and lowest in late summer.`,
      place: {featureId: unit},
      hint: "Sample at the same time of the year.",
    });
  }
  return issues;
}
