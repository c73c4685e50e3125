import {FieldError, type Issue} from "../errors.ts";
import {formatShort as n} from "../units/format.ts";
import {findAnalyte} from "./analytes.ts";
import {idKey} from "./sample-id.ts";
import type {SoilTest} from "./soil-test.ts";

/** What to do about one doubtful result, and why. */
export interface ResultChoice {
  readonly sampleId: string;
  readonly analyte: string;
  /** "re-run": left out until the lab has measured it again. */
  readonly choice: "keep" | "exclude" | "re-run";
  readonly reason: string;
}

/** A choice with the result it was made about, for the record of the work. */
export interface RecordedChoice extends ResultChoice {
  readonly value: number;
  readonly unit: string;
  readonly method: string;
}

/**
 * Applies a person's choices about doubtful results.
 *
 * @returns The results that stay, each choice with the number it was about, and an issue for every result left out.
 * @throws {FieldError} `lab/no-reason` for a choice without one, `lab/no-such-result` for a sample or analyte that is
 *   not in the report, `lab/two-choices` when one result has two different choices.
 */
export function applyChoices(
  tests: readonly SoilTest[],
  choices: readonly ResultChoice[],
): {tests: readonly SoilTest[]; recorded: readonly RecordedChoice[]; issues: readonly Issue[]} {
  const chosen = new Map<string, ResultChoice>();
  for (const choice of choices) {
    if (choice.reason.trim() === "") {
      throw new FieldError(
        "lab/no-reason",
        `The choice about ${choice.analyte} of sample "${choice.sampleId}" has no reason.`,
        {
          hint: "Write down why; it is repeated in the record.",
        },
      );
    }
    const key = keyOf(choice.sampleId, findAnalyte(choice.analyte) ?? choice.analyte);
    const earlier = chosen.get(key);
    if (earlier && earlier.choice !== choice.choice) {
      throw new FieldError(
        "lab/two-choices",
        `${choice.analyte} of sample "${choice.sampleId}" has two choices: ${earlier.choice} and ${choice.choice}.`,
        {hint: "Keep one of them."},
      );
    }
    chosen.set(key, choice);
  }
  const recorded: RecordedChoice[] = [];
  const issues: Issue[] = [];
  const used = new Set<string>();
  const kept = tests.filter((test) => {
    const key = keyOf(test.sampleId, test.analyte);
    const choice = chosen.get(key);
    if (!choice) return true;
    used.add(key);
    recorded.push({...choice, value: test.value, unit: test.unit, method: test.method});
    if (choice.choice !== "keep") issues.push(leftOut(test, choice));
    return choice.choice === "keep";
  });
  const [unused] = [...chosen].filter(([key]) => !used.has(key)).map(([, choice]) => choice);
  if (unused) {
    throw new FieldError(
      "lab/no-such-result",
      `There is no ${unused.analyte} result of sample "${unused.sampleId}" to choose about.`,
      {
        hint: "Check the id and the analyte of the choice against the report.",
      },
    );
  }
  return {tests: kept, recorded, issues};
}

function leftOut({analyte, sampleId, value, unit, source}: SoilTest, {choice, reason}: ResultChoice): Issue {
  return {
    code: choice === "exclude" ? "lab/excluded" : "lab/to-be-run-again",
    severity: "warning",
    message: `${analyte} of sample "${sampleId}", ${n(value)} ${unit}, was ${choice === "exclude" ? "excluded" : "left out until it has been run again"}: ${reason.trim()}`,
    place: source,
  };
}

const keyOf = (sampleId: string, analyte: string): string => `${idKey(sampleId)}|${analyte}`;
