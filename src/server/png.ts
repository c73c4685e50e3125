import {zlibOf} from "../formats/deflate.ts";
import {crc32} from "../formats/zip.ts";

/** A picture of RGBA pixels, row 0 at the top, four bytes a pixel. */
export interface Pixels {
  readonly width: number;
  readonly height: number;
  readonly rgba: Uint8Array;
}

/**
 * A PNG with 8 bits a channel and transparency, not interlaced, without a filter. Same pixels, same bytes.
 *
 * Source: Portable Network Graphics, W3C Recommendation, chunks IHDR, IDAT and IEND.
 */
export function writePng({width, height, rgba}: Pixels): Uint8Array {
  if (rgba.length !== width * height * 4) throw new Error(`${rgba.length} bytes are no ${width} by ${height} pixels`);
  const stride = width * 4;
  // Each row is told by a byte in front which filter it went through: 0 for none.
  const rows = new Uint8Array(height * (stride + 1));
  for (let row = 0; row < height; row++) {
    rows.set(rgba.subarray(row * stride, (row + 1) * stride), row * (stride + 1) + 1);
  }
  const parts = [SIGNATURE, chunk("IHDR", header(width, height)), chunk("IDAT", zlibOf(rows)), chunk("IEND", NOTHING)];
  const out = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

const SIGNATURE = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a);
const NOTHING = new Uint8Array(0);
const DEPTH = 8;
const TRUE_COLOUR_WITH_ALPHA = 6;

function header(width: number, height: number): Uint8Array {
  const bytes = new Uint8Array(13);
  const view = new DataView(bytes.buffer);
  view.setUint32(0, width);
  view.setUint32(4, height);
  bytes.set([DEPTH, TRUE_COLOUR_WITH_ALPHA, 0, 0, 0], 8);
  return bytes;
}

/** Length, type, data, and a checksum over the last two. */
function chunk(type: string, data: Uint8Array): Uint8Array {
  const bytes = new Uint8Array(data.length + 12);
  const view = new DataView(bytes.buffer);
  view.setUint32(0, data.length);
  for (let i = 0; i < 4; i++) bytes[4 + i] = type.charCodeAt(i);
  bytes.set(data, 8);
  view.setUint32(data.length + 8, crc32(bytes.subarray(4, data.length + 8)));
  return bytes;
}
