import type {Geometry} from "../../geo/features.ts";
import type {LonLat} from "../../geo/shapes.ts";
import {type DecodedWkb, decodeWkb, encodeWkb} from "./wkb.ts";

/** West, east, south, north: the order of the format's envelopes. */
export type Envelope = readonly [minX: number, maxX: number, minY: number, maxY: number];

const HEADER = 8;
/** Bytes of an envelope by its code: none, xy, xyz, xym, xyzm. */
const ENVELOPE_BYTES = [0, 32, 48, 48, 64];
const FLAG = {littleEndian: 1, xyEnvelope: 1 << 1, empty: 1 << 4, extended: 1 << 5} as const;

/**
 * A geometry as a GeoPackage column holds it: "GP", flags, coordinate system, envelope, well-known binary. Points have no
 * envelope; a geometry without any position is marked as empty.
 *
 * Source: OGC 12-128r18, clause 2.1.3.
 */
export function encodeBlob(geometry: Geometry, srsId: number): Uint8Array {
  const envelope = envelopeOf(geometry);
  const wkb = encodeWkb(geometry);
  const boxed = envelope !== undefined && geometry.type !== "Point";
  const bytes = new Uint8Array(HEADER + (boxed ? 32 : 0) + wkb.length);
  const view = new DataView(bytes.buffer);
  const flags = FLAG.littleEndian | (boxed ? FLAG.xyEnvelope : 0) | (envelope ? 0 : FLAG.empty);
  bytes.set([0x47, 0x50, 0, flags]);
  view.setInt32(4, srsId, true);
  if (boxed)
    envelope.forEach((value, i) => {
      view.setFloat64(HEADER + i * 8, value, true);
    });
  bytes.set(wkb, HEADER + (boxed ? 32 : 0));
  return bytes;
}

/** @returns `"empty"` for a geometry without positions, and what is wrong where it cannot be read, as a phrase. */
export function decodeBlob(bytes: Uint8Array): DecodedWkb | "empty" | {readonly wrong: string} {
  const flags = bytes[3];
  if (bytes[0] !== 0x47 || bytes[1] !== 0x50 || bytes[2] !== 0 || flags === undefined)
    return {wrong: "has no GeoPackage header"};
  if (flags & FLAG.extended) return {wrong: "is of an extended kind"};
  const envelope = ENVELOPE_BYTES[(flags >> 1) & 7];
  if (envelope === undefined) return {wrong: "has an unknown envelope"};
  if (flags & FLAG.empty) return "empty";
  const decoded = decodeWkb(bytes.subarray(HEADER + envelope));
  if (typeof decoded === "string") return {wrong: decoded};
  return envelopeOf(decoded.geometry) ? decoded : "empty";
}

/** Undefined without any position. */
export function envelopeOf(geometry: Geometry): Envelope | undefined {
  let box: [number, number, number, number] | undefined;
  const add = ([x, y]: LonLat): void => {
    box = box ? [Math.min(box[0], x), Math.max(box[1], x), Math.min(box[2], y), Math.max(box[3], y)] : [x, x, y, y];
  };
  const walk = (coordinates: unknown): void => {
    if (!Array.isArray(coordinates)) return;
    if (typeof coordinates[0] === "number") add(coordinates as unknown as LonLat);
    else coordinates.forEach(walk);
  };
  walk(geometry.coordinates);
  return box;
}

export function joinEnvelopes(a: Envelope | undefined, b: Envelope | undefined): Envelope | undefined {
  if (!a || !b) return a ?? b;
  return [Math.min(a[0], b[0]), Math.max(a[1], b[1]), Math.min(a[2], b[2]), Math.max(a[3], b[3])];
}
