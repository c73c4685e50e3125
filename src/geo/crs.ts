import proj4 from "proj4";

/** A coordinate reference system as plain data; what it means is worked out where it is used. */
export interface Crs {
  /** What a person calls it: "EPSG:26916" or the name in the file's WKT. */
  readonly name: string;
  /** Anything proj4 understands: a proj string or WKT. */
  readonly definition: string;
  readonly units: "degrees" | "metres" | "feet" | "us-feet";
}

export const WGS84: Crs = {name: "EPSG:4326", definition: "+proj=longlat +datum=WGS84 +no_defs", units: "degrees"};

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
