import {FieldError} from "../errors.ts";
import type {Geometry} from "../geo/features.ts";
import type {LonLat, LonLatPolygon, LonLatRing} from "../geo/shapes.ts";
import {wind} from "./rings.ts";

/** Where in a document something stands, for messages: "feature 3" and "geometry.coordinates[0]". */
export interface Spot {
  readonly file: string;
  readonly feature: number;
  readonly path: string;
}

export type Finding = "geojson/third-dimension" | "geojson/ring-closed" | "geojson/empty-geometry";

const DEEPEST_COLLECTION = 8;

/**
 * The geometries in a GeoJSON geometry object; several when it is a collection, none when it is empty.
 *
 * Third numbers are dropped, open rings closed, rings wound as RFC 7946 asks; `remark` hears of the first two.
 *
 * @throws {FieldError} `geojson/not-valid` naming the feature and the path.
 */
export function readGeometries(json: unknown, spot: Spot, remark: (finding: Finding) => void, depth = 0): Geometry[] {
  const object = asObject(json, spot, "a geometry");
  checkBbox(object, spot);
  if (object.type === "GeometryCollection") {
    if (depth >= DEEPEST_COLLECTION) throw invalid(spot, "is a collection nested too deeply");
    const path = `${spot.path}.geometries`;
    if (!Array.isArray(object.geometries)) throw invalid({...spot, path}, "is not a list of geometries");
    return object.geometries.flatMap((member, i) =>
      readGeometries(member, {...spot, path: `${path}[${i}]`}, remark, depth + 1),
    );
  }
  const at = {...spot, path: `${spot.path}.coordinates`};
  const geometry = readOne(object.type, object.coordinates, at, remark, spot);
  if (geometry.coordinates.length === 0) {
    remark("geojson/empty-geometry");
    return [];
  }
  return [geometry];
}

export function invalid(spot: Spot, what: string): FieldError {
  const where = spot.feature > 0 ? `Feature ${spot.feature} of ${spot.file}` : spot.file;
  return new FieldError("geojson/not-valid", `${where}: ${spot.path} ${what}.`, {
    place: {file: spot.file},
    hint: "Export the file again as GeoJSON (RFC 7946).",
  });
}

export function asObject(json: unknown, spot: Spot, what: string): Record<string, unknown> {
  if (typeof json !== "object" || json === null || Array.isArray(json)) throw invalid(spot, `is not ${what}`);
  return json as Record<string, unknown>;
}

export function checkBbox(object: Record<string, unknown>, spot: Spot): void {
  const {bbox} = object;
  if (bbox === undefined) return;
  if (!Array.isArray(bbox) || (bbox.length !== 4 && bbox.length !== 6) || !bbox.every(Number.isFinite)) {
    throw invalid({...spot, path: `${spot.path}.bbox`}, "is not a box of four or six numbers");
  }
}

function readOne(
  type: unknown,
  coordinates: unknown,
  at: Spot,
  remark: (finding: Finding) => void,
  geometry: Spot,
): Geometry {
  const point = (json: unknown, spot: Spot): LonLat => readPosition(json, spot, remark);
  const line = (json: unknown, spot: Spot): LonLatRing => readLine(json, spot, remark);
  const polygon = (json: unknown, spot: Spot): LonLatPolygon =>
    wind(
      list(json, spot, (ring, ringSpot) => readRing(ring, ringSpot, remark)),
      "counter-clockwise",
    );
  switch (type) {
    case "Point":
      return {type, coordinates: point(coordinates, at)};
    case "MultiPoint":
      return {type, coordinates: list(coordinates, at, point)};
    case "LineString":
      return {type, coordinates: isEmpty(coordinates) ? [] : line(coordinates, at)};
    case "MultiLineString":
      return {type, coordinates: list(coordinates, at, line)};
    case "Polygon":
      return {type, coordinates: polygon(coordinates, at)};
    case "MultiPolygon":
      return {type, coordinates: list(coordinates, at, polygon).filter((part) => part.length > 0)};
    default:
      throw invalid({...geometry, path: `${geometry.path}.type`}, `is ${quoted(type)}, not a type of geometry`);
  }
}

const isEmpty = (json: unknown): boolean => Array.isArray(json) && json.length === 0;

function list<T>(json: unknown, spot: Spot, read: (json: unknown, spot: Spot) => T): T[] {
  if (!Array.isArray(json)) throw invalid(spot, "is not a list");
  return json.map((member, i) => read(member, {...spot, path: `${spot.path}[${i}]`}));
}

function readRing(json: unknown, spot: Spot, remark: (finding: Finding) => void): LonLatRing {
  const ring = readLine(json, spot, remark);
  const first = ring[0] as LonLat;
  const last = ring.at(-1) as LonLat;
  const closed = first[0] === last[0] && first[1] === last[1];
  if (!closed) remark("geojson/ring-closed");
  const whole = closed ? ring : [...ring, first];
  if (whole.length < 4) throw invalid(spot, `is a ring of ${whole.length - 1} corners; it needs three`);
  return whole;
}

function readLine(json: unknown, spot: Spot, remark: (finding: Finding) => void): LonLatRing {
  if (!Array.isArray(json)) throw invalid(spot, "is not a list of positions");
  if (json.length < 2) throw invalid(spot, "is a line of fewer than two positions");
  const line: LonLat[] = [];
  for (let i = 0; i < json.length; i++) {
    const position = positionOf(json[i], remark);
    if (!position) throw invalid({...spot, path: `${spot.path}[${i}]`}, "is not a position of two numbers");
    line.push(position);
  }
  return line;
}

function readPosition(json: unknown, spot: Spot, remark: (finding: Finding) => void): LonLat {
  const position = positionOf(json, remark);
  if (!position) throw invalid(spot, "is not a position of two numbers");
  return position;
}

function positionOf(json: unknown, remark: (finding: Finding) => void): LonLat | undefined {
  if (!Array.isArray(json) || json.length < 2) return undefined;
  const [lon, lat] = json;
  if (!Number.isFinite(lon) || !Number.isFinite(lat)) return undefined;
  if (json.length > 2) remark("geojson/third-dimension");
  return [lon, lat];
}

export function quoted(json: unknown): string {
  if (json === undefined) return "missing";
  const text = typeof json === "string" ? `"${json}"` : typeof json === "object" ? "an object" : String(json);
  return text.length > 40 ? `${text.slice(0, 37)}..."` : text;
}
