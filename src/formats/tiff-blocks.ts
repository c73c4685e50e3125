import {inflateWithin} from "./deflate.ts";

// What the blocks of a GeoTIFF are made of, packed and unpacked.
//
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
  // A string is its prefix string and one more byte.
  const prefix = new Uint16Array(MOST_CODES);
  const suffix = new Uint8Array(MOST_CODES);
  const lengths = new Uint16Array(MOST_CODES);
  for (let i = 0; i < CLEAR; i++) {
    suffix[i] = i;
    lengths[i] = 1;
  }
  let at = 0;
  let bit = 0;
  let width = 9;
  let next = 258;
  let previous = -1;
  while (at < mostBytes && bit + width <= 8 * packed.length) {
    const code = bitsAt(packed, bit, width);
    bit += width;
    if (code === END) break;
    if (code === CLEAR) {
      width = 9;
      next = 258;
      previous = -1;
      continue;
    }
    if (code > next || (previous < 0 && code > END) || (code === next && previous < 0)) throw new Error("broken LZW");
    // The code that is just being made is the previous string and its own first byte.
    const known = code < next ? code : previous;
    const length = (lengths[known] as number) + (code < next ? 0 : 1);
    let string = known;
    for (let k = at + (lengths[known] as number) - 1; k >= at; k--) {
      out[k] = suffix[string] as number; // beyond the end of the block this does nothing
      string = prefix[string] as number;
    }
    if (code >= next) out[at + length - 1] = out[at] as number;
    if (previous >= 0 && next < MOST_CODES) {
      prefix[next] = previous;
      suffix[next] = out[at] as number;
      lengths[next] = (lengths[previous] as number) + 1;
      next++;
    }
    if (next + 1 >= 1 << width && width < 12) width++;
    previous = code;
    at += length;
  }
  return out.subarray(0, Math.min(at, mostBytes));
}

function bitsAt(bytes: Uint8Array, bit: number, width: number): number {
  const byte = bit >> 3;
  const three = ((bytes[byte] ?? 0) << 16) | ((bytes[byte + 1] ?? 0) << 8) | (bytes[byte + 2] ?? 0);
  return (three >> (24 - (bit & 7) - width)) & ((1 << width) - 1);
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

type Samples =
  | Uint8Array
  | Int8Array
  | Uint16Array
  | Int16Array
  | Uint32Array
  | Int32Array
  | Float32Array
  | Float64Array;
type ArrayOfSamples = new (buffer: ArrayBuffer, offset: number, length: number) => Samples;

/** By sample format of TIFF 6.0 (1 whole, 2 signed, 3 floating) and bits. */
const SAMPLES: Readonly<Record<number, Readonly<Record<number, ArrayOfSamples>>>> = {
  1: {8: Uint8Array, 16: Uint16Array, 32: Uint32Array},
  2: {8: Int8Array, 16: Int16Array, 32: Int32Array},
  3: {32: Float32Array, 64: Float64Array},
};

/** The typed array that holds samples of a format and width, undefined for rare ones. */
export function arrayOfSamples(format: number, bits: number): ArrayOfSamples | undefined {
  return SAMPLES[format]?.[bits];
}

/** Every sample's bytes in the other order, in place. */
export function swapBytes({buffer, byteOffset, byteLength, BYTES_PER_ELEMENT: size}: Samples): void {
  if (size === 2) {
    const two = new Uint16Array(buffer, byteOffset, byteLength / 2);
    for (let i = 0; i < two.length; i++) {
      const v = two[i] as number;
      two[i] = (v << 8) | (v >>> 8);
    }
    return;
  }
  if (size < 4) return;
  const four = new Uint32Array(buffer, byteOffset, byteLength / 4);
  for (let i = 0; i < four.length; i++) {
    const v = four[i] as number;
    four[i] = (v << 24) | ((v & 0xff00) << 8) | ((v >>> 8) & 0xff00) | (v >>> 24);
  }
  if (size < 8) return;
  for (let i = 0; i < four.length; i += 2) {
    const v = four[i] as number;
    four[i] = four[i + 1] as number;
    four[i + 1] = v;
  }
}
