import type {Issue} from "../errors.ts";
import {MAD_TO_SD, median} from "../stats/robust.ts";
import {formatShort as n} from "../units/format.ts";
import type {SoilTest} from "./soil-test.ts";

/** A result that stands far from the others of its report. */
export interface OutlierFlag {
  readonly sampleId: string;
  readonly analyte: SoilTest["analyte"];
  readonly value: number;
  readonly median: number;
  /** Robust standard deviations from the median, on the scale compared on; the sign says which side. */
  readonly score: number;
}

/** Iglewicz and Hoaglin (1993), How to Detect and Handle Outliers: a modified z score beyond 3.5. */
const FAR = 3.5;
/** Fewer results say nothing of what is usual. Common practice, no source. */
const FEWEST = 8;
/** An error smaller than this is the lab's and the probe's, however alike the others are: a twentieth of the median. */
const LEAST_SPREAD = 0.05;

/**
 * Flags results that stand far from the others of the same analyte, unit, method and depth.
 *
 * Distance is from the median in robust standard deviations (median absolute deviation × 1.4826), of logarithms for
 * concentrations, because soil tests are skewed, and of the values themselves for pH. Results below detection and above
 * range are not judged. Nothing is changed: a flag asks for a choice (`applyChoices`).
 */
export function findOutliers(tests: readonly SoilTest[]): {flags: readonly OutlierFlag[]; issues: readonly Issue[]} {
  const groups = new Map<string, SoilTest[]>();
  for (const test of tests) {
    if (test.qualifier !== undefined || !(test.value > 0)) continue;
    const key = `${test.analyte}|${test.unit}|${test.method}|${test.depthM}`;
    const group = groups.get(key);
    if (group) group.push(test);
    else groups.set(key, [test]);
  }
  const found = [...groups.values()].flatMap(farFrom);
  return {flags: found.map(({flag}) => flag), issues: found.map(({flag, test}) => sayFlag(flag, test))};
}

function farFrom(tests: readonly SoilTest[]): {flag: OutlierFlag; test: SoilTest}[] {
  if (tests.length < FEWEST) return [];
  const isPh = tests[0]?.unit === "pH";
  const scaled = tests.map(({value}) => (isPh ? value : Math.log(value)));
  const middle = median(scaled);
  const least = isPh ? 0.1 : LEAST_SPREAD;
  const spread = Math.max(median(scaled.map((value) => Math.abs(value - middle))) * MAD_TO_SD, least);
  return tests.flatMap((test, i) => {
    const score = ((scaled[i] as number) - middle) / spread;
    if (Math.abs(score) <= FAR) return [];
    const {sampleId, analyte, value} = test;
    return [{test, flag: {sampleId, analyte, value, median: isPh ? middle : Math.exp(middle), score}}];
  });
}

function sayFlag({sampleId, analyte, value, median: middle, score}: OutlierFlag, {unit, source}: SoilTest): Issue {
  const label = unit === "pH" ? "" : ` ${unit}`;
  return {
    code: "lab/outlier",
    severity: "warning",
    message: `${analyte} of sample "${sampleId}" is ${n(value)}${label}, far ${score > 0 ? "above" : "below"} the median of ${n(middle, 1)}${label} (${n(Math.abs(score), 1)} robust standard deviations).`,
    place: source,
    hint: "Keep it, exclude it or have it run again, and write down why.",
  };
}
