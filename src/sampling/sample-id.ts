import {FieldError} from "../errors.ts";
import {checkCharacter} from "../units/check-character.ts";
import type {Strategy} from "./plan.ts";

/** Most bags of one plan: three digits. */
export const MOST_UNITS = 999;

/** Letters that cannot be taken for a digit on a muddy bag: no I, no O. */
export const PLAIN_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ";

/**
 * Ids of the bags of one plan: field, strategy, number, as in `KFG07`. At most 7 characters, capital letters and
 * digits only, so that they fit on a bag, in a laboratory's form and in any file, and sort as they are walked.
 *
 * @param prefix - One to three letters without I and O; the same for all plans of a field.
 * @param guarded - True: one more character at the end, which tells most misread ids (`checkCharacter`).
 */
export function sampleIds(prefix: string, series: Strategy | "validation", count: number, guarded = false): string[] {
  const digits = count > 99 ? 3 : 2;
  return Array.from({length: count}, (_, i) => {
    const id = prefix + LETTER[series] + String(i + 1).padStart(digits, "0");
    return guarded ? id + checkCharacter(id) : id;
  });
}

/** A prefix as the user gave it, checked, or one made from the field's name: `Kiln Forty` gives `KF`. */
export function idPrefix(given: string | undefined, fieldName: string): string {
  if (given === undefined) return prefixFromName(fieldName);
  const prefix = given.trim().toUpperCase();
  if (prefix.length < 1 || prefix.length > 3 || [...prefix].some((letter) => !PLAIN_LETTERS.includes(letter))) {
    throw new FieldError("sampling/prefix", `"${given}" cannot start sample ids.`, {
      hint: "Give one to three letters, without I and O, which look like 1 and 0.",
    });
  }
  return prefix;
}

// --- inside ---------------------------------------------------------------------------------------------------

const LETTER: Readonly<Record<Strategy | "validation", string>> = {
  "whole-field": "W",
  grid: "G",
  zone: "Z",
  validation: "V",
};

/** Initials of several words, or the first letters of one; repeated letters are skipped. */
function prefixFromName(name: string): string {
  const words = name
    .normalize("NFD")
    .replace(/\p{M}/gu, "")
    .toUpperCase()
    .split(/[^A-Z]+/)
    .map((word) => [...word].filter((letter) => PLAIN_LETTERS.includes(letter)))
    .filter((letters) => letters.length > 0);
  const letters = words.length > 1 ? words.map((word) => word[0] as string) : [...new Set(words[0] ?? [])];
  return letters.slice(0, 3).join("") || "F";
}
