import {FieldError, type Issue, isFieldError} from "../../errors.ts";
import {type Crs, crsFromEpsg, crsFromWkt, WGS84} from "../../geo/crs.ts";
import type {Feature, FeatureSet, Geometry, Properties} from "../../geo/features.ts";
import type {LonLat, LonLatPolygon, LonLatRing} from "../../geo/shapes.ts";
import {formatNumber} from "../../units/format.ts";
import {toDegrees} from "../degrees.ts";
import type {Read} from "../file-set.ts";
import {twiceArea, wind} from "../rings.ts";
import {type Kind, makeTally, type Tally} from "../tally.ts";
import {decodeBlob} from "./blob.ts";
import {type OpenTable, pickTable, tablesOf} from "./contents.ts";
import {withOpenCopy} from "./open-copy.ts";
import {quoted, type SqliteDatabase, type SqliteHost, type SqlRow, type SqlValue} from "./sqlite.ts";
import type {TableSummary} from "./tables.ts";

export interface ReadLayerOptions {
  /** Which layer of a file that holds several. */
  readonly layer?: string | undefined;
  /** The coordinate system where the user named one; it overrules the file. */
  readonly crs?: Crs | undefined;
}

type Remark =
  | "geopackage/no-geometry"
  | "geopackage/bad-geometry"
  | "geopackage/flat-ring"
  | "geopackage/ring-closed"
  | "geopackage/third-dimension"
  | "geopackage/blob"
  | "geopackage/large-number";

const KINDS: Readonly<Record<Remark, Kind>> = {
  "geopackage/no-geometry": {severity: "warning", says: "Left out for want of a shape"},
  "geopackage/bad-geometry": {
    severity: "error",
    says: "Left out because the shape cannot be read",
    hint: "Export the layer again with plain points, lines or polygons.",
  },
  "geopackage/flat-ring": {severity: "warning", says: "Left out a ring without area"},
  "geopackage/ring-closed": {severity: "note", says: "Closed an open ring by joining its last corner to its first"},
  "geopackage/third-dimension": {severity: "note", says: "Dropped heights and other third numbers"},
  "geopackage/blob": {severity: "note", says: "Left out attributes that are no text and no number"},
  "geopackage/large-number": {severity: "note", says: "Kept whole numbers beyond 2^53 as text"},
};

const MOST_ROWS = 500_000;

/**
 * What a GeoPackage holds, tables of features and of attributes, in its own order.
 *
 * @throws {FieldError} what `withOpenCopy` refuses.
 */
export function listGeoPackage(host: SqliteHost, bytes: Uint8Array, file: string): Read<TableSummary[]> {
  const found: Issue[] = [];
  const {value, issues} = withOpenCopy(host, bytes, file, (db) => tablesOf(db, file, found));
  const summaries = value.map(({name, title, kind, geometry, count, columns}) => ({
    name,
    title,
    kind,
    ...(geometry === undefined ? {} : {geometry}),
    count,
    columns,
  }));
  return {value: summaries, issues: [...issues, ...found]};
}

/**
 * One layer of a GeoPackage in longitude and latitude on WGS 84, whatever its own coordinates are. Ids are the keys.
 *
 * Written by any program: editions 1.0 to 1.4, either byte order, with or without spatial index. Heights are dropped.
 * Rings are closed and turned; shapes that cannot be read are left out with a remark of severity "error".
 *
 * @throws {FieldError} `geopackage/no-crs`, `geopackage/too-many`, and what `withOpenCopy`, `pickTable`, `crsFromEpsg`
 *   and `toDegrees` refuse.
 */
export async function readGeoPackage(
  host: SqliteHost,
  bytes: Uint8Array,
  file: string,
  options: ReadLayerOptions = {},
): Promise<Read<FeatureSet>> {
  const tally = makeTally<Remark>("feature", {file}, KINDS);
  const found: Issue[] = [];
  const {value, issues} = withOpenCopy(host, bytes, file, (db) => {
    const table = pickTable(tablesOf(db, file, found), "features", options.layer, file);
    return {table, features: readFeatures(db, table, tally, file)};
  });
  const crs = options.crs ?? (await crsOf(value.table, file));
  if (crs.remark) found.push({...crs.remark, place: {file}});
  return {
    value: {name: value.table.title, features: toDegrees(value.features, crs, file)},
    issues: [...issues, ...found, ...tally.issues()],
  };
}

/**
 * The rows of a table of attributes, without their keys.
 *
 * @throws {FieldError} as `readGeoPackage`.
 */
export function readGeoPackageRows(
  host: SqliteHost,
  bytes: Uint8Array,
  file: string,
  name?: string,
): Read<Properties[]> {
  const tally = makeTally<Remark>("row", {file}, KINDS);
  const found: Issue[] = [];
  const {value, issues} = withOpenCopy(host, bytes, file, (db) => {
    const table = pickTable(tablesOf(db, file, found), "attributes", name, file);
    return [...rowsOf(db, table, file)].map((row, i) => propertiesOf(row, table, i + 1, tally));
  });
  return {value, issues: [...issues, ...found, ...tally.issues()]};
}

function readFeatures(db: SqliteDatabase, table: OpenTable, tally: Tally<Remark>, file: string): Feature[] {
  const features: Feature[] = [];
  let number = 0;
  for (const row of rowsOf(db, table, file)) {
    number++;
    const geometry = shapeOf(row.geometry as SqlValue, number, tally);
    if (!geometry) continue;
    const id = table.key === undefined ? {} : {id: String(row.key)};
    features.push({geometry, properties: propertiesOf(row, table, number, tally), ...id});
  }
  return features;
}

/** Rows in the order of their keys. Columns are numbered, so that no name in the file can shadow another. */
function* rowsOf(db: SqliteDatabase, table: OpenTable, file: string): Generator<SqlRow> {
  if (table.count > MOST_ROWS) {
    throw new FieldError(
      "geopackage/too-many",
      `${table.name} of ${file} has ${formatNumber(table.count)} rows; the limit is ${formatNumber(MOST_ROWS)}.`,
      {place: {file}, hint: "Cut the layer to the field."},
    );
  }
  const wanted = [
    ...(table.key === undefined ? [] : [`${quoted(table.key)} AS key`]),
    ...(table.geometryColumn === undefined ? [] : [`${quoted(table.geometryColumn)} AS geometry`]),
    ...table.columns.map(({name}, i) => `${quoted(name)} AS c${i}`),
  ];
  const order = table.key === undefined ? "" : ` ORDER BY ${quoted(table.key)}`;
  yield* db.each(`SELECT ${wanted.join(", ") || "NULL AS nothing"} FROM ${quoted(table.name)}${order}`);
}

function propertiesOf(row: SqlRow, table: OpenTable, number: number, tally: Tally<Remark>): Properties {
  return Object.fromEntries(
    table.columns.flatMap(({name, type}, i): [string, string | number | boolean | null][] => {
      const value = row[`c${i}`] as SqlValue;
      if (value instanceof Uint8Array) {
        tally.add("geopackage/blob", number);
        return [];
      }
      if (typeof value === "bigint") {
        tally.add("geopackage/large-number", number);
        return [[name, String(value)]];
      }
      return [[name, type === "BOOLEAN" && typeof value === "number" ? value !== 0 : value]];
    }),
  );
}

function shapeOf(value: SqlValue, number: number, tally: Tally<Remark>): Geometry | undefined {
  const decoded = value === null ? "empty" : value instanceof Uint8Array ? decodeBlob(value) : {wrong: "is no shape"};
  if (decoded === "empty") {
    tally.add("geopackage/no-geometry", number);
    return undefined;
  }
  if ("wrong" in decoded) {
    tally.add("geopackage/bad-geometry", number);
    return undefined;
  }
  if (decoded.hadThirdNumber) tally.add("geopackage/third-dimension", number);
  const {geometry} = decoded;
  if (geometry.type === "Polygon") {
    const polygon = tidy(geometry.coordinates, number, tally);
    return polygon && {type: "Polygon", coordinates: polygon};
  }
  if (geometry.type === "MultiPolygon") {
    const polygons = geometry.coordinates.flatMap((polygon) => {
      const tidied = tidy(polygon, number, tally);
      return tidied ? [tidied] : [];
    });
    return polygons.length > 0 ? {type: "MultiPolygon", coordinates: polygons} : undefined;
  }
  return geometry;
}

/** Closed rings with area, outer ones counter-clockwise; nothing when the outer ring has no area. */
function tidy(polygon: LonLatPolygon, number: number, tally: Tally<Remark>): LonLatPolygon | undefined {
  const rings = polygon.map((ring) => closed(ring, number, tally));
  const flat = rings.map((ring) => ring.length < 4 || twiceArea(ring) === 0);
  if (flat.includes(true)) tally.add("geopackage/flat-ring", number);
  if (flat[0] !== false) return undefined;
  return wind(
    rings.filter((_, i) => !flat[i]),
    "counter-clockwise",
  );
}

function closed(ring: LonLatRing, number: number, tally: Tally<Remark>): LonLatRing {
  const first = ring[0];
  const last = ring.at(-1) as LonLat;
  if (!first || (first[0] === last[0] && first[1] === last[1])) return ring;
  tally.add("geopackage/ring-closed", number);
  return [...ring, first];
}

/** By its EPSG code where it has one that is known, else by its definition. */
async function crsOf({name, srs}: OpenTable, file: string): Promise<Crs> {
  const isEpsg = srs?.organization.toUpperCase() === "EPSG";
  if (isEpsg && srs?.code === 4326) return WGS84;
  if (!srs || srs.id === 0 || srs.id === -1 || (!isEpsg && srs.definition === "undefined")) {
    throw new FieldError("geopackage/no-crs", `${name} of ${file} does not say its coordinate system.`, {
      place: {file},
      hint: 'Name it in the job, as in "crs": "EPSG:26916".',
    });
  }
  if (!isEpsg) return crsFromWkt(srs.definition);
  try {
    return await crsFromEpsg(srs.code);
  } catch (error) {
    if (!isFieldError(error) || error.code !== "crs/unknown-code" || srs.definition === "undefined") throw error;
    return crsFromWkt(srs.definition);
  }
}
