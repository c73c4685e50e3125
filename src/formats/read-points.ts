import {FieldError, type Issue} from "../errors.ts";
import {type Crs, isWgs84, transformBetween, WGS84} from "../geo/crs.ts";
import type {Table} from "../table.ts";
import {type DecimalMark, decimalMarkOf, parseNumber} from "../units/number.ts";
import {type ClockFormat, clockFormatOf, isClockFormat, parseClock} from "./clock-text.ts";
import {columnFactor, type Quantity, unitInHeading} from "./column-units.ts";
import {checkDegrees} from "./degrees.ts";
import type {Read} from "./file-set.ts";
import {findColumn} from "./find-column.ts";
import {type Kind, makeTally} from "./tally.ts";

export interface PointColumn {
  /** Heading in the file. */
  readonly column: string;
  readonly as: Quantity | "text";
  /** Where the heading does not give it in brackets. */
  readonly unit?: string | undefined;
}

/** Which columns of a table mean what. */
export interface PointMapping<Key extends string = string> {
  /** Longitude or easting, and latitude or northing. */
  readonly x: string;
  readonly y: string;
  /** Default: degrees on WGS 84. */
  readonly crs?: Crs | undefined;
  readonly columns: Readonly<Partial<Record<Key, PointColumn | undefined>>>;
  /** Weight of the bushels of a yield column. */
  readonly poundsPerBushel?: number | undefined;
  /** Default: found from the cells. */
  readonly decimal?: DecimalMark | undefined;
}

/** Points in file order; point `i` is index `i` of every column. */
export interface Points<Key extends string = string> {
  readonly file: string;
  readonly lon: Float64Array;
  readonly lat: Float64Array;
  /** Numeric columns in the unit inside (see `Quantity`); NaN where the file has none. */
  readonly numbers: Readonly<Partial<Record<Key, Float64Array>>>;
  /** Text columns, outer spaces off. */
  readonly texts: Readonly<Partial<Record<Key, readonly string[]>>>;
  /** Row in the file of each point. */
  readonly rows: Int32Array;
}

type Remark = "points/no-position" | "points/at-zero" | "points/impossible-position";

const KINDS: Readonly<Record<Remark, Kind>> = {
  "points/no-position": {severity: "warning", says: "Left out for want of a position"},
  "points/at-zero": {
    severity: "warning",
    says: "Left out because the position is 0, 0, which receivers write when they have none",
  },
  "points/impossible-position": {severity: "warning", says: "Left out because the position is not on the earth"},
};

/**
 * Points from a table: positions in longitude and latitude, columns converted to the units inside.
 *
 * Rows without a usable position are left out and counted; blank rows are passed over. Cells that are empty or say so
 * (`NA`, `null`, `-`) are NaN; other cells that are no numbers are NaN and counted.
 *
 * @throws {FieldError} `table/no-column`, `table/which-column`, `units/missing`, `units/unknown-unit`,
 *   `units/no-bushel-weight`, `crs/swapped`, `crs/not-degrees`, `points/none`.
 */
export function readPoints<Key extends string>(table: Table, mapping: PointMapping<Key>): Read<Points<Key>> {
  const issues: Issue[] = [];
  const crs = mapping.crs ?? WGS84;
  if (crs.remark) issues.push({...crs.remark, place: {file: table.file}});
  const columns = Object.entries(mapping.columns).flatMap(([key, column]) =>
    column ? [resolve(key as Key, column as PointColumn, table, mapping, issues)] : [],
  );
  const x = findColumn(table, mapping.x);
  const y = findColumn(table, mapping.y);
  const numeric = [x, y, ...columns.filter(({factor}) => factor !== undefined).map(({index}) => index)];
  const decimal = mapping.decimal ?? decimalMarkOf(firstCells(table, numeric));
  const placed = readPositions(table, x, y, crs, decimal, issues);
  const numbers: Partial<Record<Key, Float64Array>> = {};
  const texts: Partial<Record<Key, readonly string[]>> = {};
  for (const column of columns) {
    if (column.factor === undefined) {
      texts[column.key] = Array.from(placed.at, (i) => (table.rows[i]?.[column.index] ?? "").trim());
    } else {
      numbers[column.key] = readNumbers(table, placed.at, column, decimal, issues);
    }
  }
  const rows = placed.at.map((i) => i + table.firstRow);
  return {value: {file: table.file, lon: placed.lon, lat: placed.lat, numbers, texts, rows}, issues};
}

interface Resolved<Key> {
  readonly key: Key;
  readonly index: number;
  /** Undefined for text. */
  readonly factor: number | undefined;
  readonly clock: ClockFormat | undefined;
}

function resolve<Key extends string>(
  key: Key,
  {column, as, unit}: PointColumn,
  table: Table,
  mapping: PointMapping<Key>,
  issues: Issue[],
): Resolved<Key> {
  const index = findColumn(table, column);
  if (as === "text") return {key, index, factor: undefined, clock: undefined};
  const heading = table.header[index] as string;
  const inHeading = unit === undefined ? unitInHeading(heading) : undefined;
  const known = unit ?? inHeading;
  if (as === "time") {
    const clock =
      known !== undefined && isClockFormat(known) ? known : (known ?? clockFormatOf(firstCells(table, [index])));
    if (clock !== undefined && isClockFormat(clock)) return {key, index, factor: 1, clock};
  }
  const factor = columnFactor(as, known, heading, table.file, mapping.poundsPerBushel);
  if (inHeading !== undefined && as !== "number") {
    issues.push({
      code: "points/unit-from-heading",
      severity: "note",
      message: `Column "${heading}" of ${table.file} was read in ${inHeading}, as its heading says.`,
      place: {file: table.file, column: heading},
    });
  }
  return {key, index, factor, clock: undefined};
}

const LOOKED_AT = 500;

function* firstCells(table: Table, columns: readonly number[]): Generator<string> {
  for (const row of table.rows.slice(0, LOOKED_AT)) for (const column of columns) yield row[column] as string;
}

interface Placed {
  readonly lon: Float64Array;
  readonly lat: Float64Array;
  /** Index into the table's rows of each point. */
  readonly at: Int32Array;
}

function readPositions(
  table: Table,
  xColumn: number,
  yColumn: number,
  crs: Crs,
  decimal: DecimalMark,
  issues: Issue[],
): Placed {
  const convert = isWgs84(crs) ? undefined : transformBetween(crs.definition, WGS84.definition).forward;
  const tally = makeTally<Remark>("row", {file: table.file}, KINDS);
  const count = table.rows.length;
  const lon = new Float64Array(count);
  const lat = new Float64Array(count);
  const at = new Int32Array(count);
  let kept = 0;
  let mostLon = 0;
  let mostLat = 0;
  for (let i = 0; i < count; i++) {
    const row = table.rows[i] as readonly string[];
    const fileRow = table.firstRow + i;
    const x = parseNumber(row[xColumn] as string, decimal);
    const y = parseNumber(row[yColumn] as string, decimal);
    if (Number.isNaN(x) || Number.isNaN(y)) {
      if (row.some((cell) => cell !== "")) tally.add("points/no-position", fileRow);
      continue;
    }
    if (
      crs.units === "degrees" ? Math.abs(x) + Math.abs(y) < 0.01 : x === 0 && y === 0 && !crs.name.startsWith("local")
    ) {
      tally.add("points/at-zero", fileRow);
      continue;
    }
    const [east, north] = convert ? convert(x, y) : [x, y];
    if (!(Math.abs(east) <= 180 && Math.abs(north) <= 90)) {
      mostLon = Math.max(mostLon, Math.abs(x));
      mostLat = Math.max(mostLat, Math.abs(y));
      tally.add("points/impossible-position", fileRow);
      continue;
    }
    lon[kept] = east;
    lat[kept] = north;
    at[kept++] = i;
  }
  // A few wild positions are a receiver's; most of them wild are a wrong coordinate system or swapped columns.
  if (tally.count("points/impossible-position") > kept) {
    if (!convert) checkDegrees(mostLon, mostLat, table.file);
    throw outside(table.file, crs);
  }
  if (kept === 0) {
    throw new FieldError("points/none", `${table.file} has no row with a position in its columns.`, {
      place: {file: table.file, column: table.header[xColumn] as string},
      hint: "Check which columns hold the coordinates.",
      issues: tally.issues(),
    });
  }
  issues.push(...tally.issues());
  return {lon: lon.slice(0, kept), lat: lat.slice(0, kept), at: at.slice(0, kept)};
}

const MISSING = /^\s*(na|n\/a|nan|null|none|nil|-+|\.|\?)?\s*$/i;

function readNumbers(
  table: Table,
  at: Int32Array,
  {index, factor = 1, clock}: Resolved<string>,
  decimal: DecimalMark,
  issues: Issue[],
): Float64Array {
  const out = new Float64Array(at.length);
  let tally: ReturnType<typeof makeTally<"points/not-a-number">> | undefined;
  for (let i = 0; i < at.length; i++) {
    const row = at[i] as number;
    const cell = table.rows[row]?.[index] as string;
    const value = cell === "" ? Number.NaN : clock ? parseClock(cell, clock) : parseNumber(cell, decimal);
    out[i] = value * factor;
    if (!Number.isNaN(value) || cell === "" || MISSING.test(cell)) continue;
    const what = clock ? `a time written ${clock}` : "a number";
    tally ??= makeTally(
      "row",
      {file: table.file, column: table.header[index] as string},
      {
        "points/not-a-number": {
          severity: "warning",
          says: `Left empty in column "${table.header[index]}" because it is not ${what}, as "${cell.slice(0, 40)}"`,
        },
      },
    );
    tally.add("points/not-a-number", row + table.firstRow);
  }
  if (tally) issues.push(...tally.issues());
  return out;
}

function outside(file: string, crs: Crs): FieldError {
  return new FieldError("crs/outside", `Most positions of ${file} are no places in ${crs.name}.`, {
    place: {file},
    hint: "Check which coordinate system the file is in, and that easting and northing are not swapped.",
  });
}
