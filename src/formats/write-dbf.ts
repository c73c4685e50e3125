import {FieldError} from "../errors.ts";
import type {Properties} from "../geo/features.ts";
import {roundHalfAway} from "../units/format.ts";
import type {Read} from "./file-set.ts";
import {makeTally} from "./tally.ts";
import {encodeUtf8} from "./text.ts";

/** One column of a written table: N for numbers, C for text. */
export interface DbfColumn {
  /** The property it is filled from; its name in the file is made from this by `dbfNames`. */
  readonly name: string;
  readonly type: "N" | "C";
  /** Characters (N, at most 18, sign and point included) or bytes of UTF-8 (C, at most 254). */
  readonly width: number;
  readonly decimals?: number;
}

/** Year, month, day in the header: fixed unless the caller has a date, so that the same run gives the same bytes. */
export type DbfDate = readonly [year: number, month: number, day: number];
const UNDATED: DbfDate = [1980, 1, 1];

const FIELD_BYTES = 32;
const NAME_LENGTH = 10;
const SPACE = 0x20;

/**
 * Names a table can hold: upper case, letters, digits and underscore, a letter first, at most 10, all different.
 *
 * @returns One for each name given, in order.
 */
export function dbfNames(names: readonly string[]): string[] {
  const taken = new Set<string>();
  return names.map((name) => {
    const bare = name.toUpperCase().replace(/[^A-Z0-9_]/g, "_");
    const base = (/^[A-Z]/.test(bare) ? bare : `F${bare}`).slice(0, NAME_LENGTH);
    let out = base;
    for (let n = 2; taken.has(out); n++) out = `${base.slice(0, NAME_LENGTH - `_${n}`.length)}_${n}`;
    taken.add(out);
    return out;
  });
}

/**
 * A dBase III table in UTF-8, one row for each set of properties.
 *
 * Numbers are rounded half away from zero to the column's decimals. No number (null or NaN) is a field of `*`, which
 * readers take as empty; blanks would be read as 0 by some. Text that is too long is cut between characters, with a
 * remark.
 *
 * @param what - What the rows belong to, for messages.
 * @throws {FieldError} `export/number-too-wide` for a number that does not fit its column: it is never cut.
 */
export function writeDbf(
  rows: readonly Properties[],
  columns: readonly DbfColumn[],
  what: string,
  dated: DbfDate = UNDATED,
): Read<Uint8Array> {
  columns.forEach(checkColumn);
  if (columns.length === 0) throw new Error("a dBase table needs a column");
  const headerBytes = 32 + FIELD_BYTES * columns.length + 1;
  const rowBytes = columns.reduce((sum, {width}) => sum + width, 1);
  const out = new Uint8Array(headerBytes + rowBytes * rows.length + 1).fill(SPACE, headerBytes);
  writeHeader(out, columns, rows.length, rowBytes, dated);
  const tally = makeTally(
    "record",
    {file: what},
    {
      "export/text-cut": {severity: "note", says: "Cut text that is longer than its column"},
    },
  );
  rows.forEach((row, i) => {
    let at = headerBytes + i * rowBytes + 1;
    for (const column of columns) {
      const value = row[column.name];
      const bytes = column.type === "N" ? numberField(value, column, what, i) : textField(value, column.width);
      if (bytes.cut) tally.add("export/text-cut", i + 1);
      out.set(bytes.field, at);
      at += column.width;
    }
  });
  out[out.length - 1] = 0x1a;
  return {value: out, issues: tally.issues()};
}

type Cell = Properties[string] | undefined;

function checkColumn({name, type, width, decimals = 0}: DbfColumn): void {
  const most = type === "N" ? 18 : 254;
  const fits = Number.isInteger(width) && width >= 1 && width <= most;
  if (!fits || decimals < 0 || (decimals > 0 && (type === "C" || decimals > width - 2))) {
    throw new Error(`column ${name}: ${type}(${width},${decimals}) is not a dBase column`);
  }
}

function writeHeader(
  out: Uint8Array,
  columns: readonly DbfColumn[],
  rows: number,
  rowBytes: number,
  [year, month, day]: DbfDate,
): void {
  const view = new DataView(out.buffer);
  const headerBytes = 32 + FIELD_BYTES * columns.length + 1;
  out.set([0x03, year - 1900, month, day]);
  view.setUint32(4, rows, true);
  view.setUint16(8, headerBytes, true);
  view.setUint16(10, rowBytes, true);
  const names = dbfNames(columns.map(({name}) => name));
  columns.forEach(({type, width, decimals = 0}, i) => {
    const at = 32 + FIELD_BYTES * i;
    out.set(encodeUtf8(names[i] as string), at);
    out[at + 11] = type.charCodeAt(0);
    out[at + 16] = width;
    out[at + 17] = decimals;
  });
  out[headerBytes - 1] = 0x0d;
}

function numberField(value: Cell, column: DbfColumn, what: string, row: number): {field: Uint8Array; cut: boolean} {
  const {width, decimals = 0, name} = column;
  if (value === null || value === undefined || Number.isNaN(value)) {
    return {field: encodeUtf8("*".repeat(width)), cut: false};
  }
  if (typeof value !== "number") throw new Error(`${name} of record ${row + 1} of ${what} is not a number`);
  const text = roundHalfAway(value, decimals).toFixed(decimals);
  if (text.length > width || !/^-?[\d.]+$/.test(text)) {
    throw new FieldError(
      "export/number-too-wide",
      `${text} does not fit the column ${name} of ${what}, which has ${width} characters.`,
      {place: {file: what}, hint: "Check the number; a rate this large is usually a wrong unit."},
    );
  }
  return {field: encodeUtf8(text.padStart(width)), cut: false};
}

function textField(value: Cell, width: number): {field: Uint8Array; cut: boolean} {
  const whole = encodeUtf8(value === null || value === undefined ? "" : String(value).replace(/\s/g, " "));
  let end = Math.min(whole.length, width);
  // A byte 10xxxxxx continues a character: step back to where one begins.
  if (whole.length > width) while (end > 0 && ((whole[end] as number) & 0xc0) === 0x80) end--;
  return {field: whole.subarray(0, end), cut: whole.length > width};
}
