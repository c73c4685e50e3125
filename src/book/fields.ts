import {FieldError} from "../errors.ts";
import type {SqliteDatabase} from "../formats/geopackage/sqlite.ts";
import type {Field} from "../geo/field.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {roundHalfAway} from "../units/format.ts";
import {nearestName} from "../units/nearest-name.ts";
import type {Book} from "./book.ts";
import {addToLog} from "./log.ts";
import {TABLES} from "./migrations.ts";
import {addRow, changeRow, touch} from "./rows.ts";
import {type StaleStep, staleSteps} from "./stale.ts";

/** A field as the book knows it. */
export interface BookField {
  readonly id: number;
  /** Empty where jobs name no farm. */
  readonly farm: string;
  readonly name: string;
}

export interface FieldSummary extends BookField {
  readonly acres: number;
  /** Files put in, in their present versions. */
  readonly sources: number;
  /** Versions of results, pruned ones included. */
  readonly versions: number;
  /** The version in force; absent before the first run. */
  readonly current?: {readonly version: number; readonly madeAt: string; readonly program: string};
  /** Steps of the version in force that no longer fit what they rest on. */
  readonly stale: readonly StaleStep[];
}

/** Every field with what is in force, by farm and name. */
export function listFields(book: Book): FieldSummary[] {
  const {db} = book;
  return db.transaction(() =>
    db
      .all(
        `SELECT f.id, f.farm, f.name, f.acres, r.id AS run_id, r.version, r.made_at, r.program,
           (SELECT count(*) FROM sources s WHERE s.field_id = f.id AND s.current) AS sources,
           (SELECT count(*) FROM runs v WHERE v.field_id = f.id) AS versions
         FROM fields f LEFT JOIN runs r ON r.field_id = f.id AND r.current ORDER BY f.farm, f.name`,
      )
      .map((row) => ({
        id: Number(row.id),
        farm: String(row.farm),
        name: String(row.name),
        acres: Number(row.acres),
        sources: Number(row.sources),
        versions: Number(row.versions),
        ...(row.run_id !== null && {
          current: {version: Number(row.version), madeAt: String(row.made_at), program: String(row.program)},
        }),
        stale: row.run_id === null ? [] : staleSteps(db, Number(row.id), Number(row.run_id)),
      })),
  );
}

/**
 * The field a person means: by name, or by farm and name with a slash between, without regard to case.
 *
 * @throws {FieldError} `book/no-such-field` with the nearest name, `book/several-fields`.
 */
export function findField({db, path}: Book, name: string): BookField {
  const all = db
    .all("SELECT id, farm, name FROM fields ORDER BY farm, name")
    .map((row) => ({id: Number(row.id), farm: String(row.farm), name: String(row.name)}));
  const wanted = name.trim().toLowerCase();
  const found = all.filter((field) =>
    [field.name, `${field.farm}/${field.name}`].some((n) => n.toLowerCase() === wanted),
  );
  if (found.length === 1) return found[0] as BookField;
  if (found.length > 1) {
    throw new FieldError("book/several-fields", `${found.length} fields of ${path} are named "${name}".`, {
      hint: `Name the farm too, as in "${found[0]?.farm}/${found[0]?.name}".`,
    });
  }
  const near = nearestName(
    name,
    all.map((field) => field.name),
  );
  throw new FieldError("book/no-such-field", `${path} has no field "${name}".`, {
    hint: near ? `Did you mean "${near}"?` : 'See the fields with "loamwright book list".',
  });
}

/** How a job's field is found in the book. */
export interface FieldKnownAs {
  /** The field it is, whatever the job calls it: another name or farm than the book's renames it. */
  readonly fieldId?: number | undefined;
  /** That there is none yet, so that a name another field once had may be taken. */
  readonly isNew?: boolean | undefined;
  /** With an id: name and ground stay as they are, because the job is not the one in force. */
  readonly groundStays?: boolean | undefined;
}

/**
 * Enters a field, or brings its boundary up to date. Without an id fields are the same when farm and name are.
 *
 * @throws {FieldError} `book/renamed` for a name that a field no longer has, `book/field-exists` for one that another has.
 */
export function keepField(
  book: Book,
  farm: string,
  field: Field,
  prefix: string | undefined,
  {fieldId, isNew = false, groundStays = false}: FieldKnownAs = {},
): number {
  if (fieldId !== undefined && groundStays) return fieldId;
  const {db} = book;
  const {name, area, frame, boundary} = field;
  const named = db.all("SELECT id FROM fields WHERE farm = ? AND name = ?", [farm, name])[0]?.id;
  const id = fieldId ?? (named === undefined ? undefined : Number(named));
  if (id === undefined && !isNew) refuseFormerName(book, farm, name);
  if (id !== undefined) rename(book, id, farm, name);
  const cells = {
    farm_id: farmOf(db, farm),
    farm,
    name,
    area_m2: area,
    acres: roundHalfAway(area / SQUARE_METRES_PER_ACRE, 4),
    frame_lon: frame.lon,
    frame_lat: frame.lat,
    prefix,
  };
  const geometry = {type: "MultiPolygon", coordinates: boundary} as const;
  if (id === undefined) return addRow(db, "fields", cells, geometry);
  changeRow(db, "fields", id, cells, geometry);
  return id;
}

/**
 * Part of a change: gives a field another name or farm, wherever rows of shapes say it. Files that were written under the
 * name before stay as they are.
 *
 * @throws {FieldError} `book/field-exists`.
 */
export function rename(book: Book, id: number, farm: string, name: string): void {
  const {db, host} = book;
  const [before] = db.all("SELECT farm, name FROM fields WHERE id = ?", [id]);
  if (!before) throw new Error(`the book has no field ${id}`);
  if (before.farm === farm && before.name === name) return;
  if (db.all("SELECT 1 FROM fields WHERE farm = ? AND name = ? AND id <> ?", [farm, name, id]).length > 0) {
    throw new FieldError("book/field-exists", `There is a field "${name}" already.`, {
      hint: "Choose another name, or open that field.",
    });
  }
  changeRow(db, "fields", id, {farm_id: farmOf(db, farm), farm, name});
  db.run("DELETE FROM farms WHERE id NOT IN (SELECT farm_id FROM fields)");
  for (const table of TABLES_WITH_NAME) db.run(`UPDATE ${table} SET field = ? WHERE field_id = ?`, [name, id]);
  const was = {farm: String(before.farm), name: String(before.name)};
  for (const one of [was, {farm, name}]) {
    db.run("DELETE FROM former_names WHERE farm = ? AND name = ?", [one.farm, one.name]);
  }
  addRow(db, "former_names", {field_id: id, ...was, until: host.now()});
  addToLog(db, host, {what: "renamed", field: name, detail: {from: was, to: {farm, name}}});
  touch(db, ["farms", "fields", "former_names", "log", ...TABLES_WITH_NAME], host.now());
}

/** Tables of shapes that name the field of each. */
const TABLES_WITH_NAME = TABLES.filter(({columns}) =>
  ["field_id", "field"].every((wanted) => columns.some(({name}) => name === wanted)),
).map(({name}) => name);

function farmOf(db: SqliteDatabase, farm: string): number {
  const known = db.all("SELECT id FROM farms WHERE name = ?", [farm])[0]?.id;
  return known === undefined ? addRow(db, "farms", {name: farm}) : Number(known);
}

/** A job with the name before would otherwise make a second field of the same ground. */
function refuseFormerName({db}: Book, farm: string, name: string): void {
  const [row] = db.all(
    `SELECT f.farm, f.name, n.until FROM former_names n JOIN fields f ON f.id = n.field_id WHERE n.farm = ? AND n.name = ?`,
    [farm, name],
  );
  if (!row) return;
  const now = row.farm === farm ? `"${row.name}"` : `"${row.name}" of "${row.farm}"`;
  throw new FieldError("book/renamed", `"${name}" is called ${now} since ${String(row.until).slice(0, 10)}.`, {
    hint: "Write the new name into the job; a new field needs a name that no field of the book had.",
  });
}
