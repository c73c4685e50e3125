import type {Issue} from "../errors.ts";
import {formatShort, roundHalfAway} from "../units/format.ts";
import {conversionRule} from "./convert.ts";
import type {SoilTest, UnitValue} from "./soil-test.ts";

/** Above this share of results below detection, half the limit is no longer a fair stand-in for the values. */
const MOST_CENSORED = 0.15;

/**
 * One number per unit, analyte and method, ready for a guide.
 *
 * Several results for one unit give their arithmetic mean. `<` counts as half the limit (the convention of the US
 * Environmental Protection Agency for up to 15 % of results below detection; from memory), `>` as its bound. Results of
 * different methods, units or depths are never mixed: each gives a value of its own.
 *
 * @returns A list per unit, in the order given; units without results keep an empty list.
 */
export function valuesOf(byUnit: ReadonlyMap<string, readonly SoilTest[]>): {
  byUnit: ReadonlyMap<string, readonly UnitValue[]>;
  issues: readonly Issue[];
} {
  const all = [...byUnit.values()].flat();
  const values = new Map([...byUnit].map(([unit, tests]) => [unit, alike(tests).map(summarise)]));
  return {byUnit: values, issues: alike(all).flatMap(remarksOn)};
}

/** Lists of results that may be averaged with one another, in order of first appearance. */
function alike(tests: readonly SoilTest[]): SoilTest[][] {
  const groups = new Map<string, SoilTest[]>();
  for (const test of tests) {
    const key = `${test.analyte}|${test.method}|${test.unit}|${test.depthM}`;
    const group = groups.get(key);
    if (group) group.push(test);
    else groups.set(key, [test]);
  }
  return [...groups.values()];
}

function summarise(tests: readonly SoilTest[]): UnitValue {
  const {analyte, unit, method, depthM} = tests[0] as SoilTest;
  const value = tests.reduce((sum, test) => sum + numberOf(test), 0) / tests.length;
  // Without the crumbs of a binary sum: a mean of 40s is 40, not a hair under a limit of 40.
  return {analyte, value: roundHalfAway(value, 6), unit, method, depthM, from: from(tests)};
}

function numberOf({value, qualifier}: SoilTest): number {
  return qualifier === "<" ? value / 2 : value;
}

function from(tests: readonly SoilTest[]): string {
  const [only] = tests;
  if (only && tests.length === 1) {
    const {sampleId, source} = only;
    return [`sample ${sampleId} (${source.file}, row ${source.row})`, ...reading(only)].join(", ");
  }
  const parts = tests.map((test) => [`${test.sampleId} ${formatShort(numberOf(test))}`, ...reading(test)].join(", "));
  return `mean of ${tests.length} samples: ${parts.join("; ")}`;
}

/** What was done to the lab's number. */
function reading({value, qualifier, convertedFrom, unit}: SoilTest): string[] {
  const out: string[] = [];
  if (convertedFrom) {
    out.push(`${formatShort(convertedFrom.value)} ${convertedFrom.unit} ${conversionRule(convertedFrom.unit)}`);
  }
  if (qualifier === "<") out.push(`half the detection limit of ${formatShort(value)} ${unit}`);
  if (qualifier === ">") out.push(`above the reading range of ${formatShort(value)} ${unit}`);
  return out;
}

function remarksOn(tests: readonly SoilTest[]): Issue[] {
  const {analyte, unit, method} = tests[0] as SoilTest;
  const below = tests.filter(({qualifier}) => qualifier === "<");
  const above = tests.filter(({qualifier}) => qualifier === ">");
  const issues: Issue[] = [];
  const [low] = below;
  const share = below.length / tests.length;
  const many = share >= MOST_CENSORED && below.length > 1;
  if (low) {
    const count =
      below.length === 1
        ? `"<${formatShort(low.value)}" of sample "${low.sampleId}" counts`
        : `${below.length} of ${tests.length} results are below detection and count`;
    issues.push({
      code: many ? "lab/many-below-detection" : "lab/below-detection",
      severity: many ? "warning" : "note",
      message: `${analyte} (${method}): ${count} as half the limit, ${formatShort(low.value / 2)} ${unit}${many ? `; that convention holds up to 15 % of results, here they are ${Math.round(share * 100)} %` : ""}.`,
      place: low.source,
      ...(many && {hint: "Trust the class of these samples, not the exact value."}),
    });
  }
  const [high] = above;
  if (high) {
    issues.push({
      code: "lab/above-range",
      severity: "note",
      message: `${analyte} (${method}): ">${formatShort(high.value)}" of sample "${high.sampleId}" counts as ${formatShort(high.value)} ${unit}, the least it can be${above.length > 1 ? `; so do ${above.length - 1} more` : ""}.`,
      place: high.source,
    });
  }
  return issues;
}
