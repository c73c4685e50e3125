import {type DecimalMark, parseNumber} from "../units/number.ts";
import {findUnit} from "./analytes.ts";
import type {SoilTestUnit} from "./soil-test.ts";

/** What one cell of a lab's table says. */
export type Cell =
  | {
      readonly kind: "value";
      readonly value: number;
      readonly qualifier?: "<" | ">";
      /** Left out of the cell or read with a rule the user should know of. */
      readonly with?: "rating" | "thousands";
    }
  | {readonly kind: "missing"}
  /** Below detection, without the limit: no number can be made of it. */
  | {readonly kind: "no limit"}
  | {readonly kind: "other unit"; readonly unit: SoilTestUnit}
  | {readonly kind: "text"};

const MISSING = new Set(
  ["", "-", "--", "---", "–", "—", "*", "**", ".", "na", "n/a", "n.a.", "#n/a", "ns", "n/s", "nr", "n/r", "nan"].concat(
    ["null", "none", "missing", "no sample", "not sampled", "no result", "not tested", "insufficient", "pending"],
  ),
);
const BELOW_DETECTION = new Set(
  ["nd", "n.d.", "n/d", "bdl", "bld", "bd", "<dl", "<mdl", "<lod", "<rl", "trace", "tr", "tr.", "<"].concat([
    "not detected",
    "non-detect",
    "nondetect",
    "below detection",
    "below detection limit",
  ]),
);
/** Ratings some labs print after the number: very low to very high, and a footnote star. */
const RATING = /^(vl|l|m|o|h|vh|eh|very low|low|medium|optimum|high|very high|\*)$/;

/**
 * Reads a cell as it stands. Never zero for a cell that holds no number.
 *
 * @param unit - The column's unit: the same unit written in the cell is let pass, another is not.
 */
export function readCell(text: string, unit: SoilTestUnit, decimal: DecimalMark): Cell {
  const bare = text.trim().toLowerCase();
  if (MISSING.has(bare)) return {kind: "missing"};
  if (BELOW_DETECTION.has(bare.replaceAll(/\s+/g, " "))) return {kind: "no limit"};
  const match = /^([<>≤≥]?)\s*([-+−]?[\d.,]+(?:e[-+]?\d+)?)\s*(.*)$/.exec(bare);
  if (!match) return {kind: "text"};
  const [, sign = "", digits = "", rest = ""] = match;
  const grouped = decimal === "." && /^\d{1,3}(,\d{3})+(\.\d+)?$/.test(digits);
  const value = parseNumber(grouped ? digits.replaceAll(",", "") : digits, decimal);
  if (Number.isNaN(value)) return {kind: "text"};
  const rated = RATING.test(rest);
  if (rest !== "" && !rated) {
    const cellUnit = findUnit(rest);
    if (cellUnit === undefined) return {kind: "text"};
    if (cellUnit !== unit) return {kind: "other unit", unit: cellUnit};
  }
  const qualifier = sign === "<" || sign === "≤" ? "<" : sign === ">" || sign === "≥" ? ">" : undefined;
  // "<0" gives no limit to speak of.
  if (qualifier === "<" && value <= 0) return {kind: "no limit"};
  return {
    kind: "value",
    value,
    ...(qualifier && {qualifier}),
    ...(grouped ? {with: "thousands" as const} : rated && {with: "rating" as const}),
  };
}
