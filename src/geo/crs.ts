import proj4 from "proj4";
import {FieldError, type Issue} from "../errors.ts";
import {guard, type Projection} from "./crs-guard.ts";
import {epsgDefinition} from "./epsg-list.ts";

/** A coordinate reference system as plain data; what it means is worked out where it is used. */
export interface Crs {
  /** What a person calls it: "EPSG:26916" or the name in the file's WKT. */
  readonly name: string;
  /** Anything proj4 understands: a proj string or WKT. */
  readonly definition: string;
  readonly units: "degrees" | "metres" | "feet" | "us-feet";
  /** What the user should know of its datum; readers pass it on with the file's name. */
  readonly remark?: Issue;
}

export const WGS84: Crs = {name: "EPSG:4326", definition: "+proj=longlat +datum=WGS84 +no_defs", units: "degrees"};

const LEAST_CODE = 1024;
const MOST_CODE = 32767;
const MOST_WKT_LENGTH = 16_384;

/** UTM zones follow from their code: `first` is the code of `zone`. */
const UTM = [
  {first: 32601, zone: 1, count: 60, datum: "+datum=WGS84", south: false},
  {first: 32701, zone: 1, count: 60, datum: "+datum=WGS84", south: true},
  {first: 26901, zone: 1, count: 23, datum: "+datum=NAD83", south: false}, // NAD83
  {first: 6330, zone: 1, count: 19, datum: "+datum=NAD83", south: false}, // NAD83(2011)
  {first: 25828, zone: 28, count: 11, datum: "+ellps=GRS80", south: false}, // ETRS89
  {first: 7846, zone: 46, count: 14, datum: "+ellps=GRS80", south: true}, // GDA2020
] as const;

/**
 * A coordinate system by its EPSG code. UTM zones and the common geographic systems are worked out here, the rest is
 * looked up in a table that is loaded when first needed.
 *
 * @throws {FieldError} `crs/unknown-code`, and everything `guard` refuses.
 */
export async function crsFromEpsg(code: number): Promise<Crs> {
  const name = `EPSG:${code}`;
  if (code === 4326) return WGS84;
  const utm = UTM.find(({first, count}) => code >= first && code < first + count);
  const definition = utm
    ? `+proj=utm +zone=${utm.zone + code - utm.first}${utm.south ? " +south" : ""} ${utm.datum} +units=m +no_defs`
    : Number.isInteger(code) && code >= LEAST_CODE && code <= MOST_CODE
      ? await epsgDefinition(code)
      : undefined;
  if (definition === undefined) {
    throw new FieldError("crs/unknown-code", `${name} is not a known coordinate system.`, {
      hint: 'Check the number, or export the file in longitude and latitude on WGS 84 ("EPSG:4326").',
    });
  }
  return checked(name, definition);
}

/**
 * A coordinate system from well-known text: a shapefile's `.prj`, or the WKT in a GeoTIFF. Compound and bound systems
 * give their horizontal part.
 *
 * @throws {FieldError} `crs/not-wkt`, and everything `guard` refuses.
 */
export function crsFromWkt(wkt: string): Crs {
  const horizontal = wkt.length <= MOST_WKT_LENGTH ? horizontalPart(wkt) : undefined;
  const name = /^\w+\s*[[(]\s*"([^"]*)"/.exec(horizontal ?? "")?.[1];
  if (horizontal === undefined || name === undefined) {
    throw new FieldError("crs/not-wkt", `"${shortened(wkt)}" does not describe a coordinate system.`, {
      hint: 'Name the coordinate system in the job, as in "crs": "EPSG:26916".',
    });
  }
  return checked(name === "" ? "The coordinate system" : name, horizontal);
}

/**
 * A coordinate system from a proj string that a file's own parameters spell out.
 *
 * @throws {FieldError} everything `guard` refuses.
 */
export function crsFromProj(name: string, definition: string): Crs {
  return checked(name, definition);
}

/**
 * What a user may write: "EPSG:26916", "WGS 84", "local metres at -86.4, 40.55" (longitude first), an OGC name of
 * an EPSG code, or WKT.
 *
 * @throws {FieldError} `crs/not-understood` for other text, and everything `crsFromEpsg` and `crsFromWkt` refuse.
 */
export async function crsFromText(text: string): Promise<Crs> {
  const trimmed = text.trim();
  const code =
    /^(?:epsg:)?\s*(\d{4,5})$/i.exec(trimmed) ??
    /^urn:ogc:def:crs:epsg:[\d.]*:(\d{4,5})$/i.exec(trimmed) ??
    /^https?:\/\/www\.opengis\.net\/def\/crs\/epsg\/[\d.]+\/(\d{4,5})$/i.exec(trimmed);
  if (code) return crsFromEpsg(Number(code[1]));
  if (
    /^(urn:ogc:def:crs:ogc:[\d.]*:|https?:\/\/www\.opengis\.net\/def\/crs\/ogc\/[\d.]+\/|ogc:)?crs84$/i.test(trimmed)
  ) {
    return WGS84;
  }
  if (/^wgs[ _-]?(19)?84$/i.test(trimmed)) return WGS84;
  const local = /^local met(?:re|er)s at\s+([-+]?\d+(?:\.\d+)?)\s*,\s*([-+]?\d+(?:\.\d+)?)$/i.exec(trimmed);
  if (local) return crsLocal(Number(local[1]), Number(local[2]));
  if (/^\w+\s*\[/.test(trimmed)) return crsFromWkt(trimmed);
  throw new FieldError("crs/not-understood", `"${shortened(text)}" is not a coordinate system.`, {
    hint: 'Write an EPSG code as in "EPSG:26916", or "local metres at -86.4, 40.55" (longitude first).',
  });
}

/**
 * Metres east and north of a known point: transverse Mercator on WGS 84 with scale 1 there, as every field's own frame.
 *
 * @throws {FieldError} `crs/not-a-place` when the point is not on the earth.
 */
export function crsLocal(lon: number, lat: number): Crs {
  if (!(Math.abs(lon) <= 180 && Math.abs(lat) <= 85)) {
    throw new FieldError("crs/not-a-place", `Local metres at ${lon}, ${lat}: that is no place on the earth.`, {
      hint: "Write longitude first, then latitude, in degrees.",
    });
  }
  return {
    name: `local metres at ${lon}, ${lat}`,
    definition: `+proj=tmerc +lat_0=${lat} +lon_0=${lon} +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs`,
    units: "metres",
  };
}

/** True when coordinates are longitude and latitude already and need no conversion. */
export function isWgs84(crs: Crs): boolean {
  return crs.definition === WGS84.definition;
}

/** Coordinates of one system in another, always east (or longitude) first. */
export type Transform = (x: number, y: number) => readonly [x: number, y: number];

export interface TransformPair {
  readonly forward: Transform;
  readonly inverse: Transform;
}

// Converters hold only numbers derived from the two definitions, so remembering them cannot change a result.
const known = new Map<string, TransformPair>();
const MOST_KNOWN = 64;

/** The way from one definition to another and back. */
export function transformBetween(from: string, to: string): TransformPair {
  const key = `${from}\n${to}`;
  let pair = known.get(key);
  if (!pair) {
    if (known.size >= MOST_KNOWN) known.clear();
    const converter = proj4(from, to) as unknown as {
      forward: (p: [number, number]) => [number, number];
      inverse: (p: [number, number]) => [number, number];
    };
    pair = {forward: (x, y) => converter.forward([x, y]), inverse: (x, y) => converter.inverse([x, y])};
    known.set(key, pair);
  }
  return pair;
}

function checked(name: string, definition: string): Crs {
  const {isWgs84: degrees, ...rest} = guard(understand(name, definition));
  // Datums taken as WGS 84 keep their coordinates to the last digit.
  return {name, definition: degrees ? WGS84.definition : definition, ...rest};
}

function understand(name: string, definition: string): Projection {
  try {
    const found = new (proj4 as unknown as {Proj: new (definition: string) => RawProjection}).Proj(definition);
    return {
      name,
      method: found.projName,
      datum: found.datumName ?? (found.datumCode === "none" ? "" : (found.datumCode ?? "")),
      shift: found.datum_params?.map(Number),
      semiMajorM: found.a,
      inverseFlattening: found.rf ?? (found.a === found.b ? 0 : found.a / (found.a - found.b)),
      metresPerUnit: found.to_meter ?? 1,
      axis: found.axis ?? "enu",
      fromGreenwich: found.from_greenwich ?? 0,
    };
  } catch {
    // The library throws texts and type errors of its own, none of which a user can act on.
    throw new FieldError("crs/not-understood", `The coordinate system ${name} could not be understood.`, {
      hint: 'Name it in the job, as in "crs": "EPSG:26916", or export the file again on WGS 84 (EPSG:4326).',
    });
  }
}

interface RawProjection {
  readonly projName: string;
  readonly datumName?: string;
  readonly datumCode?: string;
  readonly datum_params?: readonly (string | number)[] | null;
  readonly a: number;
  readonly b: number;
  readonly rf?: number;
  readonly to_meter?: number;
  readonly axis?: string;
  readonly from_greenwich?: number;
}

/** The first projected or geographic system in a text, brackets matched; undefined when there is none. */
function horizontalPart(wkt: string): string | undefined {
  const start = /\b(PROJCS|GEOGCS|PROJCRS|PROJECTEDCRS|GEOGCRS|GEODCRS|GEODETICCRS|GEOGRAPHICCRS)\s*[[(]/i.exec(wkt);
  if (!start) return undefined;
  let depth = 0;
  let quoted = false;
  for (let i = start.index; i < wkt.length; i++) {
    const c = wkt[i];
    if (c === '"') quoted = !quoted;
    else if (!quoted && (c === "[" || c === "(")) depth++;
    else if (!quoted && (c === "]" || c === ")") && --depth === 0) return wkt.slice(start.index, i + 1);
  }
  return undefined;
}

function shortened(text: string): string {
  const line = text.replace(/\s+/g, " ").trim();
  return line.length > 60 ? `${line.slice(0, 57)}...` : line;
}
