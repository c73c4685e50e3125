import type {Properties} from "../../geo/features.ts";
import type {SqlValue} from "./sqlite.ts";
import type {Column, ColumnType} from "./tables.ts";

/** Every property that occurs, in the order met: BOOLEAN, INTEGER or REAL where all its values are, TEXT otherwise. */
export function columnsOf(rows: readonly Properties[]): Column[] {
  const types = new Map<string, ColumnType | undefined>();
  for (const row of rows) {
    for (const [name, value] of Object.entries(row)) {
      const seen = types.get(name);
      types.set(name, value === null ? seen : wider(seen, typeOf(value)));
    }
  }
  return [...types].map(([name, type]) => ({name, type: type ?? "TEXT"}));
}

/**
 * A value as its column stores it. NaN is stored as NULL, the database's own "not known".
 *
 * Throws a plain Error when a value does not fit a type that the caller chose.
 */
export function cellOf(value: Properties[string] | undefined, {name, type}: Column): SqlValue {
  if (value === null || value === undefined || Number.isNaN(value)) return null;
  const fits =
    type === "TEXT"
      ? true
      : type === "BOOLEAN"
        ? typeof value === "boolean"
        : type === "INTEGER"
          ? Number.isInteger(value)
          : type === "REAL"
            ? typeof value === "number"
            : DATES[type].test(String(value));
  if (!fits || value === Infinity || value === -Infinity)
    throw new Error(`column ${name} is ${type} and cannot hold ${value}`);
  if (typeof value === "boolean") return type === "TEXT" ? String(value) : Number(value);
  return type === "TEXT" ? String(value) : value;
}

const DATES = {
  DATE: /^\d{4}-\d\d-\d\d$/,
  DATETIME: /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/,
} as const;

function typeOf(value: string | number | boolean): ColumnType {
  if (typeof value === "boolean") return "BOOLEAN";
  if (typeof value === "string") return "TEXT";
  return Number.isSafeInteger(value) ? "INTEGER" : "REAL";
}

function wider(a: ColumnType | undefined, b: ColumnType): ColumnType {
  if (a === undefined || a === b) return b;
  const numbers = [a, b].every((type) => type === "INTEGER" || type === "REAL");
  return numbers ? "REAL" : "TEXT";
}
