import papa from "papaparse";
import {FieldError, type Issue} from "../errors.ts";
import type {Table} from "../table.ts";
import type {Read} from "./file-set.ts";
import {readText} from "./text.ts";

const DELIMITERS = [",", ";", "\t", "|"];

/**
 * A delimited text file as it stands: nothing interpreted. Rows shorter than the header are padded with empty cells and
 * remarked on; empty lines inside the file stay as empty rows, so that row numbers are those of the file.
 *
 * @throws {FieldError} `csv/empty`, `csv/no-rows`, `csv/not-a-table`, `csv/too-many-cells` for a row with more cells
 *   than the header (usually a decimal comma that was not quoted), `csv/quote` for a quote that is never closed.
 */
export function readTable(bytes: Uint8Array, name: string): Read<Table> {
  const {value: text, issues: textIssues} = readText(bytes, name);
  if (text.trim() === "") {
    throw new FieldError("csv/empty", `${name} is empty.`, {place: {file: name}, hint: "Export the table again."});
  }
  const lines = parseLines(text, name);
  while (lines.length > 0 && isBlank(lines.at(-1) ?? [])) lines.pop();
  const first = lines.findIndex((line) => !isBlank(line));
  const issues: Issue[] = [...textIssues];
  const header = uniqueHeader(lines[first] ?? [], name, issues);
  if (header.length < 2 && lines.length > first + 1 && !/^[\w .()%/-]+$/.test(header[0] ?? "")) {
    throw new FieldError("csv/not-a-table", `${name} has no columns.`, {
      place: {file: name},
      hint: "Export it as CSV with a line of headings.",
    });
  }
  const rows = lines.slice(first + 1);
  if (rows.length === 0) {
    throw new FieldError("csv/no-rows", `${name} has headings but no rows.`, {
      place: {file: name},
      hint: "Export the table again.",
    });
  }
  const firstRow = first + 2;
  return {value: {file: name, header, rows: squareUp(rows, header.length, firstRow, name, issues), firstRow}, issues};
}

/** Lines as lists of cells. Most files have no quotes and are cut by hand, which is five times faster. */
function parseLines(text: string, name: string): string[][] {
  const delimiter = delimiterOf(text);
  if (!text.includes('"')) return text.split(/\r\n|\n|\r/).map((line) => line.split(delimiter));
  const {data, errors} = papa.parse(text, {delimiter, skipEmptyLines: false});
  const bad = errors.find(({code}) => code === "MissingQuotes" || code === "InvalidQuotes");
  if (bad) {
    throw new FieldError("csv/quote", `A quotation mark in ${name} is opened and not closed as it should be.`, {
      place: {file: name, row: (bad.row ?? 0) + 1},
      hint: "Double the quotation marks inside a cell, or remove them.",
    });
  }
  return data;
}

/** The mark that parts the first lines into the same number of cells, most of them. */
function delimiterOf(text: string): string {
  const sample = text
    .slice(0, 20_000)
    .split(/\r\n|\n|\r/)
    .filter((line) => line.trim() !== "")
    .slice(0, 10)
    .map((line) => line.replace(/"[^"]*"/g, ""));
  let best = ",";
  let bestScore = 0;
  for (const delimiter of DELIMITERS) {
    const counts = sample.map((line) => line.split(delimiter).length - 1);
    const [head = 0] = counts;
    const score = head * (counts.filter((count) => count === head).length / counts.length);
    if (score > bestScore) {
      best = delimiter;
      bestScore = score;
    }
  }
  return best;
}

const isBlank = (cells: readonly string[]): boolean => cells.every((cell) => cell.trim() === "");

function uniqueHeader(cells: readonly string[], name: string, issues: Issue[]): string[] {
  const seen = new Set<string>();
  return cells.map((cell, i) => {
    const bare = cell.trim() || `column ${i + 1}`;
    let unique = bare;
    for (let n = 2; seen.has(unique); n++) unique = `${bare} (${n})`;
    seen.add(unique);
    if (unique !== bare) {
      issues.push({
        code: "csv/column-twice",
        severity: "warning",
        message: `${name} has two columns called "${bare}"; the later one is read as "${unique}".`,
        place: {file: name, row: 1, column: bare},
        hint: "Give the columns different names.",
      });
    }
    return unique;
  });
}

function squareUp(rows: string[][], width: number, firstRow: number, name: string, issues: Issue[]): string[][] {
  const short: number[] = [];
  const square = rows.map((cells, i) => {
    if (cells.length === width) return cells;
    if (cells.length > width) {
      if (isBlank(cells.slice(width))) return cells.slice(0, width);
      throw new FieldError(
        "csv/too-many-cells",
        `Row ${firstRow + i} of ${name} has ${cells.length} cells under ${width} headings.`,
        {place: {file: name, row: firstRow + i}, hint: "Quote cells that hold the delimiter, such as decimal commas."},
      );
    }
    if (!isBlank(cells)) short.push(firstRow + i);
    return [...cells, ...Array<string>(width - cells.length).fill("")];
  });
  if (short.length > 0) {
    issues.push({
      code: "csv/short-row",
      severity: "warning",
      message: `${short.length} ${short.length === 1 ? "row" : "rows"} of ${name} are shorter than the headings (first: row ${short[0]}); the missing cells count as empty.`,
      place: {file: name, row: short[0] as number},
      hint: "Check that the file was not cut off.",
    });
  }
  return square;
}
