import type {Issue} from "../errors.ts";
import {type Crs, WGS84} from "../geo/crs.ts";
import type {Table} from "../table.ts";
import {type DecimalMark, decimalMarkOf, parseNumber} from "../units/number.ts";
import {type ClockFormat, clockFormatOf, isClockFormat, parseClock} from "./clock-text.ts";
import type {Read} from "./file-set.ts";
import {findColumn} from "./find-column.ts";
import {toPositions} from "./positions.ts";
import {type Quantity, toSi, unitInHeading} from "./quantities.ts";
import {makeTally} from "./tally.ts";

export interface PointColumn {
  /** Heading in the file. */
  readonly column: string;
  /** What is measured, which says what units make sense; `"number"` and `"text"` are taken as they stand. */
  readonly as: Quantity | "text";
  /** Where the heading does not say it in brackets, as in `Flow (lb/s)`. */
  readonly unit?: string | undefined;
}

/** Which columns hold what. */
export interface PointMapping {
  /** Longitude or easting, and latitude or northing. */
  readonly x: string;
  readonly y: string;
  /** Default: degrees on WGS 84. */
  readonly crs?: Crs | undefined;
  readonly columns: Readonly<Record<string, PointColumn>>;
  /** Market weight of a bushel, for yields in bu/ac. */
  readonly poundsPerBushel?: number | undefined;
  /** Default: found from the cells. */
  readonly decimal?: DecimalMark | undefined;
}

/** One entry for each row of the table, so that what follows a lost position keeps its place in the sequence. */
export interface PointTable {
  /** Degrees on WGS 84; NaN in rows without a usable position. */
  readonly lon: Float64Array;
  readonly lat: Float64Array;
  /** In metres, seconds, kg/s, m/s, percent, t/ha. NaN where a cell is empty or no number. */
  readonly numbers: Readonly<Record<string, Float64Array>>;
  /** Outer spaces off. */
  readonly texts: Readonly<Record<string, readonly string[]>>;
}

/**
 * Points from a table: positions in longitude and latitude, columns in the units used inside.
 *
 * Cells that are empty or say so (`NA`, `null`, `-`) are NaN; other cells that are no numbers are NaN and remarked on,
 * with their count and first rows. Positions that cannot be are NaN and remarked on; when most are so, the file is
 * refused, because then its coordinate system or its columns are wrong.
 *
 * @throws {FieldError} `points/no-column` with the nearest heading, `points/which-column`, `points/no-unit`,
 *   `points/unknown-unit`, `points/no-bushel`, `points/no-positions` when not one row has a position, `crs/swapped`,
 *   `crs/not-degrees`, `crs/outside`.
 */
export function readPoints(table: Table, mapping: PointMapping): Read<PointTable> {
  const issues: Issue[] = [];
  const crs = mapping.crs ?? WGS84;
  if (crs.remark) issues.push({...crs.remark, place: {file: table.file}});
  const x = findColumn(table, mapping.x);
  const y = findColumn(table, mapping.y);
  const columns = Object.entries(mapping.columns);
  const wanted = columns.flatMap(([key, {column, as, unit}]) =>
    as === "text" ? [] : [[key, meaningOf(table, column, as, unit, mapping.poundsPerBushel, issues)] as const],
  );
  const decimal = mapping.decimal ?? decimalMarkOf(firstCells(table, [x, y, ...wanted.map(([, {index}]) => index)]));
  const {lon, lat} = toPositions(
    table,
    numbersOf(table, {index: x, factor: 1}, decimal),
    numbersOf(table, {index: y, factor: 1}, decimal),
    crs,
    issues,
  );
  const numbers = wanted.map(([key, meaning]) => [key, numbersOf(table, meaning, decimal, issues)]);
  const texts = columns
    .filter(([, {as}]) => as === "text")
    .map(([key, {column}]) => {
      const index = findColumn(table, column);
      return [key, table.rows.map((row) => (row[index] as string).trim())];
    });
  return {value: {lon, lat, numbers: Object.fromEntries(numbers), texts: Object.fromEntries(texts)}, issues};
}

/** Where a column stands and how its cells become numbers. */
interface Meaning {
  readonly index: number;
  readonly factor: number;
  readonly clock?: ClockFormat;
}

/** Where a column stands and how its cells become numbers in the unit used inside. */
export function meaningOf(
  table: Table,
  column: string,
  quantity: Quantity,
  unit: string | undefined,
  bushelPounds: number | undefined,
  issues: Issue[],
): Meaning {
  const index = findColumn(table, column);
  const heading = table.header[index] as string;
  const known = unit ?? unitInHeading(heading);
  if (quantity === "time") {
    // Year-first dates and times of day cannot be taken for anything else; day and month can, so they must be named.
    const clock = known ?? clockFormatOf(firstCells(table, [index]));
    if (clock !== undefined && isClockFormat(clock)) return {index, factor: 1, clock};
  }
  const factor = toSi(quantity, known, {file: table.file, column: heading, bushelPounds});
  if (unit === undefined && quantity !== "number") {
    issues.push({
      code: "points/unit-from-heading",
      severity: "note",
      message: `Column "${heading}" of ${table.file} was read in ${known}, as its heading says.`,
      place: {file: table.file, column: heading},
    });
  }
  return {index, factor};
}

const LOOKED_AT = 500;

function* firstCells(table: Table, columns: readonly number[]): Generator<string> {
  for (const row of table.rows.slice(0, LOOKED_AT)) for (const column of columns) yield row[column] as string;
}

const MISSING = /^\s*(na|n\/a|nan|null|none|nil|-+|\.|\?)?\s*$/i;

/** @param issues - Hears of cells that are no numbers; left out for positions, whose rows are remarked on as a whole. */
function numbersOf(
  table: Table,
  {index, factor, clock}: Meaning,
  decimal: DecimalMark,
  issues?: Issue[],
): Float64Array {
  const out = new Float64Array(table.rows.length);
  let tally: ReturnType<typeof makeTally<"points/not-a-number">> | undefined;
  for (let i = 0; i < out.length; i++) {
    const cell = table.rows[i]?.[index] as string;
    const value = cell === "" ? Number.NaN : clock ? parseClock(cell, clock) : parseNumber(cell, decimal);
    out[i] = value * factor;
    if (!Number.isNaN(value) || cell === "" || MISSING.test(cell)) continue;
    tally ??= notNumbers(table, index, cell, clock);
    tally.add("points/not-a-number", table.firstRow + i);
  }
  if (tally) issues?.push(...tally.issues());
  return out;
}

function notNumbers(table: Table, index: number, cell: string, clock: ClockFormat | undefined) {
  const column = table.header[index] as string;
  const shown = cell.trim().slice(0, 30);
  const what = clock ? `a time written ${clock}` : "a number";
  return makeTally(
    "row",
    {file: table.file, column},
    {
      "points/not-a-number": {
        severity: "warning",
        says: `Left column "${column}" empty where it is not ${what}, as "${shown}"`,
      },
    },
  );
}
