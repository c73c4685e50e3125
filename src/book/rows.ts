import {type Envelope, encodeBlob, envelopeOf, joinEnvelopes} from "../formats/geopackage/blob.ts";
import {cellOf} from "../formats/geopackage/columns.ts";
import {WGS84_SRS_ID} from "../formats/geopackage/schema.ts";
import {quoted, type SqliteDatabase, type SqlRow, type SqlValue} from "../formats/geopackage/sqlite.ts";
import {wind} from "../formats/rings.ts";
import {settlePolygon, settlePosition} from "../formats/settle.ts";
import type {Geometry} from "../geo/features.ts";
import {tableNamed} from "./migrations.ts";
import type {BookColumn} from "./table.ts";

export type Cell = string | number | boolean | Uint8Array | null | undefined;

/** A row by the names of its columns; what is left out is not known. Geometry only in tables of shapes. */
export interface Row {
  readonly cells: Readonly<Record<string, Cell>>;
  readonly geometry?: Geometry;
}

/** Adds a row; gives back its id. */
export function addRow(db: SqliteDatabase, table: string, cells: Row["cells"], geometry?: Geometry): number {
  addRows(db, table, [geometry ? {cells, geometry} : {cells}]);
  return Number(db.all("SELECT last_insert_rowid() AS id")[0]?.id);
}

/** Adds rows, and keeps the GeoPackage's list of contents true: extent and day of the last change are the caller's `touch`. */
export function addRows(db: SqliteDatabase, table: string, rows: readonly Row[]): void {
  if (rows.length === 0) return;
  const {geometry, columns} = tableNamed(table);
  for (const {cells} of rows) {
    const stray = Object.keys(cells).find((name) => !columns.some((column) => column.name === name));
    if (stray) throw new Error(`${table} has no column ${stray}`);
  }
  const names = [...(geometry ? ["geom"] : []), ...columns.map(({name}) => name)];
  let box: Envelope | undefined;
  const values = rows.map((row): SqlValue[] => {
    const shape = row.geometry && settled(row.geometry);
    if (shape && shape.type.toUpperCase() !== geometry) throw new Error(`${table} takes no ${shape.type}`);
    if (shape) box = joinEnvelopes(box, envelopeOf(shape));
    return [
      ...(geometry ? [shape ? encodeBlob(shape, WGS84_SRS_ID) : null] : []),
      ...columns.map((column) => cell(row.cells[column.name], column)),
    ];
  });
  db.runAll(
    `INSERT INTO ${quoted(table)} (${names.map(quoted).join(", ")}) VALUES (${names.map(() => "?").join(", ")})`,
    values,
  );
  if (box) widen(db, table, box);
}

/** Replaces the cells named in a row, and its shape where one is given. */
export function changeRow(
  db: SqliteDatabase,
  table: string,
  id: number,
  cells: Row["cells"],
  geometry?: Geometry,
): void {
  const {columns} = tableNamed(table);
  const shape = geometry && settled(geometry);
  const names = Object.keys(cells);
  const values = names.map((name) => {
    const column = columns.find((one) => one.name === name);
    if (!column) throw new Error(`${table} has no column ${name}`);
    return cell(cells[name], column);
  });
  const sets = [...(shape ? ["geom"] : []), ...names].map((name) => `${quoted(name)} = ?`);
  db.run(`UPDATE ${quoted(table)} SET ${sets.join(", ")} WHERE id = ?`, [
    ...(shape ? [encodeBlob(shape, WGS84_SRS_ID)] : []),
    ...values,
    id,
  ]);
  const box = shape && envelopeOf(shape);
  if (box) widen(db, table, box);
}

/** The day of the last change, in the GeoPackage's list of contents. */
export function touch(db: SqliteDatabase, tables: Iterable<string>, now: string): void {
  db.runAll(
    "UPDATE gpkg_contents SET last_change = ? WHERE table_name = ?",
    [...tables].map((table) => [now, table]),
  );
}

/** The only row of an answer. */
export function one(rows: readonly SqlRow[]): SqlRow {
  const [row] = rows;
  if (!row) throw new Error("a row that must be there is not");
  return row;
}

function cell(value: Cell, column: BookColumn): SqlValue {
  if (value === undefined || value === null) {
    if (column.required) throw new Error(`column ${column.name} may not be left out`);
    return null;
  }
  if (column.type === "BLOB") {
    if (!(value instanceof Uint8Array)) throw new Error(`column ${column.name} takes bytes`);
    return value;
  }
  if (value instanceof Uint8Array) throw new Error(`column ${column.name} takes no bytes`);
  return cellOf(value, {name: column.name, type: column.type});
}

/** Coordinates as every file of a hand-over has them. */
function settled(geometry: Geometry): Geometry {
  switch (geometry.type) {
    case "Point":
      return {type: "Point", coordinates: settlePosition(geometry.coordinates)};
    case "LineString":
      return {type: "LineString", coordinates: geometry.coordinates.map(settlePosition)};
    case "Polygon":
      return {type: "Polygon", coordinates: tidy(geometry.coordinates)};
    case "MultiPolygon":
      return {type: "MultiPolygon", coordinates: geometry.coordinates.map(tidy)};
    default:
      throw new Error(`a book holds no ${geometry.type}`);
  }
}

function tidy(polygon: Parameters<typeof settlePolygon>[0]): ReturnType<typeof settlePolygon> {
  return wind(settlePolygon(polygon, "A polygon"), "counter-clockwise");
}

/** The extent only grows: it is there to find a table on a map, not to measure it. */
function widen(db: SqliteDatabase, table: string, [west, east, south, north]: Envelope): void {
  db.run(
    `UPDATE gpkg_contents SET min_x = min(ifnull(min_x, ?1), ?1), min_y = min(ifnull(min_y, ?2), ?2),
       max_x = max(ifnull(max_x, ?3), ?3), max_y = max(ifnull(max_y, ?4), ?4) WHERE table_name = ?5`,
    [west, south, east, north, table],
  );
}
