import {encodeUtf8} from "./text.ts";

/**
 * A CSV file (RFC 4180, UTF-8). Numbers are written as numbers; text that a spreadsheet would run as a formula gets
 * a leading apostrophe.
 */
export function writeTable(
  header: readonly string[],
  rows: readonly (readonly (string | number | null)[])[],
): Uint8Array {
  const lines = [header, ...rows].map((row) => row.map(cellText).join(","));
  return encodeUtf8(`${lines.join("\r\n")}\r\n`);
}

function cellText(cell: string | number | null): string {
  if (cell === null) return "";
  if (typeof cell === "number") return Number.isFinite(cell) ? String(cell) : "";
  const safe = /^\s*[=+\-@\t\r]/.test(cell) ? `'${cell}` : cell;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}
