import papa from "papaparse";
import {FieldError, type Issue, type Place} from "../errors.ts";
import type {Table} from "../table.ts";
import type {Read} from "./file-set.ts";
import {type Kind, makeTally} from "./tally.ts";
import {readText} from "./text.ts";

type Remark = "csv/short-row";

const KINDS: Readonly<Record<Remark, Kind>> = {
  "csv/short-row": {
    severity: "warning",
    says: "Filled up with empty cells, because it has fewer cells than the header",
    hint: "Check that the file was not cut short.",
  },
};

/**
 * A delimited text file as a table: comma, semicolon, tab or bar, any of the encodings `readText` knows.
 *
 * Cells stay text, exactly as written; only the apostrophe that `writeTable` sets before a formula is taken off again.
 * Blank lines within the file are rows of empty cells, so that row numbers stay true; blank lines at its ends are left
 * out. A row of units under the header is a row like any other. Repeated headings get a number.
 *
 * @param options.delimiter - For a file whose delimiter is found wrongly.
 * @param options.columns - Names for the columns of a file without a header; its first row is then data.
 * @throws {FieldError} `csv/empty`, `csv/no-rows`, `csv/quote`, `csv/header-below` for a letterhead above the header,
 *   `csv/too-many-cells` with the row, and what `readText` refuses.
 */
export function readTable(
  bytes: Uint8Array,
  name: string,
  options: {readonly delimiter?: string | undefined; readonly columns?: readonly string[] | undefined} = {},
): Read<Table> {
  const {value: raw, issues: textIssues} = readText(bytes, name);
  // One kind of line end: files put together from several programs mix them.
  const text = raw.includes("\r") ? raw.replace(/\r\n?/g, "\n") : raw;
  const stated = /^sep=(.)\n/i.exec(text); // a line some spreadsheets write
  const delimiter = options.delimiter ?? stated?.[1] ?? delimiterOf(text);
  const {data, errors} = papa.parse(text, {newline: "\n", delimiter});
  const quotes = errors.find(({code}) => code === "MissingQuotes" || code === "InvalidQuotes");
  if (quotes) throw brokenQuotes(name, (quotes.row ?? 0) + 1);
  const headerAt = data.findIndex((cells, i) => !isBlank(cells) && !(stated && i === 0));
  if (headerAt < 0) {
    throw new FieldError("csv/empty", `${name} holds no table.`, {place: {file: name}, hint: "Export it again."});
  }
  const last = data.findLastIndex((cells) => !isBlank(cells));
  const from = options.columns ? headerAt : headerAt + 1;
  if (last < from) {
    throw new FieldError("csv/no-rows", `${name} has a header but no rows.`, {
      place: {file: name},
      hint: "Export it again with its data.",
    });
  }
  const below = options.columns ? undefined : headerBelow(data, headerAt, last, 2);
  if (below !== undefined) throw letterhead(name, data, headerAt, below);
  const issues: Issue[] = [...textIssues];
  const header =
    options.columns ??
    readHeader(data[headerAt] as string[], widestRow(data, headerAt, last), {file: name, row: headerAt + 1}, issues);
  const tally = makeTally<Remark>("row", {file: name}, KINDS);
  const rows: string[][] = [];
  for (let i = from; i <= last; i++) {
    const cells = data[i] as string[];
    if (cells.length > header.length) {
      const real =
        options.columns || isBlank(cells.slice(header.length)) ? undefined : headerBelow(data, headerAt, i + 1, 1);
      if (real !== undefined) throw letterhead(name, data, headerAt, real);
      cutRow(cells, header.length, name, i + 1);
    }
    if (cells.length < header.length && !isBlank(cells)) tally.add("csv/short-row", i + 1);
    while (cells.length < header.length) cells.push("");
    for (let k = 0; k < cells.length; k++) {
      // Testing one character code keeps this off the path of plain cells.
      if ((cells[k] as string).charCodeAt(0) === APOSTROPHE) cells[k] = unguarded(cells[k] as string);
    }
    rows.push(cells);
  }
  return {
    value: {file: name, header, rows, firstRow: from + 1},
    issues: [...issues, ...tally.issues()],
  };
}

const DELIMITERS = [",", ";", "\t", "|"];
const LINES_LOOKED_AT = 10;

/** The sign that parts the heading into most cells and the lines under it into as many. */
function delimiterOf(text: string): string {
  const lines = text
    .slice(0, 20_000)
    .replace(/"[^"]*"/g, "")
    .split("\n")
    .filter((line) => line.trim() !== "")
    .slice(0, LINES_LOOKED_AT);
  let best = ",";
  let most = 0;
  for (const delimiter of DELIMITERS) {
    const counts = lines.map((line) => line.split(delimiter).length - 1);
    const alike = counts.filter((count) => count === counts[0]).length / counts.length;
    if ((counts[0] ?? 0) * alike > most) {
      best = delimiter;
      most = (counts[0] as number) * alike;
    }
  }
  // A letterhead has none of them; the lines far under it do.
  const foot = lines.at(-1) ?? "";
  if (most === 0) return DELIMITERS.find((delimiter) => foot.split(delimiter).length >= LEAST_HEADINGS) ?? best;
  return best;
}

const LEAST_HEADINGS = 3;
const LETTERHEAD_LINES = 30;

/**
 * The row further down that looks like the header: of words, with more cells than the first row, over rows as wide that
 * hold numbers.
 *
 * @param times - How many times as many cells it has, at least.
 */
function headerBelow(
  data: readonly (readonly string[])[],
  headerAt: number,
  last: number,
  times: number,
): number | undefined {
  const filled = (i: number): string[] => (data[i] as readonly string[]).map((cell) => cell.trim()).filter(Boolean);
  const least = Math.max(LEAST_HEADINGS, times * filled(headerAt).length, filled(headerAt).length + 1);
  for (let i = headerAt + 1; i < Math.min(last, headerAt + LETTERHEAD_LINES); i++) {
    const cells = filled(i);
    const words = cells.filter((cell) => /^[^\d<>.,+-]/.test(cell));
    if (cells.length < least || words.length <= cells.length / 2) continue;
    // Rows of units or methods may come before the first row of numbers.
    const under = data.slice(i + 1, Math.min(last, i + 3) + 1);
    const isOverNumbers = under.some((row) => row.filter((cell) => /^\s*[<>]?\s*[\d.,+-]/.test(cell)).length > 0);
    const areAsWide = under.every((row) => isBlank(row) || row.length >= cells.length);
    return isOverNumbers && areAsWide ? i : undefined;
  }
  return undefined;
}

function letterhead(file: string, data: readonly (readonly string[])[], headerAt: number, header: number): FieldError {
  const say = (i: number): string =>
    (data[i] as readonly string[])
      .map((cell) => cell.trim())
      .filter(Boolean)
      .slice(0, 3)
      .join(", ");
  return new FieldError(
    "csv/header-below",
    `The header of ${file} seems to stand in row ${header + 1} ("${say(header)} …"), below "${say(headerAt)}".`,
    {
      place: {file, row: header + 1},
      hint: "Delete the rows above it, so that the header is the first row of the file.",
    },
  );
}

const APOSTROPHE = 39;

function isBlank(cells: readonly string[]): boolean {
  return cells.every((cell) => cell === "" || cell.trim() === "");
}

function unguarded(cell: string): string {
  return /^'\s*[=+\-@\t\r]/.test(cell) ? cell.slice(1) : cell;
}

/** Columns in use: up to the last one with a heading or a cell. */
function widestRow(data: readonly (readonly string[])[], headerAt: number, last: number): number {
  const header = data[headerAt] as readonly string[];
  let width = header.findLastIndex((cell) => cell.trim() !== "") + 1;
  for (let column = header.length - 1; column >= width; column--) {
    for (let i = headerAt + 1; i <= last; i++) {
      if (((data[i] as readonly string[])[column] ?? "").trim() !== "") width = column + 1;
    }
  }
  return width;
}

function readHeader(cells: readonly string[], width: number, place: Place, issues: Issue[]): string[] {
  const taken = new Set<string>();
  const repeated: string[] = [];
  const header = cells.slice(0, width).map((cell, i) => {
    const base = cell.trim() === "" ? `column ${i + 1}` : cell.trim();
    let name = base;
    for (let n = 2; taken.has(name); n++) name = `${base} (${n})`;
    if (name !== base) repeated.push(name);
    taken.add(name);
    return name;
  });
  if (repeated.length > 0) {
    issues.push({
      code: "csv/column-twice",
      severity: "warning",
      message: `${place.file} uses headings more than once; the later ones are now: ${repeated.join(", ")}.`,
      place,
      hint: "Check that the right one of them is used.",
    });
  }
  return header;
}

/** Empty cells beyond the header are dropped; anything else means the row's cells do not stand under their headings. */
function cutRow(cells: string[], width: number, file: string, row: number): void {
  if (!isBlank(cells.slice(width))) {
    throw new FieldError(
      "csv/too-many-cells",
      `Row ${row} of ${file} has ${cells.length} cells but the header has ${width}: cells do not stand under their headings.`,
      {place: {file, row}, hint: "Put quotes around text that holds the delimiter, or export the file again."},
    );
  }
  cells.length = width;
}

function brokenQuotes(file: string, row: number): FieldError {
  return new FieldError("csv/quote", `Row ${row} of ${file} has a quotation mark without its partner.`, {
    place: {file, row},
    hint: "Double or remove the quotation mark.",
  });
}
