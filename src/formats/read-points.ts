import {FieldError, type Issue} from "../errors.ts";
import {type Crs, isWgs84, transformBetween, WGS84} from "../geo/crs.ts";
import type {Table} from "../table.ts";
import {nearestName} from "../units/nearest-name.ts";
import {parseNumber} from "../units/number.ts";
import {checkDegrees} from "./degrees.ts";
import type {Read} from "./file-set.ts";
import {type Quantity, toSi} from "./quantities.ts";

/** Which columns hold what. Units stand beside the column, or in its heading: `Flow (lb/s)`. */
export interface PointMapping {
  readonly x: string;
  readonly y: string;
  /** Default: degrees on WGS 84. */
  readonly crs?: Crs | undefined;
  readonly numbers?: Readonly<Record<string, NumberColumn>>;
  readonly texts?: Readonly<Record<string, string>>;
  /** Market weight of a bushel, for yields in bu/ac. */
  readonly bushelPounds?: number | undefined;
}

export interface NumberColumn {
  readonly column: string;
  readonly unit?: string | undefined;
  /** What is measured, which says what units make sense. `"number"` is taken as it stands. */
  readonly quantity: Quantity;
}

/** One entry per row of the table; rows without a usable position have NaN there. */
export interface PointTable {
  readonly lon: Float64Array;
  readonly lat: Float64Array;
  /** In SI: metres, seconds, kg/s, m/s, percent, t/ha. NaN where a cell is empty or no number. */
  readonly numbers: Readonly<Record<string, Float64Array>>;
  readonly texts: Readonly<Record<string, readonly string[]>>;
}

/**
 * Points from a table.
 *
 * @throws {FieldError} `points/no-column` with the nearest heading, `points/no-unit`, `points/unknown-unit`,
 *   `points/no-positions` when not one row has a position, and what `checkDegrees` refuses.
 */
export function readPoints(table: Table, mapping: PointMapping): Read<PointTable> {
  const issues: Issue[] = [];
  const x = readColumn(table, mapping.x, issues);
  const y = readColumn(table, mapping.y, issues);
  const {lon, lat} = positions(table, x, y, mapping.crs ?? WGS84, issues);
  const numbers = Object.entries(mapping.numbers ?? {}).map(([key, wanted]) => {
    const index = findColumn(table, wanted.column);
    const factor = toSi(wanted.quantity, wanted.unit ?? unitInHeading(table.header[index] ?? ""), {
      file: table.file,
      column: wanted.column,
      bushelPounds: mapping.bushelPounds,
    });
    const values = readColumn(table, wanted.column, issues);
    if (factor !== 1) for (let i = 0; i < values.length; i++) values[i] = (values[i] as number) * factor;
    return [key, values] as const;
  });
  const texts = Object.entries(mapping.texts ?? {}).map(([key, column]) => {
    const index = findColumn(table, column);
    return [key, table.rows.map((row) => (row[index] as string).trim())] as const;
  });
  return {value: {lon, lat, numbers: Object.fromEntries(numbers), texts: Object.fromEntries(texts)}, issues};
}

/**
 * The index of a column: written exactly so, or else but for case, spaces and punctuation.
 *
 * @throws {FieldError} `points/no-column`.
 */
export function findColumn(table: Table, column: string): number {
  const exact = table.header.indexOf(column);
  if (exact >= 0) return exact;
  const bare = (text: string): string => text.toLowerCase().replace(/[^a-z0-9]/g, "");
  const loose = table.header.flatMap((heading, i) => (bare(heading) === bare(column) ? [i] : []));
  if (loose.length === 1) return loose[0] as number;
  const near = nearestName(column, table.header);
  throw new FieldError("points/no-column", `${table.file} has no column "${column}".`, {
    place: {file: table.file, row: table.firstRow - 1},
    hint: near ? `Did you mean "${near}"?` : `Its columns are: ${table.header.join(", ")}.`,
  });
}

/** `"Flow (lb/s)"` says lb/s. */
function unitInHeading(heading: string): string | undefined {
  return /[([]\s*([^)\]]+?)\s*[)\]]\s*$/.exec(heading)?.[1];
}

function readColumn(table: Table, column: string, issues: Issue[]): Float64Array {
  const index = findColumn(table, column);
  const values = new Float64Array(table.rows.length);
  let bad = 0;
  let firstBad = -1;
  for (let i = 0; i < values.length; i++) {
    const text = (table.rows[i] as readonly string[])[index] as string;
    const value = parseNumber(text);
    values[i] = value;
    if (Number.isNaN(value) && text.trim() !== "") {
      bad++;
      if (firstBad < 0) firstBad = i;
    }
  }
  if (bad > 0) {
    const sample = ((table.rows[firstBad] as readonly string[])[index] as string).trim().slice(0, 20);
    issues.push({
      code: "points/not-a-number",
      severity: bad > values.length / 10 ? "warning" : "note",
      message: `Column "${column}" of ${table.file} has ${bad} ${bad === 1 ? "cell that is" : "cells that are"} no number (first: "${sample}"); ${bad === 1 ? "it counts" : "they count"} as not recorded.`,
      place: {file: table.file, row: table.firstRow + firstBad, column},
    });
  }
  return values;
}

function positions(
  table: Table,
  x: Float64Array,
  y: Float64Array,
  crs: Crs,
  issues: Issue[],
): {lon: Float64Array; lat: Float64Array} {
  const lost = (i: number): boolean =>
    !Number.isFinite((x[i] as number) + (y[i] as number)) ||
    // Receivers without a fix write 0, 0; a local frame may well have a point near its origin.
    (crs.units === "degrees" && Math.abs(x[i] as number) + Math.abs(y[i] as number) < 0.01);
  const {forward} = transformBetween(crs.definition, WGS84.definition);
  const same = isWgs84(crs);
  const lon = new Float64Array(x.length).fill(Number.NaN);
  const lat = new Float64Array(x.length).fill(Number.NaN);
  let without = 0;
  let mostLon = 0;
  let mostLat = 0;
  for (let i = 0; i < x.length; i++) {
    if (lost(i)) {
      without++;
      continue;
    }
    const [east, north] = same ? [x[i] as number, y[i] as number] : forward(x[i] as number, y[i] as number);
    lon[i] = east;
    lat[i] = north;
    mostLon = Math.max(mostLon, Math.abs(east));
    mostLat = Math.max(mostLat, Math.abs(north));
  }
  if (without === x.length) {
    throw new FieldError("points/no-positions", `Not one row of ${table.file} has a position.`, {
      place: {file: table.file},
      hint: "Check which columns hold longitude and latitude.",
    });
  }
  checkDegrees(mostLon, mostLat, table.file);
  if (without > 0) {
    issues.push({
      code: "points/without-position",
      severity: "note",
      message: `${without} ${without === 1 ? "row" : "rows"} of ${table.file} have no position and were set aside.`,
      place: {file: table.file},
    });
  }
  return {lon, lat};
}
