import type {Geometry} from "../../geo/features.ts";
import type {LonLat} from "../../geo/shapes.ts";

// Well-known binary (ISO 13249-3, OGC 06-103r4), as GeoPackage uses it: x before y, whatever the coordinate system says.

const CODES = {
  Point: 1,
  LineString: 2,
  Polygon: 3,
  MultiPoint: 4,
  MultiLineString: 5,
  MultiPolygon: 6,
} as const satisfies Record<Geometry["type"], number>;

const LITTLE_ENDIAN = 1;

/** Little-endian, two dimensions. */
export function encodeWkb(geometry: Geometry): Uint8Array {
  const bytes = new Uint8Array(sizeOf(geometry));
  const view = new DataView(bytes.buffer);
  let at = 0;
  const head = (type: Geometry["type"]): void => {
    view.setUint8(at, LITTLE_ENDIAN);
    view.setUint32(at + 1, CODES[type], true);
    at += 5;
  };
  const count = (list: readonly unknown[]): void => {
    view.setUint32(at, list.length, true);
    at += 4;
  };
  const position = ([x, y]: LonLat): void => {
    view.setFloat64(at, x, true);
    view.setFloat64(at + 8, y, true);
    at += 16;
  };
  const line = (positions: readonly LonLat[]): void => {
    count(positions);
    positions.forEach(position);
  };
  const rings = (polygon: readonly (readonly LonLat[])[]): void => {
    count(polygon);
    polygon.forEach(line);
  };
  const each = <T>(members: readonly T[], type: Geometry["type"], write: (member: T) => void): void => {
    count(members);
    for (const member of members) {
      head(type);
      write(member);
    }
  };
  head(geometry.type);
  switch (geometry.type) {
    case "Point":
      position(geometry.coordinates);
      break;
    case "LineString":
      line(geometry.coordinates);
      break;
    case "Polygon":
      rings(geometry.coordinates);
      break;
    case "MultiPoint":
      each(geometry.coordinates, "Point", position);
      break;
    case "MultiLineString":
      each(geometry.coordinates, "LineString", line);
      break;
    case "MultiPolygon":
      each(geometry.coordinates, "Polygon", rings);
      break;
  }
  return bytes;
}

function sizeOf(geometry: Geometry): number {
  const line = (positions: readonly LonLat[]): number => 4 + 16 * positions.length;
  const rings = (polygon: readonly (readonly LonLat[])[]): number => polygon.reduce((sum, ring) => sum + line(ring), 4);
  switch (geometry.type) {
    case "Point":
      return 5 + 16;
    case "LineString":
      return 5 + line(geometry.coordinates);
    case "Polygon":
      return 5 + rings(geometry.coordinates);
    case "MultiPoint":
      return 9 + geometry.coordinates.length * 21;
    case "MultiLineString":
      return geometry.coordinates.reduce((sum, member) => sum + 5 + line(member), 9);
    case "MultiPolygon":
      return geometry.coordinates.reduce((sum, member) => sum + 5 + rings(member), 9);
  }
}

/** A geometry in the file's coordinates; heights and measures are dropped. */
export interface DecodedWkb {
  readonly geometry: Geometry;
  readonly hadThirdNumber: boolean;
}

/**
 * Well-known binary in either byte order.
 *
 * @returns What is wrong with it where it cannot be read, as a phrase.
 */
export function decodeWkb(bytes: Uint8Array): DecodedWkb | string {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const reader: Reader = {view, at: 0, little: true, extra: 0, hadThirdNumber: false};
  try {
    const geometry = readGeometry(reader, Object.keys(CODES) as Geometry["type"][]);
    return {geometry, hadThirdNumber: reader.hadThirdNumber};
  } catch (error) {
    if (error instanceof Unreadable) return error.message;
    throw error;
  }
}

/** Never leaves this file. */
class Unreadable extends Error {}

interface Reader {
  readonly view: DataView;
  at: number;
  little: boolean;
  /** Numbers after x and y. */
  extra: number;
  hadThirdNumber: boolean;
}

function readGeometry(reader: Reader, allowed: readonly Geometry["type"][]): Geometry {
  const type = readHead(reader);
  if (!allowed.includes(type)) throw new Unreadable(`has a ${type} where it cannot stand`);
  switch (type) {
    case "Point":
      return {type, coordinates: readPosition(reader)};
    case "LineString":
      return {type, coordinates: readLine(reader)};
    case "Polygon":
      return {type, coordinates: readMany(reader, 4, readLine)};
    case "MultiPoint":
      return {type, coordinates: readMembers<LonLat>(reader, "Point")};
    case "MultiLineString":
      return {type, coordinates: readMembers<LonLat[]>(reader, "LineString")};
    case "MultiPolygon":
      return {type, coordinates: readMembers<LonLat[][]>(reader, "Polygon")};
  }
}

function readHead(reader: Reader): Geometry["type"] {
  need(reader, 5);
  reader.little = reader.view.getUint8(reader.at) === LITTLE_ENDIAN;
  const code = reader.view.getUint32(reader.at + 1, reader.little);
  reader.at += 5;
  const dimensions = Math.floor(code / 1000);
  const type = (Object.keys(CODES) as Geometry["type"][]).find((name) => CODES[name] === code % 1000);
  if (!type || dimensions > 3) throw new Unreadable(`is of a kind not read here (code ${code})`);
  reader.extra = dimensions === 0 ? 0 : dimensions === 3 ? 2 : 1;
  if (reader.extra > 0) reader.hadThirdNumber = true;
  return type;
}

function readMembers<C>(reader: Reader, type: "Point" | "LineString" | "Polygon"): C[] {
  return readMany(reader, 5, () => readGeometry(reader, [type]).coordinates as unknown as C);
}

function readLine(reader: Reader): LonLat[] {
  return readMany(reader, 16, readPosition);
}

/** @param least - Bytes that one member takes at least, so that a forged count is found before anything is allocated. */
function readMany<T>(reader: Reader, least: number, read: (reader: Reader) => T): T[] {
  need(reader, 4);
  const count = reader.view.getUint32(reader.at, reader.little);
  reader.at += 4;
  need(reader, count * least);
  const out: T[] = [];
  for (let i = 0; i < count; i++) out.push(read(reader));
  return out;
}

function readPosition(reader: Reader): LonLat {
  need(reader, 16 + 8 * reader.extra);
  const x = reader.view.getFloat64(reader.at, reader.little);
  const y = reader.view.getFloat64(reader.at + 8, reader.little);
  reader.at += 16 + 8 * reader.extra;
  if (!Number.isFinite(x) || !Number.isFinite(y)) throw new Unreadable("has a coordinate that is not a number");
  return [x, y];
}

function need(reader: Reader, bytes: number): void {
  if (reader.at + bytes > reader.view.byteLength) throw new Unreadable("is cut short");
}
