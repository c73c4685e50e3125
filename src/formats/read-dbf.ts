import {FieldError, type Issue} from "../errors.ts";
import type {Properties} from "../geo/features.ts";
import {formatNumber} from "../units/format.ts";
import {parseNumber} from "../units/number.ts";
import {encodingOf} from "./code-pages.ts";
import type {Read} from "./file-set.ts";
import {type Kind, makeTally, type Tally} from "./tally.ts";
import {decoderFor} from "./text.ts";

/** One row of attributes; undefined for a row marked as deleted. */
export type DbfRow = Properties | undefined;

interface Column {
  readonly name: string;
  readonly type: string;
  readonly start: number;
  readonly end: number;
}

type Remark = "dbf/not-a-number" | "dbf/not-a-date" | "dbf/encoding-guessed";

const KINDS: Readonly<Record<Remark, Kind>> = {
  "dbf/not-a-number": {
    severity: "warning",
    says: "Left empty because a number could not be read",
    hint: "Look at those rows in the table.",
  },
  "dbf/not-a-date": {severity: "warning", says: "Left empty because a date could not be read"},
  "dbf/encoding-guessed": {
    severity: "note",
    says: "Guessed the encoding of text with accents, because the file does not say it",
    hint: "Export the layer as UTF-8 with a .cpg if names look wrong.",
  },
};

const HEADER_BYTES = 32;
const FIELD_BYTES = 32;
const LIVE = 0x20;
const DELETED = 0x2a;

/**
 * The attribute table of a shapefile (dBase III and its descendants), one entry for each row, in file order.
 *
 * Numbers (N, F) and dates (D, as `2026-05-01`) that are blank or filled with `*` are null, never 0; texts (C) lose
 * their padding and are null when nothing is left; logicals (L) are true, false or null. Other types are left out.
 *
 * @param cpg - Text of the `.cpg` beside it. Without one the language byte counts, else UTF-8 where it fits.
 * @throws {FieldError} `dbf/not-a-dbf`, `dbf/damaged`, `dbf/count`.
 */
export function readDbf(dbf: Uint8Array, file: string, cpg?: string): Read<readonly DbfRow[]> {
  if (dbf.length < HEADER_BYTES + 1) throw refusal("dbf/not-a-dbf", file, "is not a dBase table");
  const view = new DataView(dbf.buffer, dbf.byteOffset, dbf.byteLength);
  const count = view.getUint32(4, true);
  const headerBytes = view.getUint16(8, true);
  const rowBytes = view.getUint16(10, true);
  const issues: Issue[] = [];
  const tally = makeTally<Remark>("record", {file}, KINDS);
  const text = textReader(encodingOf(cpg, dbf[29] as number), tally);
  const columns = readColumns(dbf, headerBytes, rowBytes, text, file, issues);
  if (headerBytes + count * rowBytes > dbf.length) {
    throw refusal(
      "dbf/count",
      file,
      `says it has ${formatNumber(count)} rows of ${rowBytes} bytes but has ${formatNumber(dbf.length)} bytes in all`,
    );
  }
  const rows: DbfRow[] = [];
  const latin = decoderFor("windows-1252") as {decode(bytes: Uint8Array): string};
  for (let i = 0; i < count; i++) {
    const at = headerBytes + i * rowBytes;
    const flag = dbf[at];
    if (flag !== LIVE && flag !== DELETED) throw refusal("dbf/damaged", file, `has a broken row ${i + 1}`);
    const bytes = dbf.subarray(at, at + rowBytes);
    rows.push(flag === DELETED ? undefined : readRow(bytes, latin.decode(bytes), columns, text, tally, i + 1));
  }
  return {value: rows, issues: [...issues, ...tally.issues()]};
}

type TextReader = (bytes: Uint8Array, at: number) => string;

function readColumns(
  dbf: Uint8Array,
  headerBytes: number,
  rowBytes: number,
  text: TextReader,
  file: string,
  issues: Issue[],
): Column[] {
  const columns: Column[] = [];
  const left: string[] = [];
  const taken = new Set<string>();
  let start = 1;
  if (headerBytes > dbf.length) throw refusal("dbf/damaged", file, "is cut short inside its list of columns");
  // A carriage return ends the list; some programs write another sign there, some keep more behind it in the header.
  for (let at = HEADER_BYTES; dbf[at] !== 0x0d && at + FIELD_BYTES <= headerBytes; at += FIELD_BYTES) {
    const width = dbf[at + 16] as number;
    const type = String.fromCharCode(dbf[at + 11] as number).toUpperCase();
    const name = unique(text(untilZero(dbf.subarray(at, at + 11)), 0).trim(), taken);
    if (!"NFCDL".includes(type) || name === "__proto__") left.push(name);
    else columns.push({name, type, start, end: start + width});
    start += width;
  }
  if (start > rowBytes) throw refusal("dbf/damaged", file, `has columns of ${start} bytes in rows of ${rowBytes}`);
  if (left.length > 0) {
    issues.push({
      code: "dbf/columns-left-out",
      severity: "warning",
      message: `Columns of a kind that is not supported were left out: ${left.join(", ")}.`,
      place: {file},
    });
  }
  return columns;
}

function unique(name: string, taken: Set<string>): string {
  const base = name === "" ? "column" : name;
  let out = base;
  for (let n = 2; taken.has(out); n++) out = `${base}_${n}`;
  taken.add(out);
  return out;
}

function readRow(
  bytes: Uint8Array,
  latin: string,
  columns: readonly Column[],
  text: TextReader,
  tally: Tally<Remark>,
  at: number,
): Properties {
  const row: Record<string, string | number | boolean | null> = {};
  for (const {name, type, start, end} of columns) {
    // One character for one byte, so the plain types are read from the row as text.
    const cell = latin.slice(start, end);
    if (type === "C") row[name] = textCell(cell, bytes.subarray(start, end), text, at);
    else if (type === "D") row[name] = dateCell(cell.trim(), tally, at);
    else if (type === "L") row[name] = /[TtYy]/.test(cell) ? true : /[FfNn]/.test(cell) ? false : null;
    else row[name] = numberCell(cell, tally, at);
  }
  return row;
}

function textCell(cell: string, bytes: Uint8Array, text: TextReader, at: number): string | null {
  const isPlain = !/[^ -~]/.test(cell);
  const value = (isPlain ? cell : text(untilZero(bytes), at)).trimEnd();
  return value === "" ? null : value;
}

function numberCell(cell: string, tally: Tally<Remark>, at: number): number | null {
  const trimmed = cell.replaceAll("\0", " ").trim();
  if (trimmed === "" || /^\*+$/.test(trimmed)) return null;
  const value = parseNumber(trimmed);
  if (!Number.isNaN(value)) return value;
  tally.add("dbf/not-a-number", at);
  return null;
}

function dateCell(cell: string, tally: Tally<Remark>, at: number): string | null {
  if (/^[0\s]*$/.test(cell)) return null;
  const match = /^(\d{4})(0[1-9]|1[0-2])([0-2]\d|3[01])$/.exec(cell);
  if (match) return `${match[1]}-${match[2]}-${match[3]}`;
  tally.add("dbf/not-a-date", at);
  return null;
}

function untilZero(bytes: Uint8Array): Uint8Array {
  const end = bytes.indexOf(0);
  return end < 0 ? bytes : bytes.subarray(0, end);
}

/** Text in the stated encoding; without one in UTF-8 where the bytes fit it, else windows-1252. */
function textReader(encoding: string | undefined, tally: Tally<Remark>): TextReader {
  const stated = encoding === undefined ? undefined : decoderFor(encoding);
  if (stated) return (bytes) => stated.decode(bytes);
  const utf8 = decoderFor("utf-8", true);
  const latin = decoderFor("windows-1252");
  return (bytes, at) => {
    if (bytes.some((byte) => byte > 0x7e) && at > 0) tally.add("dbf/encoding-guessed", at);
    try {
      return utf8?.decode(bytes) ?? "";
    } catch {
      return latin?.decode(bytes) ?? "";
    }
  };
}

function refusal(code: string, file: string, what: string): FieldError {
  return new FieldError(code, `${file} ${what}.`, {
    place: {file},
    hint: "Copy or export the layer again, with its .dbf.",
  });
}
