import {formatNumber, roundHalfAway} from "../units/format.ts";

/** One column of a table for people and for machines alike. */
export interface ReportColumn {
  /** For files: lower case, the unit last. Part of the interface: renaming one is a breaking change. */
  readonly name: string;
  /** For people, the unit in it. */
  readonly head: string;
  /** Decimals of numbers in print; text columns have none. */
  readonly decimals?: number;
  /** Writes a plus before numbers above zero. */
  readonly signed?: boolean;
}

export type ReportCell = string | number | undefined;

/** A table of the reports; also written as CSV and JSON. */
export interface ReportTable {
  readonly id: string;
  readonly title: string;
  readonly columns: readonly ReportColumn[];
  readonly rows: readonly (readonly ReportCell[])[];
  readonly notes?: readonly string[];
}

/** A table as it is put down: a row for each item, and every column's heading beside what its cells hold. */
export interface TableOf<Item> extends Omit<ReportTable, "columns" | "rows"> {
  readonly items: readonly Item[];
  readonly columns: readonly (ReportColumn & {readonly cell: (item: Item) => ReportCell})[];
}

export function tableOf<Item>({items, columns, ...table}: TableOf<Item>): ReportTable {
  return {
    ...table,
    columns: columns.map(({cell: _, ...column}) => column),
    rows: items.map((item) => columns.map(({cell}) => cell(item))),
  };
}

/** Decimals kept in files beyond those in print, so that sums can be checked. */
const MORE_DECIMALS = 3;

/** What stands where there is no figure. */
export const NONE = "—";

/** A cell as it is printed. */
export function cellText(cell: ReportCell, {decimals, signed}: ReportColumn): string {
  if (cell === undefined) return NONE;
  if (typeof cell === "string") return cell;
  if (Number.isNaN(cell)) return NONE;
  const text = formatNumber(cell, decimals ?? 0);
  return signed && cell > 0 && /[1-9]/.test(text) ? `+${text}` : text;
}

/** Header and rows for a CSV writer: numbers as numbers, with three decimals more than printed; null where there is none. */
export function tableCsvRows({columns, rows}: ReportTable): {
  readonly header: readonly string[];
  readonly rows: readonly (readonly (string | number | null)[])[];
} {
  return {
    header: columns.map(({name}) => name),
    rows: rows.map((row) =>
      row.map((cell, c) => {
        if (cell === undefined || (typeof cell === "number" && !Number.isFinite(cell))) return null;
        return typeof cell === "string" ? cell : fileNumber(cell, columns[c]?.decimals);
      }),
    ),
  };
}

/** All tables as one JSON text: rows as objects by column name. Same tables, same bytes. */
export function tablesJson(tables: readonly ReportTable[]): string {
  const document = {
    kind: "report tables",
    version: 1,
    tables: tables.map(({id, title, columns, rows, notes = []}) => ({
      id,
      title,
      rows: rows.map((row) =>
        Object.fromEntries(
          columns.map(({name, decimals}, c) => {
            const cell = row[c];
            const missing = cell === undefined || (typeof cell === "number" && !Number.isFinite(cell));
            return [name, missing ? null : typeof cell === "number" ? fileNumber(cell, decimals) : cell];
          }),
        ),
      ),
      notes,
    })),
  };
  return `${JSON.stringify(document, null, 1)}\n`;
}

function fileNumber(value: number, decimals = 0): number {
  return roundHalfAway(value, decimals + MORE_DECIMALS);
}
