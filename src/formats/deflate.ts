import {Inflate, Unzlib, zipSync, zlibSync} from "fflate";
import type {FileSet} from "./file-set.ts";

// The one door to fflate, which inflates and deflates.

const FEED_BYTES = 2 ** 16;

/**
 * Inflated bytes, or undefined when the data are broken or hold more than they may.
 *
 * Fed in pieces and counted on the way, so that data that would unpack without end are stopped early.
 */
export function inflateWithin(packed: Uint8Array, mostBytes: number, wrapping: "raw" | "zlib"): Uint8Array | undefined {
  const out = new Uint8Array(mostBytes);
  let length = 0;
  const take = (chunk: Uint8Array): void => {
    if (length + chunk.length <= mostBytes) out.set(chunk, length);
    length += chunk.length;
  };
  const stream = wrapping === "raw" ? new Inflate(take) : new Unzlib(take);
  try {
    for (let at = 0; at < packed.length && length <= mostBytes; at += FEED_BYTES) {
      stream.push(packed.subarray(at, at + FEED_BYTES), at + FEED_BYTES >= packed.length);
    }
  } catch {
    return undefined;
  }
  return length <= mostBytes ? out.subarray(0, length) : undefined;
}

/** Members packed into a zip, all with one time. */
export function zipWith(files: FileSet, mtime: Date): Uint8Array {
  return zipSync(Object.fromEntries(files), {level: 6, mtime});
}

/** Deflated, in zlib's wrapping, as pictures hold it. Same bytes, same result. */
export function zlibOf(bytes: Uint8Array): Uint8Array {
  return zlibSync(bytes, {level: 6});
}
