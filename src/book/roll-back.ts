// Undoing what a killed process left half written. SQLite keeps the pages it is about to change in a journal beside the
// database and rolls them back when it next opens both. The engine built for WebAssembly never does: its test for
// "somebody holds the lock" also sees the lock it has just taken itself, so that it takes every journal for a living one.
// Source: "Database File Format", section 3 (The Rollback Journal), sqlite.org; pager.c for the sampled checksum.

/** A file read and written at places of its choice. */
export interface PageFile {
  readonly size: () => number;
  readonly read: (at: number, length: number) => Uint8Array;
  readonly write: (at: number, bytes: Uint8Array) => void;
  readonly truncate: (size: number) => void;
  readonly sync: () => void;
}

export type RolledBack =
  /** The journal never came to count: nothing was changed yet, or it was done with. */
  | {readonly kind: "nothing to do"}
  | {readonly kind: "rolled back"; readonly pages: number}
  /** The change spanned several files; only SQLite itself knows whether all of them were done. */
  | {readonly kind: "several files"};

const MAGIC = [0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7];
const HEADER_BYTES = 28;
const TO_THE_END = 0xffffffff;
/** Byte of the database that locks are taken on; the page that holds it is never used. */
const LOCK_BYTE = 0x40000000;
/** Every so many bytes of a page one is added into its checksum. */
const CHECKSUM_STRIDE = 200;

/**
 * Puts the pages kept in a journal back into the database and cuts it to the length it had. Both are synced; the journal
 * is for the caller to delete, only after this returned. Doing it twice, or after being killed half way, does no harm.
 */
export function rollBack(database: PageFile, journal: PageFile): RolledBack {
  const total = journal.size();
  const first = headerAt(journal, 0, total);
  if (!first) return {kind: "nothing to do"};
  if (namesOtherFiles(journal, total)) return {kind: "several files"};
  const {pageSize, pagesBefore} = first;
  const done = new Set<number>();
  let header: Header | undefined = first;
  for (let at = 0; header; ) {
    const recordBytes: number = pageSize + 8;
    const start: number = at + header.sectorSize;
    const room = Math.floor((total - start) / recordBytes);
    const count = header.records === TO_THE_END ? room : Math.min(header.records, room);
    for (let i = 0; i < count; i++) {
      const record = journal.read(start + i * recordBytes, recordBytes);
      const page = uint32(record, 0);
      const content = record.subarray(4, 4 + pageSize);
      const isWhole = uint32(record, 4 + pageSize) === checksum(content, header.nonce);
      if (page === 0 || page === LOCK_BYTE / pageSize + 1 || !isWhole) return finish();
      if (page > pagesBefore || done.has(page)) continue;
      database.write((page - 1) * pageSize, content);
      done.add(page);
    }
    at = Math.ceil((start + count * recordBytes) / header.sectorSize) * header.sectorSize;
    header = headerAt(journal, at, total);
  }
  return finish();

  function finish(): RolledBack {
    const size = pagesBefore * pageSize;
    if (database.size() > size) database.truncate(size);
    database.sync();
    return {kind: "rolled back", pages: done.size};
  }
}

interface Header {
  readonly records: number;
  readonly nonce: number;
  readonly pagesBefore: number;
  readonly sectorSize: number;
  readonly pageSize: number;
}

function headerAt(journal: PageFile, at: number, total: number): Header | undefined {
  if (at + HEADER_BYTES > total) return undefined;
  const bytes = journal.read(at, HEADER_BYTES);
  if (MAGIC.some((byte, i) => bytes[i] !== byte)) return undefined;
  const header = {
    records: uint32(bytes, 8),
    nonce: uint32(bytes, 12),
    pagesBefore: uint32(bytes, 16),
    sectorSize: uint32(bytes, 20),
    pageSize: uint32(bytes, 24),
  };
  const isPower = (n: number, least: number): boolean => n >= least && n <= 65536 && (n & (n - 1)) === 0;
  return isPower(header.sectorSize, 32) && isPower(header.pageSize, 512) ? header : undefined;
}

/** A journal that is one of several ends with the name of the journal over them, its length, a checksum and the magic. */
function namesOtherFiles(journal: PageFile, total: number): boolean {
  if (total < HEADER_BYTES + 16) return false;
  const tail = journal.read(total - 8, 8);
  return MAGIC.every((byte, i) => tail[i] === byte);
}

function checksum(page: Uint8Array, nonce: number): number {
  let sum = nonce;
  for (let i = page.length - CHECKSUM_STRIDE; i > 0; i -= CHECKSUM_STRIDE) sum += page[i] as number;
  return sum >>> 0;
}

function uint32(bytes: Uint8Array, at: number): number {
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength).getUint32(at);
}
