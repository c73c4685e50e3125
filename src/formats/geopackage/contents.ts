import {FieldError, type Issue} from "../../errors.ts";
import {nearestName} from "../../units/nearest-name.ts";
import {quoted, type SqliteDatabase} from "./sqlite.ts";
import type {TableSummary} from "./tables.ts";

/** What a table is made of, as reading it needs it. */
export interface OpenTable extends TableSummary {
  /** Column of the whole-number key; absent in tables without one. */
  readonly key?: string;
  readonly geometryColumn?: string;
  readonly srs?: {
    readonly id: number;
    readonly organization: string;
    readonly code: number;
    readonly definition: string;
  };
}

/**
 * Tables of features and attributes in the order of the file's own list.
 *
 * Views are passed over with a remark: they are programs, and a hostile one can run for ever. Tiles and other kinds of
 * content are passed over too.
 */
export function tablesOf(db: SqliteDatabase, file: string, issues: Issue[]): OpenTable[] {
  const stored = new Map(
    db
      .all("SELECT name, type FROM pragma_table_list WHERE schema = 'main'")
      .map(({name, type}) => [String(name).toLowerCase(), {name: String(name), type: String(type)}]),
  );
  const own = ["gpkg_contents", "gpkg_geometry_columns", "gpkg_spatial_ref_sys"].map((name) => stored.get(name)?.type);
  if (own[0] === undefined || own.some((type) => type !== undefined && type !== "table")) {
    throw new FieldError("geopackage/not-one", `${file} is not a GeoPackage (it has no list of contents).`, {
      place: {file},
      hint: "Export the layer as GeoPackage again.",
    });
  }
  const listed = db.all("SELECT table_name, data_type, identifier FROM gpkg_contents");
  return listed.flatMap(({table_name, data_type, identifier}): OpenTable[] => {
    const entry = stored.get(String(table_name).toLowerCase());
    const kind = data_type === "features" || data_type === "attributes" ? data_type : undefined;
    if (entry?.type !== "table" || !kind) {
      const why = !entry ? "is not there" : kind ? `is a ${entry.type}` : `holds ${data_type}`;
      issues.push({
        code: "geopackage/passed-over",
        severity: kind ? "warning" : "note",
        message: `${table_name} of ${file} was passed over: it ${why}.`,
        place: {file},
        ...(kind ? {hint: "Save it as a table of its own."} : {}),
      });
      return [];
    }
    const title = typeof identifier === "string" && identifier !== "" ? identifier : entry.name;
    const table = openTable(db, entry.name, title, kind);
    if (kind === "features" && !table.geometryColumn) {
      issues.push({
        code: "geopackage/passed-over",
        severity: "warning",
        message: `${entry.name} of ${file} was passed over: nothing says which of its columns holds the shapes.`,
        place: {file},
        hint: "Export the layer as GeoPackage again.",
      });
      return [];
    }
    return [table];
  });
}

function openTable(db: SqliteDatabase, name: string, title: string, kind: TableSummary["kind"]): OpenTable {
  const all = db
    .all("SELECT name, type, pk FROM pragma_table_info(?)", [name])
    .map(({name: column, type, pk}) => ({name: String(column), type: String(type).toUpperCase(), pk: Number(pk)}));
  const keys = all.filter((column) => column.pk > 0);
  const key = keys.length === 1 && keys[0]?.type === "INTEGER" ? keys[0].name : undefined;
  const shape = kind === "features" ? geometryOf(db, name) : undefined;
  const geometryColumn = all.find((column) => column.name.toLowerCase() === shape?.column.toLowerCase())?.name;
  const columns = all
    .filter((column) => column.name !== key && column.name !== geometryColumn)
    .map(({name: column, type}) => ({name: column, type}));
  const count = Number(db.all(`SELECT count(*) AS n FROM ${quoted(name)}`)[0]?.n);
  return {
    name,
    title,
    kind,
    count,
    columns,
    ...(key === undefined ? {} : {key}),
    ...(shape && geometryColumn ? {geometry: shape.type, geometryColumn} : {}),
    ...(shape?.srs ? {srs: shape.srs} : {}),
  };
}

function geometryOf(
  db: SqliteDatabase,
  table: string,
): {column: string; type: string; srs?: NonNullable<OpenTable["srs"]>} | undefined {
  const [row] = db.all(
    `SELECT g.column_name, g.geometry_type_name, s.srs_id, s.organization, s.organization_coordsys_id, s.definition
     FROM gpkg_geometry_columns g LEFT JOIN gpkg_spatial_ref_sys s ON s.srs_id = g.srs_id
     WHERE lower(g.table_name) = lower(?)`,
    [table],
  );
  if (!row) return undefined;
  return {
    column: String(row.column_name),
    type: String(row.geometry_type_name).toUpperCase(),
    ...(row.srs_id === null
      ? {}
      : {
          srs: {
            id: Number(row.srs_id),
            organization: String(row.organization),
            code: Number(row.organization_coordsys_id),
            definition: String(row.definition),
          },
        }),
  };
}

/**
 * The table a user means: by name or title without regard to case, or the only one of its kind.
 *
 * @throws {FieldError} `geopackage/none`, `geopackage/several`, `geopackage/no-such-layer`.
 */
export function pickTable(
  tables: readonly OpenTable[],
  kind: TableSummary["kind"],
  layer: string | undefined,
  file: string,
): OpenTable {
  const choices = tables.filter((table) => table.kind === kind);
  const shown = choices.map((table) => table.name).join(", ");
  const what = kind === "features" ? "layer" : "table of attributes";
  if (choices.length === 0) {
    throw new FieldError("geopackage/none", `${file} holds no ${what}.`, {
      place: {file},
      hint: "Export the layer into the file, or name another file.",
    });
  }
  if (layer === undefined) {
    if (choices.length === 1) return choices[0] as OpenTable;
    throw new FieldError("geopackage/several", `${file} holds ${choices.length} ${what}s: ${shown}.`, {
      place: {file},
      hint: `Say which one in the job, as in "layer": "${choices[0]?.name}".`,
    });
  }
  const wanted = layer.toLowerCase();
  const found =
    choices.find((table) => table.name.toLowerCase() === wanted) ??
    choices.find((table) => table.title.toLowerCase() === wanted);
  if (found) return found;
  const near = nearestName(
    layer,
    choices.map((table) => table.name),
  );
  throw new FieldError("geopackage/no-such-layer", `${file} holds no ${what} named "${layer}", but: ${shown}.`, {
    place: {file},
    hint: near ? `Did you mean "${near}"?` : "Use one of these names.",
  });
}
