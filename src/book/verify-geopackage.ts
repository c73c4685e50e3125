import {decodeBlob} from "../formats/geopackage/blob.ts";
import {APPLICATION_ID, USER_VERSION, WGS84_SRS_ID} from "../formats/geopackage/schema.ts";
import {quoted, type SqliteDatabase} from "../formats/geopackage/sqlite.ts";
import {TABLES} from "./migrations.ts";
import type {BookTable} from "./table.ts";

const MOMENT = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/;

/**
 * The rules of GeoPackage 1.3 a book depends on to be opened by any GIS: identification, reference systems, list of
 * contents, keys, kinds of shapes and every shape's own bytes.
 *
 * Not the whole standard: GDAL's validator looks at that in the reference suite.
 */
export function geoPackageFaults(db: SqliteDatabase): {looked: string; faults: string[]} {
  const faults: string[] = [];
  const application = Number(db.all("PRAGMA application_id")[0]?.application_id);
  const user = Number(db.all("PRAGMA user_version")[0]?.user_version);
  if (application !== APPLICATION_ID) faults.push(`the application id is ${application}, not ${APPLICATION_ID}`);
  if (user !== USER_VERSION) faults.push(`the user version is ${user}, not ${USER_VERSION}`);
  const systems = new Set(db.all("SELECT srs_id FROM gpkg_spatial_ref_sys").map(({srs_id}) => srs_id));
  for (const id of [-1, 0, WGS84_SRS_ID]) if (!systems.has(id)) faults.push(`reference system ${id} is missing`);
  const contents = new Map(
    db.all("SELECT table_name, data_type, last_change FROM gpkg_contents").map((row) => [String(row.table_name), row]),
  );
  let shapes = 0;
  for (const table of TABLES) {
    const entry = contents.get(table.name);
    if (entry?.data_type !== (table.geometry ? "features" : "attributes")) {
      faults.push(`${table.name} is not listed as it should be`);
    } else if (!MOMENT.test(String(entry.last_change))) {
      faults.push(`the last change of ${table.name} is no moment: ${entry.last_change}`);
    }
    faults.push(...columnFaults(db, table));
    if (table.geometry) shapes += shapeFaults(db, table, faults);
  }
  return {looked: `${TABLES.length} tables, ${shapes} shapes`, faults};
}

function columnFaults(db: SqliteDatabase, {name, geometry, columns}: BookTable): string[] {
  const found = new Map(
    db.all("SELECT name, type, pk FROM pragma_table_info(?)", [name]).map((row) => [String(row.name), row]),
  );
  if (found.size === 0) return [`there is no table ${name}`];
  const key = found.get("id");
  return [
    ...(key?.type === "INTEGER" && key.pk === 1 ? [] : [`${name} has no whole-number key`]),
    ...(geometry && found.get("geom")?.type !== geometry ? [`${name} does not hold ${geometry}`] : []),
    ...columns.filter((column) => found.get(column.name)?.type !== column.type).map((c) => `${name} lacks ${c.name}`),
  ];
}

/** Every shape of a table; gives back how many there are. */
function shapeFaults(db: SqliteDatabase, {name, geometry}: BookTable, faults: string[]): number {
  const [kind] = db.all("SELECT geometry_type_name, srs_id FROM gpkg_geometry_columns WHERE table_name = ?", [name]);
  if (kind?.geometry_type_name !== geometry || kind?.srs_id !== WGS84_SRS_ID) {
    faults.push(`the shapes of ${name} are not declared as ${geometry} on WGS 84`);
  }
  let count = 0;
  for (const {id, geom} of db.each(`SELECT id, geom FROM ${quoted(name)} WHERE geom IS NOT NULL`)) {
    count += 1;
    const shape = geom instanceof Uint8Array ? decodeBlob(geom) : {wrong: "is no shape"};
    if (shape === "empty") continue;
    const wrong =
      "wrong" in shape ? shape.wrong : shape.geometry.type.toUpperCase() === geometry ? "" : "is of another kind";
    if (wrong !== "") faults.push(`the shape of row ${id} of ${name} ${wrong}`);
  }
  return count;
}
