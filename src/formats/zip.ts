import {FieldError} from "../errors.ts";
import {inflateWithin, zipWith} from "./deflate.ts";
import type {FileSet} from "./file-set.ts";
import {type Entry, readDirectory} from "./zip-directory.ts";

const MOST_BYTES = 512 * 2 ** 20;
/** Deflate reaches about 1,030 to 1; maps and tables rarely pass 20. */
const MOST_RATIO = 200;
/** Below this size any ratio is harmless. */
const RATIO_FREE_BYTES = 10 * 2 ** 20;

/**
 * The files in a zip. Folders, and what some systems add for themselves, are left out.
 *
 * Sizes are counted while inflating, whatever the headers say, and every file must match its checksum.
 *
 * @throws {FieldError} `zip/damaged`, `zip/encrypted`, `zip/unsafe-path`, `zip/duplicate`, `zip/too-large`,
 *   `zip/too-many`, `zip/method`.
 */
export function unzip(bytes: Uint8Array, name: string): FileSet {
  const entries = readDirectory(bytes, name);
  const total = entries.reduce((sum, entry) => sum + entry.size, 0);
  const packed = entries.reduce((sum, entry) => sum + entry.packedSize, 0);
  if (total > MOST_BYTES || (total > RATIO_FREE_BYTES && total > MOST_RATIO * packed)) throw tooLarge(name);
  return new Map(entries.map((entry) => [entry.name, unpack(bytes, entry, name)]));
}

/** A zip with its members as named. Same members, same bytes: the time of every member is 1 January 1980. */
export function zip(files: FileSet): Uint8Array {
  // The format holds local clock time; a date made of its parts is the same in every time zone.
  return zipWith(files, new Date(1980, 0, 1, 12));
}

function unpack(bytes: Uint8Array, entry: Entry, zipName: string): Uint8Array {
  const packed = bytes.subarray(entry.start, entry.start + entry.packedSize);
  const out = entry.method === 0 ? packed.slice() : inflateWithin(packed, entry.size, "raw");
  if (!out || out.length !== entry.size || crc32(out) !== entry.crc) throw damaged(zipName, entry.name);
  return out;
}

function damaged(zipName: string, entry: string): FieldError {
  return new FieldError("zip/damaged", `${entry} in ${zipName} is damaged: it does not unpack to what the zip says.`, {
    place: {file: zipName},
    hint: "Copy or download the zip again.",
  });
}

function tooLarge(name: string): FieldError {
  return new FieldError("zip/too-large", `${name} would unpack to far more than a field's files need (512 MB).`, {
    place: {file: name},
    hint: "Unpack it yourself and give the one file that is needed.",
  });
}

// CRC-32 of the zip format (ISO 3309, polynomial 0xEDB88320 reflected). Check value: "123456789" gives 0xCBF43926.
const CRC_TABLE = Uint32Array.from({length: 256}, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c;
});

export function crc32(bytes: Uint8Array): number {
  let crc = -1;
  for (let i = 0; i < bytes.length; i++) crc = (CRC_TABLE[(crc ^ (bytes[i] as number)) & 0xff] as number) ^ (crc >>> 8);
  return ~crc >>> 0;
}
