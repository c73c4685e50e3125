import {FieldError, type Issue} from "../errors.ts";
import {hasGoodCheck} from "../units/check-character.ts";
import {idKey, nearestId} from "./sample-id.ts";
import type {SoilTest} from "./soil-test.ts";

/** Results by the sampling unit they speak for, and the count that ties plan and report together. */
export interface MatchedTests {
  /** Every unit asked for is a key, in that order; a unit without results has an empty list. */
  readonly byUnit: ReadonlyMap<string, readonly SoilTest[]>;
  readonly counts: MatchCounts;
  readonly issues: readonly Issue[];
}

export interface MatchCounts {
  readonly planned: number;
  readonly withResults: number;
  /** Ids in the report that are in no plan. */
  readonly unknown: number;
  /** "38 samples planned, 37 with results, 1 unknown id". */
  readonly sentence: string;
}

/**
 * Joins results to sampling units by sample id, and by nothing else: never by the order of rows, never by likeness.
 *
 * Ids are compared after trimming and upper-casing only, so `007` is not `7`.
 *
 * @param unitIds - Ids of every plan the report serves; ids of a plan left out would be reported as unknown.
 * @param accepted - Ids of the report a person has said to be planned samples, as from `proposeMatches`.
 * @throws {FieldError} `lab/nothing-matches` when not one id of the report is planned, `lab/bad-accepted` when an
 *   accepted id names no planned sample, or one that has results of its own.
 */
export function matchTests(
  tests: readonly SoilTest[],
  unitIds: readonly string[],
  accepted: Readonly<Record<string, string>> = {},
): MatchedTests {
  const byUnit = new Map<string, SoilTest[]>(unitIds.map((id) => [id, []]));
  const unitOf = new Map(unitIds.map((id) => [idKey(id), id]));
  if (unitOf.size < unitIds.length) throw new Error("two sampling units share an id");
  const acceptedIssues = acceptIds(unitOf, tests, accepted);
  const unknown = new Map<string, SoilTest>();
  const respelled = new Map<string, SoilTest>();
  for (const test of tests) {
    const unit = unitOf.get(idKey(test.sampleId));
    if (unit === undefined) {
      if (!unknown.has(idKey(test.sampleId))) unknown.set(idKey(test.sampleId), test);
      continue;
    }
    byUnit.get(unit)?.push(test);
    if (unit !== test.sampleId && idKey(unit) === idKey(test.sampleId)) respelled.set(unit, test);
  }
  const without = unitIds.filter((id) => byUnit.get(id)?.length === 0);
  const counts = count(unitIds.length, without.length, unknown.size);
  if (counts.withResults === 0) {
    throw new FieldError("lab/nothing-matches", `No sample id of the report is planned: ${counts.sentence}.`, {
      hint: `Check that the report belongs to this field; the plan has ids such as ${few(unitIds)}, the report ${few([...unknown.values()].map((test) => test.sampleId))}.`,
    });
  }
  return {
    byUnit,
    counts,
    issues: [
      ...acceptedIssues,
      ...[...unknown.values()].map((test) => unknownId(test, unitIds)),
      ...without.map(withoutResults),
      ...(respelled.size > 0 ? [sayRespelled(respelled)] : []),
    ],
  };
}

/** Adds accepted ids to the ids that join, with a remark on each. */
function acceptIds(
  unitOf: Map<string, string>,
  tests: readonly SoilTest[],
  accepted: Readonly<Record<string, string>>,
): Issue[] {
  const reported = new Set(tests.map((test) => idKey(test.sampleId)));
  const taken = new Set<string>();
  return Object.entries(accepted).map(([reportId, unitId]) => {
    const unit = unitOf.get(idKey(unitId));
    const key = idKey(reportId);
    const against =
      unit === undefined
        ? "which is not planned"
        : reported.has(idKey(unitId)) || taken.has(unit)
          ? "which has results already"
          : unitOf.has(key)
            ? "being planned itself"
            : reported.has(key)
              ? undefined
              : "not being in the report";
    if (unit === undefined || against) {
      throw new FieldError("lab/bad-accepted", `Sample "${reportId}" cannot be taken as "${unitId}", ${against}.`, {
        hint: "Correct or leave out that pair.",
      });
    }
    taken.add(unit);
    unitOf.set(key, unit);
    return {
      code: "lab/id-accepted",
      severity: "note",
      message: `Sample "${reportId}" of the report was taken as planned sample "${unit}", as accepted.`,
      place: {featureId: unit},
    };
  });
}

function count(planned: number, without: number, unknown: number): MatchCounts {
  const withResults = planned - without;
  const sentence = `${planned} ${planned === 1 ? "sample" : "samples"} planned, ${withResults} with results, ${unknown} unknown ${unknown === 1 ? "id" : "ids"}`;
  return {planned, withResults, unknown, sentence};
}

function unknownId(test: SoilTest, unitIds: readonly string[]): Issue {
  const nearest = nearestId(test.sampleId, unitIds);
  const misread = unitIds.every((id) => hasGoodCheck(id)) && !hasGoodCheck(test.sampleId);
  return {
    code: "lab/unknown-id",
    severity: "warning",
    message: `Sample "${test.sampleId}" is in no plan; its results were not used.${misread ? " Its check character is wrong: it was misread or mistyped." : ""}${nearest ? ` The nearest planned id is "${nearest}".` : ""}`,
    place: {file: test.source.file, row: test.source.row},
    hint: "If it is the same sample, correct the id in the file; ids are never joined by likeness.",
  };
}

function withoutResults(id: string): Issue {
  return {
    code: "lab/no-results",
    severity: "warning",
    message: `Planned sample "${id}" has no results.`,
    place: {featureId: id},
    hint: "Ask the lab for it, or leave its ground out.",
  };
}

function sayRespelled(respelled: ReadonlyMap<string, SoilTest>): Issue {
  const [unit, test] = [...respelled][0] as [string, SoilTest];
  return {
    code: "lab/id-case",
    severity: "note",
    message: `${respelled.size} ids differ from the plan in case only ("${test.sampleId}" for "${unit}"); ids are compared after trimming and upper-casing, and in no other way.`,
    place: {file: test.source.file, row: test.source.row},
  };
}

const few = (ids: readonly string[]): string =>
  ids
    .slice(0, 3)
    .map((id) => `"${id}"`)
    .join(", ");
