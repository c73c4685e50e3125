import {FieldError, type Issue} from "../errors.ts";
import {contains} from "../geo/measure.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import type {MatchedTests} from "./match-tests.ts";
import {idKey} from "./sample-id.ts";
import type {SoilTest} from "./soil-test.ts";

/** Where a sample was taken, metres in the field's frame. */
export interface SamplePlace extends XY {
  readonly sampleId: string;
}

/**
 * Gives every unit the results of the places that lie in it: for samples that were taken by another plan.
 *
 * A unit with several places gets all their results; `valuesOf` then takes the arithmetic mean. A place on a border
 * belongs to one side of it. Result ids and place ids are compared after trimming and upper-casing only.
 *
 * @param units - Shapes in the field's frame; where they overlap the first one has the place.
 * @throws {FieldError} `lab/place-twice` when one id has two different places, `lab/nothing-matches` when no result
 *   falls into any unit.
 */
export function assignTests(
  tests: readonly SoilTest[],
  places: readonly SamplePlace[],
  units: readonly {readonly id: string; readonly shape: MultiPolygon}[],
): MatchedTests {
  const byUnit = new Map<string, SoilTest[]>(units.map(({id}) => [id, []]));
  const testsOf = new Map<string, SoilTest[]>();
  for (const test of tests) {
    const found = testsOf.get(idKey(test.sampleId));
    if (found) found.push(test);
    else testsOf.set(idKey(test.sampleId), [test]);
  }
  const issues: Issue[] = [];
  const placed = new Map<string, SamplePlace>();
  for (const place of places) {
    const key = idKey(place.sampleId);
    if (isRepeat(placed.get(key), place)) continue;
    placed.set(key, place);
    const found = testsOf.get(key);
    const unit = units.find(({shape}) => contains(shape, place.x, place.y));
    if (!found) issues.push(issueOf("lab/no-results", `Place "${place.sampleId}" has no results.`, place.sampleId));
    else if (unit) byUnit.get(unit.id)?.push(...found);
    else {
      const message = `Sample "${place.sampleId}" was taken outside every unit; its results were not used.`;
      issues.push(issueOf("lab/place-outside", message, place.sampleId, "Check the coordinates and the boundary."));
    }
  }
  const nowhere = [...testsOf].filter(([key]) => !placed.has(key)).map(([, [test]]) => test as SoilTest);
  for (const test of nowhere) {
    issues.push({
      code: "lab/no-place",
      severity: "warning",
      message: `Sample "${test.sampleId}" has results but no place; they were not used.`,
      place: {file: test.source.file, row: test.source.row},
      hint: "Add its coordinates to the file of places.",
    });
  }
  const empty = units.filter(({id}) => byUnit.get(id)?.length === 0).map(({id}) => id);
  for (const id of empty) {
    issues.push(issueOf("lab/no-place-in-unit", `No sample was taken in unit "${id}"; it has no results.`, id));
  }
  const withResults = units.length - empty.length;
  const sentence = `${units.length} units, ${withResults} with results from ${placed.size} places, ${nowhere.length} ${nowhere.length === 1 ? "result" : "results"} without a place`;
  if (withResults === 0) {
    throw new FieldError("lab/nothing-matches", `No result falls into any unit: ${sentence}.`, {
      hint: "Check that the ids of the places are those of the report, and that the coordinates are those of this field.",
      issues,
    });
  }
  return {byUnit, counts: {planned: units.length, withResults, unknown: nowhere.length, sentence}, issues};
}

/** True for a place that was seen before; two different places under one id stop the work. */
function isRepeat(earlier: SamplePlace | undefined, place: SamplePlace): boolean {
  if (!earlier) return false;
  if (earlier.x === place.x && earlier.y === place.y) return true;
  throw new FieldError("lab/place-twice", `Sample "${place.sampleId}" has two different places.`, {
    place: {featureId: place.sampleId},
    hint: "Give every place an id of its own, or keep the right one.",
  });
}

function issueOf(code: string, message: string, featureId: string, hint?: string): Issue {
  return {code, severity: "warning", message, place: {featureId}, ...(hint && {hint})};
}
