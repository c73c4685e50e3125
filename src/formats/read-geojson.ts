import {FieldError, type Issue} from "../errors.ts";
import {type Crs, crsFromText, isWgs84, WGS84} from "../geo/crs.ts";
import type {Feature, FeatureSet, Properties} from "../geo/features.ts";
import {toDegrees} from "./degrees.ts";
import type {Read} from "./file-set.ts";
import {asObject, checkBbox, type Finding, invalid, quoted, readGeometries, type Spot} from "./geojson-geometry.ts";
import {parseJsonDocuments} from "./json-documents.ts";
import {type Kind, makeTally, type Tally} from "./tally.ts";
import {readText} from "./text.ts";

type Remark =
  | Finding
  | "geojson/no-geometry"
  | "geojson/collection"
  | "geojson/nested-property"
  | "geojson/property-name";

const KINDS: Readonly<Record<Remark, Kind>> = {
  "geojson/no-geometry": {severity: "warning", says: "Left out for want of a geometry"},
  "geojson/empty-geometry": {severity: "warning", says: "Left out an empty geometry"},
  "geojson/collection": {severity: "note", says: "Took a collection of geometries apart into single features"},
  "geojson/third-dimension": {severity: "note", says: "Dropped heights and other third numbers of positions"},
  "geojson/ring-closed": {severity: "note", says: "Closed an open ring by joining its last corner to its first"},
  "geojson/nested-property": {severity: "note", says: "Kept a property that is a list or an object as JSON text"},
  "geojson/property-name": {severity: "warning", says: 'Left out a property named "__proto__"'},
};

/**
 * A GeoJSON document: a feature collection, a feature, a bare geometry, newline-delimited features, or a text sequence
 * (RFC 8142).
 *
 * @param options.crs - The file's coordinate system where the user named one; it overrules the file. Otherwise an old
 *   `crs` member counts, and without one longitude and latitude on WGS 84 (RFC 7946).
 * @throws {FieldError} `geojson/not-json`, `geojson/not-valid` naming the feature and the path, and everything
 *   `crsFromText` and `toDegrees` refuse.
 */
export async function readGeoJson(
  bytes: Uint8Array,
  name: string,
  options: {readonly crs?: Crs | undefined} = {},
): Promise<Read<FeatureSet>> {
  const {value: text, issues: textIssues} = readText(bytes, name);
  const documents = parseJsonDocuments(text, name);
  const issues: Issue[] = [...textIssues];
  const crs = options.crs ?? (await statedCrs(documents[0], name, issues)) ?? WGS84;
  const tally = makeTally<Remark>("feature", {file: name}, KINDS);
  const features: Feature[] = [];
  const state = {file: name, count: 0, features, tally};
  for (const document of documents) readDocument(document, state);
  if (crs.remark) issues.push({...crs.remark, place: {file: name}});
  return {value: {name, features: toDegrees(features, crs, name)}, issues: [...issues, ...tally.issues()]};
}

interface State {
  readonly file: string;
  /** Features seen so far, kept or not. */
  count: number;
  readonly features: Feature[];
  readonly tally: Tally<Remark>;
}

function readDocument(json: unknown, state: State): void {
  const spot: Spot = {file: state.file, feature: 0, path: "the document"};
  const object = asObject(json, spot, "a GeoJSON object");
  if (object.type === "FeatureCollection") {
    checkBbox(object, spot);
    const path = "features";
    if (!Array.isArray(object.features)) throw invalid({...spot, path}, "is not a list");
    for (const member of object.features) readFeature(member, state);
  } else if (object.type === "Feature") {
    readFeature(object, state);
  } else if (typeof object.type === "string") {
    readFeature({type: "Feature", geometry: object, properties: null}, state);
  } else {
    throw invalid({...spot, path: "type"}, `is ${quoted(object.type)}`);
  }
}

function readFeature(json: unknown, state: State): void {
  state.count++;
  const {file, count: number, tally} = state;
  const spot: Spot = {file, feature: number, path: "the feature"};
  const object = asObject(json, spot, "an object");
  if (object.type !== "Feature") throw invalid({...spot, path: "type"}, `is ${quoted(object.type)}, not "Feature"`);
  checkBbox(object, spot);
  const id = readId(object.id, spot);
  const properties = readProperties(object.properties, {...spot, path: "properties"}, (code) =>
    tally.add(code, number),
  );
  if (object.geometry === undefined) throw invalid({...spot, path: "geometry"}, "is missing");
  if (object.geometry === null) {
    tally.add("geojson/no-geometry", number);
    return;
  }
  const geometries = readGeometries(object.geometry, {...spot, path: "geometry"}, (code) => tally.add(code, number));
  if (geometries.length > 1) tally.add("geojson/collection", number);
  for (const geometry of geometries) {
    state.features.push({geometry, properties, ...(id === undefined ? {} : {id})});
  }
}

function readId(id: unknown, spot: Spot): string | undefined {
  if (id === undefined) return undefined;
  if (typeof id === "string" || typeof id === "number") return String(id);
  throw invalid({...spot, path: "id"}, `is ${quoted(id)}, not a text or a number`);
}

/** Flat attributes. Lists and objects become JSON text, so that nothing is lost and nothing nested gets in. */
function readProperties(json: unknown, spot: Spot, remark: (code: Remark) => void): Properties {
  if (json === undefined) throw invalid(spot, "is missing");
  if (json === null) return {};
  const out: Record<string, string | number | boolean | null> = {};
  for (const [key, value] of Object.entries(asObject(json, spot, "an object"))) {
    if (key === "__proto__") {
      remark("geojson/property-name");
    } else if (typeof value === "object" && value !== null) {
      remark("geojson/nested-property");
      out[key] = nestedText(value, {...spot, path: `properties.${key}`});
    } else {
      out[key] = value as string | number | boolean | null;
    }
  }
  return out;
}

function nestedText(value: object, spot: Spot): string {
  try {
    return JSON.stringify(value);
  } catch {
    throw invalid(spot, "is nested too deeply");
  }
}

/** What the `crs` member of the 2008 draft says; RFC 7946 has none. */
async function statedCrs(json: unknown, file: string, issues: Issue[]): Promise<Crs | undefined> {
  const member = (json as {crs?: unknown} | null | undefined)?.crs;
  if (member === undefined || member === null) return undefined;
  const {type, properties} = member as {type?: unknown; properties?: {name?: unknown; code?: unknown} | null};
  const text = type === "EPSG" ? properties?.code : properties?.name;
  if (typeof text !== "string" && typeof text !== "number") {
    throw new FieldError("geojson/crs-member", `${file} has a "crs" member that names no coordinate system.`, {
      place: {file},
      hint: 'Name the coordinate system in the job, as in "crs": "EPSG:26916".',
    });
  }
  const crs = await crsFromText(String(text));
  if (!isWgs84(crs) || crs.remark) {
    issues.push({
      code: "geojson/crs-member",
      severity: "note",
      message: `${file} says its coordinates are in ${crs.name}; they were brought to longitude and latitude.`,
      place: {file},
    });
  }
  return crs;
}
