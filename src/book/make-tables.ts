import {WGS84_SRS_ID} from "../formats/geopackage/schema.ts";
import {quoted, type SqliteDatabase} from "../formats/geopackage/sqlite.ts";
import type {BookColumn, BookTable} from "./table.ts";

/** Makes a table and enters it in the GeoPackage's own lists, so that any GIS shows it. */
export function makeTable(db: SqliteDatabase, table: BookTable, now: string): void {
  const {name, about, geometry, columns, unique, lookedUpBy = []} = table;
  const parts = [
    "id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL",
    ...(geometry ? [`geom ${geometry}`] : []),
    ...columns.map(columnText),
    ...(unique ? [`UNIQUE (${unique.map(quoted).join(", ")})`] : []),
  ];
  db.exec(`CREATE TABLE ${quoted(name)} (${parts.join(", ")})`);
  for (const column of lookedUpBy) {
    db.exec(`CREATE INDEX ${quoted(`${name}_by_${column}`)} ON ${quoted(name)} (${quoted(column)})`);
  }
  db.run(
    "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change, srs_id) VALUES (?, ?, ?, ?, ?, ?)",
    [name, geometry ? "features" : "attributes", name, about, now, geometry ? WGS84_SRS_ID : null],
  );
  if (geometry) {
    db.run("INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', ?, ?, 0, 0)", [name, geometry, WGS84_SRS_ID]);
  }
}

/** Adds a column to a table of an earlier version; it must take rows that do not have it yet. */
export function addColumn(db: SqliteDatabase, table: string, column: BookColumn): void {
  if (column.required) throw new Error(`column ${column.name} cannot be added as required`);
  db.exec(`ALTER TABLE ${quoted(table)} ADD COLUMN ${columnText(column)}`);
}

function columnText({name, type, required, refers}: BookColumn): string {
  return [
    quoted(name),
    type,
    ...(required ? ["NOT NULL"] : []),
    ...(refers ? [`REFERENCES ${quoted(refers)} (id)`] : []),
  ].join(" ");
}
