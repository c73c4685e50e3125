import {inflateWithin} from "./deflate.ts";

// Decoders for the ways a GeoTIFF's blocks are packed that stop at the size a block can have. Those that come with the
// geotiff package grow without end on damaged data, and take the whole process down with them.

const CLEAR = 256;
const END = 257;
const MOST_CODES = 4096;

/**
 * LZW as in TIFF 6.0, section 13: codes of 9 to 12 bits, high bits first, wider one code earlier than needed.
 * What would go beyond the block is not looked at.
 *
 * @throws {Error} when the codes make no sense.
 */
export function unpackLzw(packed: Uint8Array, mostBytes: number): Uint8Array {
  const out = new Uint8Array(mostBytes);
  // Every string of the table stands in the output already: the one before it and the byte that followed.
  const starts = new Int32Array(MOST_CODES);
  const lengths = new Int32Array(MOST_CODES);
  let at = 0;
  let read = 0;
  let bits = 0;
  let held = 0;
  let width = 9;
  let next = 258;
  let previousStart = -1;
  while (at < mostBytes) {
    while (held < width && read < packed.length) {
      bits = ((bits << 8) | (packed[read++] as number)) & 0xffffff;
      held += 8;
    }
    if (held < width) break;
    held -= width;
    const code = (bits >> held) & ((1 << width) - 1);
    if (code === END) break;
    if (code === CLEAR) {
      width = 9;
      next = 258;
      previousStart = -1;
      continue;
    }
    if (previousStart >= 0 && next < MOST_CODES) {
      starts[next] = previousStart;
      lengths[next] = at - previousStart + 1;
      next++;
    }
    if (code >= next || (previousStart < 0 && code > END)) throw new Error("broken LZW");
    previousStart = at;
    if (code < CLEAR) {
      out[at++] = code;
    } else {
      const end = at + (lengths[code] as number);
      // What goes beyond the end of the block is dropped by the array.
      for (let from = starts[code] as number; at < end; ) out[at++] = out[from++] as number;
    }
    if (next + 1 >= 1 << width && width < 12) width++;
  }
  return out.subarray(0, Math.min(at, mostBytes));
}

/**
 * PackBits as in TIFF 6.0, section 9: counts before runs and literals.
 *
 * @throws {Error} when it holds more than a block.
 */
export function unpackPackBits(packed: Uint8Array, mostBytes: number): Uint8Array {
  const out = new Uint8Array(mostBytes);
  let length = 0;
  for (let at = 0; at < packed.length; ) {
    const count = packed[at++] as number;
    if (count === 128) continue;
    const run = count > 128;
    const size = run ? 257 - count : count + 1;
    if (length + size > mostBytes) throw new Error("PackBits of more than a block");
    if (run) out.fill(packed[at] ?? 0, length, length + size);
    else out.set(packed.subarray(at, at + size), length);
    length += size;
    at += run ? 1 : size;
  }
  return out.subarray(0, length);
}

/** Deflate with zlib's wrapping. @throws {Error} when it is broken or holds more than a block. */
export function unpackDeflate(packed: Uint8Array, mostBytes: number): Uint8Array {
  const out = inflateWithin(packed, mostBytes, "zlib");
  if (!out) throw new Error("broken deflate data");
  return out;
}
