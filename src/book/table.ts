import type {ColumnType} from "../formats/geopackage/tables.ts";

// What the tables of a book are described by. The same description makes the table, writes its rows and documents it.

export interface BookColumn {
  readonly name: string;
  readonly type: ColumnType | "BLOB";
  /** What it holds, its unit included. */
  readonly about: string;
  readonly required?: boolean;
  /** Table whose `id` it names. */
  readonly refers?: string;
}

export interface BookTable {
  readonly name: string;
  readonly about: string;
  /** Present on tables of shapes, which any GIS opens. Longitude and latitude on WGS 84. */
  readonly geometry?: "POINT" | "LINESTRING" | "POLYGON" | "MULTIPOLYGON";
  readonly columns: readonly BookColumn[];
  /** Columns that are unlike in every row, taken together. */
  readonly unique?: readonly string[];
  /** Columns rows are looked up by. */
  readonly lookedUpBy?: readonly string[];
}

type More = Omit<BookColumn, "name" | "type" | "about">;

const column =
  (type: BookColumn["type"]) =>
  (name: string, about: string, more: More = {}): BookColumn => ({name, type, about, ...more});

export const text = column("TEXT");
export const whole = column("INTEGER");
export const real = column("REAL");
export const yesNo = column("BOOLEAN");
export const moment = column("DATETIME");
export const day = column("DATE");
export const bytes = column("BLOB");

/** A column that names a row of another table by its id. */
export const of = (table: string, name: string, about: string): BookColumn => ({
  name,
  type: "INTEGER",
  about,
  required: true,
  refers: table,
});

export const required = {required: true} as const;
