import {encodeUtf8} from "./text.ts";

export type WrittenCell = string | number | null;

/**
 * A table as CSV (RFC 4180): commas, CRLF, quotes where needed, UTF-8.
 *
 * Text that a spreadsheet would run as a formula gets an apostrophe in front (OWASP, CSV injection); `readTable` takes
 * it off again. Numbers are written as numbers, NaN and null as empty cells: round before.
 *
 * @param options.bom - Puts a byte-order mark in front, which some spreadsheets need for accents.
 */
export function writeTable(
  header: readonly string[],
  rows: readonly (readonly WrittenCell[])[],
  options: {readonly bom?: boolean} = {},
): Uint8Array {
  const lines = [header, ...rows].map((cells) => {
    if (cells.length !== header.length)
      throw new Error(`a row of ${cells.length} cells under ${header.length} headings`);
    return `${cells.map(cellText).join(",")}\r\n`;
  });
  return encodeUtf8((options.bom ? "\ufeff" : "") + lines.join(""));
}

function cellText(cell: WrittenCell): string {
  if (cell === null || Number.isNaN(cell)) return "";
  if (typeof cell === "number") {
    if (!Number.isFinite(cell)) throw new Error("an infinite number reached a table");
    return String(cell);
  }
  const guarded = /^\s*[=+\-@\t\r]/.test(cell) ? `'${cell}` : cell;
  return /[",\r\n]|^\s|\s$/.test(guarded) ? `"${guarded.replaceAll('"', '""')}"` : guarded;
}
