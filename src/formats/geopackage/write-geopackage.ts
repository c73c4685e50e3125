import type {Issue} from "../../errors.ts";
import type {Feature, Geometry, Properties} from "../../geo/features.ts";
import type {Read} from "../file-set.ts";
import {wind} from "../rings.ts";
import {settlePolygon, settlePosition} from "../settle.ts";
import {type Envelope, encodeBlob, envelopeOf, joinEnvelopes} from "./blob.ts";
import {cellOf, columnsOf} from "./columns.ts";
import {columnNames, tableName, tableTitle} from "./names.ts";
import {APPLICATION_ID, CORE_TABLES, SPATIAL_REFERENCE_SYSTEMS, USER_VERSION, WGS84_SRS_ID} from "./schema.ts";
import {quoted, type SqliteDatabase, type SqliteHost, type SqlValue} from "./sqlite.ts";
import type {Column, GeoPackageTable} from "./tables.ts";

export interface WriteGeoPackageOptions {
  /** Time stamp of every table, UTC. Fixed by default, so that the same tables give the same bytes. */
  readonly lastChange?: string;
}

const KEY = "fid";
const GEOMETRY = "geom";

/**
 * Tables as one GeoPackage 1.3 (OGC 12-128r18): shapes in longitude and latitude on WGS 84, attributes with types.
 *
 * Coordinates are rounded to 9 decimals like in every other file. Polygons among multipolygons become multipolygons, so
 * that a table holds one kind of shape. Keys count from 1 in the order given; ids of features are not kept. No spatial
 * index is written: files stay readable and writable for SQLite builds without one.
 *
 * @returns A note for every column that had to be renamed, because it would be named like another or like the key.
 * Checked against: GDAL's reader and its GeoPackage validator (reference suite).
 */
export function writeGeoPackage(
  host: SqliteHost,
  tables: readonly GeoPackageTable[],
  options: WriteGeoPackageOptions = {},
): Read<Uint8Array> {
  const lastChange = options.lastChange ?? "1980-01-01T00:00:00.000Z";
  if (!/^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/.test(lastChange)) throw new Error(`${lastChange} is no time stamp`);
  const issues: Issue[] = [];
  const {bytes} = host.scratch(new Uint8Array(0), (path) => {
    const db = host.engine.open(path);
    try {
      db.exec(`PRAGMA application_id = ${APPLICATION_ID}; PRAGMA user_version = ${USER_VERSION};`);
      db.transaction(() => writeAll(db, tables, lastChange, issues));
    } finally {
      db.close();
    }
  });
  return {value: bytes, issues};
}

function writeAll(db: SqliteDatabase, tables: readonly GeoPackageTable[], lastChange: string, issues: Issue[]): void {
  db.exec(CORE_TABLES);
  db.runAll("INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)", SPATIAL_REFERENCE_SYSTEMS);
  const names = new Set<string>();
  const titles = new Set<string>();
  for (const table of tables) {
    const name = tableName(table.name, names);
    const title = tableTitle(table.name, titles);
    names.add(name);
    titles.add(title);
    writeTable(db, table, name, title, lastChange, issues);
  }
}

function writeTable(
  db: SqliteDatabase,
  table: GeoPackageTable,
  name: string,
  title: string,
  lastChange: string,
  issues: Issue[],
): void {
  const features = "features" in table ? table.features.map(settled) : undefined;
  const rows = features ? features.map((feature) => feature.properties) : (table as {rows: readonly Properties[]}).rows;
  const columns = table.columns ?? columnsOf(rows);
  const shown = columnNames(
    columns.map((column) => column.name),
    features ? [KEY, GEOMETRY] : [KEY],
  );
  issues.push(...renamed(columns, shown, title));
  const kind = features && kindOf(features);
  const definitions = [
    `${KEY} INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL`,
    ...(kind ? [`${GEOMETRY} ${kind.toUpperCase()}`] : []),
    ...columns.map(({type}, i) => `${quoted(shown[i] as string)} ${type}`),
  ];
  db.exec(`CREATE TABLE ${quoted(name)} (${definitions.join(", ")})`);
  const box = features?.map(({geometry}) => envelopeOf(geometry)).reduce(joinEnvelopes, undefined);
  db.run("INSERT INTO gpkg_contents VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", [
    name,
    features ? "features" : "attributes",
    title,
    table.description ?? "",
    lastChange,
    ...corners(box),
    features ? WGS84_SRS_ID : null,
  ]);
  if (kind) {
    db.run("INSERT INTO gpkg_geometry_columns VALUES (?, ?, ?, ?, 0, 0)", [
      name,
      GEOMETRY,
      kind.toUpperCase(),
      WGS84_SRS_ID,
    ]);
  }
  const cells = [...(kind ? [GEOMETRY] : []), ...shown];
  const places = [KEY, ...cells].map(() => "?").join(", ");
  db.runAll(
    `INSERT INTO ${quoted(name)} (${[KEY, ...cells].map(quoted).join(", ")}) VALUES (${places})`,
    rowsOf(rows, columns, kind, features),
  );
}

function* rowsOf(
  rows: readonly Properties[],
  columns: readonly Column[],
  kind: Kind | undefined,
  features: readonly Feature[] | undefined,
): Generator<SqlValue[]> {
  for (const [i, row] of rows.entries()) {
    const geometry = features?.[i]?.geometry;
    const shape = kind && geometry ? [encodeBlob(promoted(geometry, kind), WGS84_SRS_ID)] : [];
    yield [i + 1, ...shape, ...columns.map((column) => cellOf(row[column.name], column))];
  }
}

type Kind = Geometry["type"] | "Geometry";

const MULTI = {Point: "MultiPoint", LineString: "MultiLineString", Polygon: "MultiPolygon"} as const;

/** The one kind that all shapes of a table are, or can be made without changing them. */
function kindOf(features: readonly Feature[]): Kind {
  const kinds = [...new Set(features.map(({geometry}) => geometry.type))];
  if (kinds.length === 1) return kinds[0] as Kind;
  const multi = new Set(kinds.map((kind) => (kind in MULTI ? MULTI[kind as keyof typeof MULTI] : kind)));
  return multi.size === 1 ? ([...multi][0] as Kind) : "Geometry";
}

function promoted(geometry: Geometry, kind: Kind): Geometry {
  if (geometry.type === kind || !(geometry.type in MULTI) || kind === "Geometry") return geometry;
  return {type: MULTI[geometry.type as keyof typeof MULTI], coordinates: [geometry.coordinates]} as unknown as Geometry;
}

/** Coordinates as every file of a hand-over has them. */
function settled(feature: Feature, index: number): Feature {
  const {geometry} = feature;
  const what = `Feature ${index + 1}`;
  switch (geometry.type) {
    case "Point":
      return {...feature, geometry: {type: "Point", coordinates: settlePosition(geometry.coordinates)}};
    case "MultiPoint":
    case "LineString":
      return {...feature, geometry: {...geometry, coordinates: geometry.coordinates.map(settlePosition)}};
    case "MultiLineString":
      return {
        ...feature,
        geometry: {...geometry, coordinates: geometry.coordinates.map((line) => line.map(settlePosition))},
      };
    case "Polygon":
      return {...feature, geometry: {...geometry, coordinates: tidy(geometry.coordinates, what)}};
    case "MultiPolygon":
      return {
        ...feature,
        geometry: {...geometry, coordinates: geometry.coordinates.map((polygon) => tidy(polygon, what))},
      };
  }
}

function tidy(polygon: Parameters<typeof settlePolygon>[0], what: string): ReturnType<typeof settlePolygon> {
  return wind(settlePolygon(polygon, what), "counter-clockwise");
}

/** In the order of `gpkg_contents`: min x, min y, max x, max y. */
function corners(box: Envelope | undefined): (number | null)[] {
  return box ? [box[0], box[2], box[1], box[3]] : [null, null, null, null];
}

function renamed(columns: readonly Column[], shown: readonly string[], title: string): Issue[] {
  return columns.flatMap(({name}, i): Issue[] =>
    name === shown[i]
      ? []
      : [
          {
            code: "geopackage/column-renamed",
            severity: "note",
            message: `Column "${name}" of ${title} is named "${shown[i]}" in the GeoPackage: names differ from each other and from "${KEY}" and "${GEOMETRY}".`,
          },
        ],
  );
}
