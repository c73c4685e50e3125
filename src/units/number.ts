/** Which mark stands before the decimals in a file. */
export type DecimalMark = "." | ",";

/**
 * A number as people and programs write it, or NaN for anything else. Never reads a part of a text: `12abc` is NaN.
 *
 * Separators of thousands are taken only where they cannot be mistaken for a decimal mark: spaces and apostrophes
 * between groups of three, two or more groups (`1,234,567`), or a group followed by the decimal mark (`1,234.5`).
 * `1,234` alone is NaN: it is 1234 to one writer and 1.234 to another.
 *
 * @param text - Surrounding white space is ignored. Empty is NaN.
 */
export function parseNumber(text: string, decimal: DecimalMark = "."): number {
  if (decimal === ".") {
    // The engine's own conversion is exact and fast; what it takes beyond plain decimals is turned away.
    const value = Number(text);
    if (Number.isFinite(value)) return isPlain(text) ? value : Number.NaN;
  }
  const trimmed = text.trim().replace(MINUS, "-");
  const match = (decimal === "." ? POINT : COMMA).exec(trimmed);
  if (!match) return Number.NaN;
  const [, whole = "", decimals = "", power = ""] = match;
  const value = Number(whole.replace(GROUP_MARKS, "") + decimals.replace(",", ".") + power);
  return Number.isFinite(value) ? value : Number.NaN;
}

/**
 * The decimal mark of a column: a comma when some cell can only be read with one and none can only be read with a point.
 *
 * Cells that either mark could read (`1,234`, `12`) say nothing.
 */
export function decimalMarkOf(cells: Iterable<string>): DecimalMark {
  let comma = false;
  for (const cell of cells) {
    if ((!cell.includes(",") && !cell.includes(".")) || UNCLEAR.test(cell)) continue;
    const asPoint = !Number.isNaN(parseNumber(cell, "."));
    const asComma = !Number.isNaN(parseNumber(cell, ","));
    if (asPoint && !asComma) return ".";
    if (asComma && !asPoint) comma = true;
  }
  return comma ? "," : ".";
}

/** One group after a comma: a thousand and more to one writer, three decimals to another. */
const UNCLEAR = /^\s*[-+]?[1-9]\d{0,2},\d{3}\s*$/;
const MINUS = /^\u2212/;
const GROUP_MARKS = /[ \u00a0\u2009\u202f',.]/g;
// Sign and whole number (plain, or in unmistakable groups), then decimals, then a power of ten.
const POINT =
  /^([-+]?(?:\d+|\d{1,3}(?:[ \u00a0\u2009\u202f']\d{3})+|\d{1,3}(?:,\d{3}){2,}|\d{1,3}(?:,\d{3})(?=\.))?)(\.\d*)?(e[-+]?\d+)?$/i;
const COMMA =
  /^([-+]?(?:\d+|\d{1,3}(?:[ \u00a0\u2009\u202f']\d{3})+|\d{1,3}(?:\.\d{3}){2,}|\d{1,3}(?:\.\d{3})(?=,))?)(,\d*)?(e[-+]?\d+)?$/i;

/** Turns away what `Number` takes and people do not write as a decimal: nothing at all, `0x1F`, `0b1`. */
function isPlain(text: string): boolean {
  const second = text.charCodeAt(1) | 32;
  if (second === 120 || second === 98 || second === 111) return false; // x b o
  if (text.charCodeAt(0) > 43) return true;
  const trimmed = text.trim();
  return trimmed !== "" && !/^0[xbo]/i.test(trimmed);
}
