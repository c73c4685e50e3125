import {FieldError} from "../errors.ts";
import type {SqliteDatabase} from "../formats/geopackage/sqlite.ts";
import type {Field} from "../geo/field.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {roundHalfAway} from "../units/format.ts";
import {nearestName} from "../units/nearest-name.ts";
import type {Book} from "./book.ts";
import {addRow, changeRow} from "./rows.ts";
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

/** Enters a field, or brings its boundary up to date. Fields are the same when farm and name are. */
export function keepField(db: SqliteDatabase, farm: string, field: Field, prefix: string | undefined): number {
  const known = db.all("SELECT id FROM farms WHERE name = ?", [farm])[0]?.id;
  const farmId = known === undefined ? addRow(db, "farms", {name: farm}) : Number(known);
  const {name, area, frame, boundary} = field;
  const cells = {
    farm_id: farmId,
    farm,
    name,
    area_m2: area,
    acres: roundHalfAway(area / SQUARE_METRES_PER_ACRE, 4),
    frame_lon: frame.lon,
    frame_lat: frame.lat,
    prefix,
  };
  const geometry = {type: "MultiPolygon", coordinates: boundary} as const;
  const id = db.all("SELECT id FROM fields WHERE farm_id = ? AND name = ?", [farmId, name])[0]?.id;
  if (id === undefined) return addRow(db, "fields", cells, geometry);
  changeRow(db, "fields", Number(id), cells, geometry);
  return Number(id);
}
