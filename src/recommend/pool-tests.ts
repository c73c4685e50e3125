import type {Issue} from "../errors.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import {formatArea, formatShort, roundHalfAway} from "../units/format.ts";
import type {SquareMetres} from "../units/quantity.ts";

interface PooledUnit {
  readonly id: string;
  readonly area: SquareMetres;
  readonly tests: readonly UnitValue[];
}

/** More units than this are summed up in words, not listed. */
const MOST_LISTED = 12;

/**
 * One set of test values for a whole field: the mean of its composites, each weighted by the area it speaks for.
 *
 * Arithmetic means, of pH too, as if the composites had been mixed in one bag by area. Values of different methods,
 * units or depths are kept apart. Units without a value are left out of that mean, with an issue.
 */
export function poolTests(units: readonly PooledUnit[]): {
  tests: readonly UnitValue[];
  issues: readonly Issue[];
} {
  const groups = new Map<string, {unit: PooledUnit; test: UnitValue}[]>();
  for (const unit of units) {
    for (const test of unit.tests) {
      const key = `${test.analyte}|${test.method}|${test.unit}|${test.depthM}`;
      const group = groups.get(key);
      if (group) group.push({unit, test});
      else groups.set(key, [{unit, test}]);
    }
  }
  const pooled = [...groups.values()].map((parts) => ({test: weightedMean(parts), left: without(units, parts)}));
  return {
    tests: pooled.map(({test}) => test),
    issues: pooled.flatMap(({test, left}) => (left.length > 0 ? [sayLeftOut(test, left, units.length)] : [])),
  };
}

type Parts = readonly {readonly unit: PooledUnit; readonly test: UnitValue}[];

function weightedMean(parts: Parts): UnitValue {
  const {analyte, unit, method, depthM} = (parts[0] as Parts[number]).test;
  const area = parts.reduce((sum, part) => sum + part.unit.area, 0);
  if (!(area > 0)) throw new Error("units to be pooled have no area");
  const value = parts.reduce((sum, part) => sum + part.test.value * (part.unit.area / area), 0);
  // Without the crumbs of a binary sum: a mean of 40s is 40, not a hair under the limit of 40.
  return {analyte, value: roundHalfAway(value, 6), unit, method, depthM, from: inWords(parts)};
}

function inWords(parts: Parts): string {
  if (parts.length === 1) return (parts[0] as Parts[number]).test.from;
  const values = parts.map(({test}) => test.value);
  const listed = parts.map(({unit, test}) => `${unit.id} ${formatShort(test.value)} (${formatArea(unit.area)})`);
  const which =
    parts.length <= MOST_LISTED
      ? listed.join(", ")
      : `lowest ${formatShort(Math.min(...values))}, highest ${formatShort(Math.max(...values))}`;
  return `mean of ${parts.length} units weighted by area: ${which}`;
}

function without(units: readonly PooledUnit[], parts: Parts): readonly PooledUnit[] {
  return units.filter((unit) => !parts.some((part) => part.unit === unit));
}

function sayLeftOut({analyte, method}: UnitValue, left: readonly PooledUnit[], all: number): Issue {
  const ids = left.slice(0, 6).map(({id}) => `"${id}"`);
  const more = left.length > 6 ? ` and ${left.length - 6} more` : "";
  const area = left.reduce((sum, unit) => sum + unit.area, 0);
  return {
    code: "recommend/pooled-without",
    severity: "warning",
    message: `The field's mean ${analyte} (${method}) is made without ${left.length} of ${all} units, ${formatArea(area)}: ${ids.join(", ")}${more} ${left.length === 1 ? "has" : "have"} no value.`,
    hint: "Ask the lab for them, or say in the report that they are missing.",
  };
}
