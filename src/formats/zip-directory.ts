import {FieldError} from "../errors.ts";
import {decoderFor} from "./text.ts";

/** One file of a zip as its central directory describes it. */
export interface Entry {
  readonly name: string;
  /** 0 stored, 8 deflated. */
  readonly method: 0 | 8;
  readonly crc: number;
  readonly size: number;
  readonly packedSize: number;
  /** Where its packed bytes begin. */
  readonly start: number;
}

const MOST_ENTRIES = 1000;
const END_BYTES = 22;
const MOST_COMMENT = 65_535;
const UNIX_TYPE = 0o170000;
const UNIX_LINK = 0o120000;

/**
 * The files listed in a zip's central directory, with names that cannot lead anywhere else.
 *
 * Source: PKWARE APPNOTE 6.3, 4.3 (from memory). Zip64 is refused: nothing of a field reaches 4 GB.
 *
 * @throws {FieldError} `zip/damaged`, `zip/encrypted`, `zip/unsafe-path`, `zip/duplicate`, `zip/too-many`, `zip/method`.
 */
export function readDirectory(bytes: Uint8Array, zipName: string): Entry[] {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const broken = (what: string): FieldError => refusal("zip/damaged", zipName, what, "Copy or download the zip again.");
  const end = findEnd(view);
  if (end < 0) throw broken("ends before its table of contents");
  const count = view.getUint16(end + 10, true);
  if (count > MOST_ENTRIES) {
    throw refusal("zip/too-many", zipName, `holds ${count} files`, "Give a zip with one field's files.");
  }
  const entries: Entry[] = [];
  const taken = new Set<string>();
  let at = view.getUint32(end + 16, true);
  for (let i = 0; i < count; i++) {
    if (at + 46 > end || view.getUint32(at, true) !== 0x02014b50) throw broken("has a broken table of contents");
    const nameLength = view.getUint16(at + 28, true);
    const next = at + 46 + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
    if (next > end) throw broken("has a broken table of contents");
    const name = entryName(bytes.subarray(at + 46, at + 46 + nameLength), zipName);
    const found = readEntry(view, at, name, zipName);
    at = next;
    if (name.endsWith("/") || isClutter(name)) continue;
    if (taken.has(name.toLowerCase())) {
      throw refusal("zip/duplicate", zipName, `holds two files named ${name}`, "Make the zip again.");
    }
    taken.add(name.toLowerCase());
    entries.push(found);
  }
  return entries;
}

function readEntry(view: DataView, at: number, name: string, zipName: string): Entry {
  const broken = (): FieldError =>
    refusal("zip/damaged", zipName, `has a damaged entry ${name}`, "Copy or download the zip again.");
  if (view.getUint16(at + 8, true) & 1) {
    throw refusal("zip/encrypted", zipName, "is locked with a password", "Unlock it and zip the files again.");
  }
  // The upper half of the external attributes is the Unix mode.
  if (((view.getUint32(at + 38, true) >>> 16) & UNIX_TYPE) === UNIX_LINK) {
    throw refusal("zip/unsafe-path", zipName, `holds a link, ${name}`, "Zip the files themselves.");
  }
  const method = view.getUint16(at + 10, true);
  if (method !== 0 && method !== 8) {
    throw refusal("zip/method", zipName, `packs ${name} in a way that is not supported (${method})`, "Zip it again.");
  }
  const packedSize = view.getUint32(at + 20, true);
  const header = view.getUint32(at + 42, true);
  if (header + 30 > view.byteLength || view.getUint32(header, true) !== 0x04034b50) throw broken();
  const start = header + 30 + view.getUint16(header + 26, true) + view.getUint16(header + 28, true);
  if (start + packedSize > view.byteLength) throw broken();
  const size = view.getUint32(at + 24, true);
  return {name, method, crc: view.getUint32(at + 16, true), size, packedSize, start};
}

/** Offset of the end record, searched backwards past a comment; -1 when there is none. */
function findEnd(view: DataView): number {
  const last = view.byteLength - END_BYTES;
  for (let at = last; at >= Math.max(0, last - MOST_COMMENT); at--) {
    if (view.getUint32(at, true) === 0x06054b50) return at;
  }
  return -1;
}

function entryName(bytes: Uint8Array, zipName: string): string {
  let name: string;
  try {
    name = decoderFor("utf-8", true)?.decode(bytes) ?? "";
  } catch {
    name = decoderFor("windows-1252")?.decode(bytes) ?? "";
  }
  const path = name.replaceAll("\\", "/");
  const unsafe =
    path === "" || path.startsWith("/") || /^[a-z]:/i.test(path) || path.split("/").includes("..") || hasControl(path);
  if (unsafe) {
    throw refusal(
      "zip/unsafe-path",
      zipName,
      "holds a file with a path that leads out of it",
      "Do not trust this zip; ask where it came from.",
    );
  }
  return path;
}

function hasControl(text: string): boolean {
  for (let i = 0; i < text.length; i++) if (text.charCodeAt(i) < 32) return true;
  return false;
}

/** What file managers add to a zip for themselves. */
function isClutter(name: string): boolean {
  return name.startsWith("__MACOSX/") || /(^|\/)(\.DS_Store|Thumbs\.db|desktop\.ini)$/i.test(name);
}

function refusal(code: string, zipName: string, what: string, hint: string): FieldError {
  return new FieldError(code, `${zipName} ${what}.`, {place: {file: zipName}, hint});
}
