import {FieldError, type Issue} from "../errors.ts";
import type {Table} from "../table.ts";
import {type DecimalMark, decimalMarkOf, parseNumber} from "../units/number.ts";
import type {SoilPolygon} from "./soil-map.ts";

export interface SoilTable {
  readonly table: Table;
  /** Attribute of the polygons that names their row, and the column of the table that holds the same names. */
  readonly on: string;
  readonly key: string;
  /** Column with the percent of the map unit each row stands for, where a key has several rows (components). */
  readonly share?: string | undefined;
}

/**
 * Soil polygons with the columns of a table added to their attributes, by key.
 *
 * Where a key has several rows, a number is the mean of its rows weighted by their share, over the rows that have it,
 * and a text is that of the largest share (the first of equals). An attribute of the polygons is never overwritten: a
 * column of the same name is added as `name (file)`.
 *
 * @throws {FieldError} `soil-map/no-key`, `soil-map/key-twice` for several rows without shares, `soil-map/no-match`.
 */
export function joinSoilTable(
  polygons: readonly SoilPolygon[],
  {table, on, key, share}: SoilTable,
): {polygons: readonly SoilPolygon[]; issues: readonly Issue[]} {
  const keyAt = columnOf(table, key);
  const shareAt = share === undefined ? undefined : columnOf(table, share);
  if (!polygons.some(({properties}) => Object.hasOwn(properties, on))) {
    throw new FieldError("soil-map/no-key", `The soil map has no attribute "${on}" to find rows of ${table.file} by.`, {
      place: {column: on},
      hint: "Name the attribute that holds the same keys as the table.",
    });
  }
  const decimal = decimalMarkOf(table.rows.flat());
  const rowsOf = rowsByKey(table, keyAt, shareAt, decimal);
  const own = new Set(polygons.flatMap(({properties}) => Object.keys(properties)));
  const columns = table.header
    .map((name, at) => ({name: own.has(name) ? `${name} (${table.file.split("/").at(-1)})` : name, at}))
    .filter(({at}) => at !== keyAt);
  const numeric = new Set(
    columns.filter(({at}) => table.rows.every((row) => isNumberOrEmpty(row[at] as string, decimal))).map(({at}) => at),
  );
  const missing = new Set<string>();
  const joined = polygons.map(({shape, properties}) => {
    const name = keyText(properties[on]);
    const rows = rowsOf.get(name);
    if (!rows) {
      missing.add(name);
      return {shape, properties};
    }
    const added = columns.map(({name: column, at}) => {
      if (!numeric.has(at)) return [column, heaviest(rows)?.cells[at] ?? ""] as const;
      return [
        column,
        weightedMean(rows.map(({cells, weight}) => ({weight, value: cell(cells, at, decimal)}))),
      ] as const;
    });
    return {shape, properties: {...properties, ...Object.fromEntries(added)}};
  });
  if (missing.size === new Set(polygons.map(({properties}) => keyText(properties[on]))).size) {
    throw new FieldError("soil-map/no-match", `No "${on}" of the soil map is in column "${key}" of ${table.file}.`, {
      place: {file: table.file, column: key},
      hint: `The map has ${sayKeys([...missing])}; the table has ${sayKeys([...rowsOf.keys()])}.`,
    });
  }
  const issues: Issue[] = [];
  if (missing.size > 0) {
    issues.push({
      code: "soil-map/key-missing",
      severity: "warning",
      message: `${table.file} has no row for ${sayKeys([...missing])} of the soil map; its columns are missing there.`,
      place: {file: table.file, column: key},
      hint: "Get the table of the same survey as the map.",
    });
  }
  return {polygons: joined, issues};
}

interface Row {
  readonly cells: readonly string[];
  readonly weight: number;
}

function columnOf(table: Table, name: string): number {
  const at = table.header.indexOf(name);
  if (at >= 0) return at;
  throw new FieldError("soil-map/no-key", `${table.file} has no column "${name}".`, {
    place: {file: table.file, column: name},
    hint: `Name one of: ${table.header.join(", ")}. A file without a header needs "columns".`,
  });
}

function rowsByKey(table: Table, keyAt: number, shareAt: number | undefined, decimal: DecimalMark): Map<string, Row[]> {
  const rows = new Map<string, Row[]>();
  table.rows.forEach((cells, i) => {
    const key = (cells[keyAt] as string).trim();
    if (key === "") return;
    const weight = shareAt === undefined ? 1 : cell(cells, shareAt, decimal);
    const same = rows.get(key) ?? [];
    if (same.length > 0 && shareAt === undefined) {
      throw new FieldError("soil-map/key-twice", `${table.file} has several rows for "${key}".`, {
        place: {file: table.file, row: table.firstRow + i},
        hint: 'Name the column with the percent of each in "share", or keep one row a key.',
      });
    }
    // A row without a share stands for nothing that could be weighed.
    rows.set(key, [...same, {cells, weight: Number.isFinite(weight) && weight > 0 ? weight : 0}]);
  });
  return rows;
}

/** Keys are names: 1386010 as a number and as a text is one key. */
function keyText(value: unknown): string {
  return value === undefined || value === null ? "" : String(value).trim();
}

function isNumberOrEmpty(text: string, decimal: DecimalMark): boolean {
  return text.trim() === "" || Number.isFinite(parseNumber(text, decimal));
}

function cell(cells: readonly string[], at: number, decimal: DecimalMark): number {
  const text = cells[at] as string;
  return text.trim() === "" ? Number.NaN : parseNumber(text, decimal);
}

function weightedMean(values: readonly {readonly weight: number; readonly value: number}[]): number {
  const known = values.filter(({weight, value}) => weight > 0 && Number.isFinite(value));
  const total = known.reduce((sum, {weight}) => sum + weight, 0);
  return total > 0 ? known.reduce((sum, {weight, value}) => sum + weight * value, 0) / total : Number.NaN;
}

function heaviest(rows: readonly Row[]): Row | undefined {
  return rows.reduce<Row | undefined>((best, row) => (best && best.weight >= row.weight ? best : row), undefined);
}

function sayKeys(keys: readonly string[]): string {
  const named = keys.slice(0, 5).map((key) => (key === "" ? "an empty key" : `"${key}"`));
  return `${named.join(", ")}${keys.length > 5 ? ` and ${keys.length - 5} more` : ""}`;
}
