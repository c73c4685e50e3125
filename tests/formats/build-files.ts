import {crc32, deflateRawSync} from "node:zlib";
import type {FeatureSet} from "../../src/geo/features.ts";

// Files made byte by byte from their specifications, so that readers are tried on bytes our writers never made.

export type Position = readonly [number, number];

export const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);

export function join(...pieces: (Uint8Array | number[])[]): Uint8Array {
  const out = new Uint8Array(pieces.reduce((sum, piece) => sum + piece.length, 0));
  let at = 0;
  for (const piece of pieces) {
    out.set(piece, at);
    at += piece.length;
  }
  return out;
}

export const int32be = (n: number): number[] => [(n >>> 24) & 255, (n >>> 16) & 255, (n >>> 8) & 255, n & 255];
export const int32le = (n: number): number[] => int32be(n).reverse();
export const int16le = (n: number): number[] => [n & 255, (n >>> 8) & 255];
export const doubles = (...values: number[]): number[] => [...new Uint8Array(new Float64Array(values).buffer)];

/** Record content of a polygon: clockwise outer rings are the caller's business. */
export function polygonRecord(rings: readonly (readonly Position[])[], type = 5): Uint8Array {
  const points = rings.flat();
  const xs = points.map(([x]) => x);
  const ys = points.map(([, y]) => y);
  let start = 0;
  const parts = rings.flatMap((ring) => {
    const at = int32le(start);
    start += ring.length;
    return at;
  });
  return join(
    int32le(type),
    doubles(Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)),
    int32le(rings.length),
    int32le(points.length),
    parts,
    doubles(...points.flat()),
  );
}

export const pointRecord = ([x, y]: Position): Uint8Array => join(int32le(1), doubles(x, y));
export const nullRecord = (): Uint8Array => Uint8Array.from(int32le(0));

function shpHeader(type: number, bytesInFile: number): Uint8Array {
  return join(
    int32be(9994),
    Array(20).fill(0),
    int32be(bytesInFile / 2),
    int32le(1000),
    int32le(type),
    Array(64).fill(0),
  );
}

export function buildShp(type: number, records: readonly Uint8Array[]): Uint8Array {
  const body = records.map((record, i) => join(int32be(i + 1), int32be(record.length / 2), record));
  const length = 100 + body.reduce((sum, record) => sum + record.length, 0);
  return join(shpHeader(type, length), ...body);
}

export function buildShx(type: number, records: readonly Uint8Array[]): Uint8Array {
  let offset = 50;
  const entries = records.flatMap((record) => {
    const entry = [...int32be(offset), ...int32be(record.length / 2)];
    offset += 4 + record.length / 2;
    return entry;
  });
  return join(shpHeader(type, 100 + 8 * records.length), entries);
}

export interface DbfField {
  readonly name: string;
  readonly type: string;
  readonly width: number;
  readonly decimals?: number;
}

/** @param rows - Cells as they stand in the file, padded by the caller's choice of text; a row may begin with `*`. */
export function buildDbf(
  fields: readonly DbfField[],
  rows: readonly (readonly (string | Uint8Array)[])[],
  more: {ldid?: number; deleted?: readonly number[]; terminator?: number} = {},
): Uint8Array {
  const width = 1 + fields.reduce((sum, field) => sum + field.width, 0);
  const header = join(
    [3, 124, 11, 25],
    int32le(rows.length),
    int16le(32 + 32 * fields.length + 1),
    int16le(width),
    Array(17).fill(0),
    [more.ldid ?? 0, 0, 0],
  );
  const descriptors = fields.map(({name, type, width: w, decimals}) =>
    join(padded(bytes(name), 11, 0), bytes(type), Array(4).fill(0), [w, decimals ?? 0], Array(14).fill(0)),
  );
  const body = rows.map((cells, i) =>
    join(
      [more.deleted?.includes(i) ? 0x2a : 0x20],
      ...cells.map((cell, k) => {
        const raw = typeof cell === "string" ? bytes(cell) : cell;
        return fields[k]?.type === "C"
          ? padded(raw, fields[k].width, 32)
          : padded(bytes(new TextDecoder().decode(raw).padStart(fields[k]?.width ?? 0)), fields[k]?.width ?? 0, 32);
      }),
    ),
  );
  return join(header, ...descriptors, [more.terminator ?? 0x0d], ...body, [0x1a]);
}

function padded(raw: Uint8Array, width: number, fill: number): Uint8Array {
  const out = new Uint8Array(width).fill(fill);
  out.set(raw.subarray(0, width));
  return out;
}

export interface ZipEntry {
  readonly name: string | Uint8Array;
  readonly data: Uint8Array;
  readonly deflate?: boolean;
  /** What the headers claim, where that is not the truth. */
  readonly claims?: {size?: number; crc?: number; flags?: number; method?: number; mode?: number};
}

export function buildZip(entries: readonly ZipEntry[]): Uint8Array {
  const locals: Uint8Array[] = [];
  const centrals: Uint8Array[] = [];
  let offset = 0;
  for (const {name, data, deflate, claims = {}} of entries) {
    const rawName = typeof name === "string" ? bytes(name) : name;
    const packed = deflate ? new Uint8Array(deflateRawSync(data)) : data;
    const crc = claims.crc ?? crc32(data);
    const method = claims.method ?? (deflate ? 8 : 0);
    const shared = join(
      int16le(claims.flags ?? 0),
      int16le(method),
      [0, 0, 0x21, 0],
      int32le(crc),
      int32le(packed.length),
      int32le(claims.size ?? data.length),
      int16le(rawName.length),
      [0, 0],
    );
    const local = join([0x50, 0x4b, 3, 4, 20, 0], shared, rawName, packed);
    centrals.push(
      join(
        [0x50, 0x4b, 1, 2, 20, 3, 20, 0],
        shared,
        [0, 0, 0, 0, 0, 0],
        int32le((claims.mode ?? 0o100644) * 65536),
        int32le(offset),
        rawName,
      ),
    );
    locals.push(local);
    offset += local.length;
  }
  const directory = join(...centrals);
  const end = join(
    [0x50, 0x4b, 5, 6, 0, 0, 0, 0],
    int16le(entries.length),
    int16le(entries.length),
    int32le(directory.length),
    int32le(offset),
    [0, 0],
  );
  return join(...locals, directory, end);
}

export type TiffTag = readonly [tag: number, type: 2 | 3 | 4 | 12, values: readonly number[] | string];

/** A little-endian TIFF of one strip. @param pixels - The strip's bytes as they stand. */
export function buildTiff(tags: readonly TiffTag[], pixels: Uint8Array): Uint8Array {
  const SIZE = {2: 1, 3: 2, 4: 4, 12: 8} as const;
  const strip: TiffTag[] = [
    [273, 4, [0]],
    [279, 4, [pixels.length]],
  ];
  const all = [...tags.filter(([tag]) => tag !== 273 && tag !== 279), ...strip].sort(([a], [b]) => a - b);
  const override = new Map(tags.filter(([tag]) => tag === 273 || tag === 279).map((tag) => [tag[0], tag]));
  const encode = ([, type, values]: TiffTag): number[] => {
    if (typeof values === "string") return [...bytes(values), 0];
    return values.flatMap((v) => (type === 3 ? int16le(v) : type === 4 ? int32le(v) : doubles(v)));
  };
  let extraAt = 8 + 2 + 12 * all.length + 4;
  const extras: number[] = [];
  const sizes = all.map((tag) => encode(tag).length);
  const pixelsAt = extraAt + sizes.reduce((sum, size) => sum + (size > 4 ? size + (size % 2) : 0), 0);
  const entries = all.flatMap((plain) => {
    const tag: TiffTag = override.get(plain[0]) ?? (plain[0] === 273 ? [273, 4, [pixelsAt]] : plain);
    const raw = encode(tag);
    const head = [...int16le(tag[0]), ...int16le(tag[1]), ...int32le(raw.length / SIZE[tag[1]])];
    if (raw.length <= 4) return [...head, ...raw, ...Array(4 - raw.length).fill(0)];
    const at = extraAt;
    extras.push(...raw, ...Array(raw.length % 2).fill(0));
    extraAt += raw.length + (raw.length % 2);
    return [...head, ...int32le(at)];
  });
  return join([0x49, 0x49, 42, 0], int32le(8), int16le(all.length), entries, int32le(0), extras, pixels);
}

export const floats = (...values: number[]): Uint8Array => new Uint8Array(new Float32Array(values).buffer);

/** Tags of a float32 grid. `keys` are the triples after the header of the GeoKey directory. */
export function gridTags(
  cols: number,
  rows: number,
  more: {
    readonly scale?: readonly number[];
    readonly tie?: readonly number[];
    readonly keys?: readonly (readonly [number, number, number, number])[];
    readonly noData?: string;
  } = {},
): TiffTag[] {
  const keys = more.keys ?? [
    [1024, 0, 1, 2],
    [1025, 0, 1, 1],
    [2048, 0, 1, 4326],
  ];
  return [
    [256, 4, [cols]],
    [257, 4, [rows]],
    [258, 3, [32]],
    [259, 3, [1]],
    [262, 3, [1]],
    [277, 3, [1]],
    [278, 4, [rows]],
    [339, 3, [3]],
    [33550, 12, more.scale ?? [0.001, 0.001, 0]],
    [33922, 12, more.tie ?? [0, 0, 0, -93, 42.002, 0]],
    [34735, 3, [1, 1, 0, keys.length, ...keys.flat()]],
    ...(more.noData === undefined ? [] : ([[42113, 2, more.noData]] as TiffTag[])),
  ];
}

export const WGS84_PRJ =
  'GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]';

/** Coordinates of a feature that must be there, for looking into. */
export function coordinatesOf(set: FeatureSet, index = 0): unknown {
  const feature = set.features[index];
  if (!feature) throw new Error(`no feature ${index}`);
  return feature.geometry.coordinates;
}
