import type {Book} from "./book.ts";
import {addRow} from "./rows.ts";

/** One blob in a database may not be a gigabyte, and each is held in memory whole. */
const PART_BYTES = 2 ** 24;

/** Digests of all bytes that something in the book names, as a query. */
export const NAMED_DIGESTS = ["sources", "results", "layers", "run_views"]
  .map((table) => `SELECT sha256 FROM ${table}`)
  .join(" UNION ");

/** Keeps bytes under their digest, once however often they come. */
export function keepBytes({db, host}: Book, content: Uint8Array): string {
  const sha256 = host.sha256(content);
  if (db.all("SELECT 1 FROM blobs WHERE sha256 = ?", [sha256]).length > 0) return sha256;
  addRow(db, "blobs", {sha256, size: content.length});
  for (let part = 0; part === 0 || part * PART_BYTES < content.length; part++) {
    addRow(db, "blob_parts", {sha256, part, content: content.subarray(part * PART_BYTES, (part + 1) * PART_BYTES)});
  }
  return sha256;
}

/** The bytes of a digest as they were put in; undefined when the book has none. Not checked against the digest. */
export function bytesOf({db}: Book, sha256: string): Uint8Array | undefined {
  const parts: Uint8Array[] = [];
  for (const {content} of db.each("SELECT content FROM blob_parts WHERE sha256 = ? ORDER BY part", [sha256])) {
    parts.push(content as Uint8Array);
  }
  if (parts.length <= 1) return parts[0];
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

/** Takes out one file, where nothing in the book names it any more. */
export function dropIfUnused({db}: Book, sha256: string): void {
  if (db.all(`SELECT 1 FROM (${NAMED_DIGESTS}) WHERE sha256 = ?`, [sha256]).length > 0) return;
  db.run("DELETE FROM blob_parts WHERE sha256 = ?", [sha256]);
  db.run("DELETE FROM blobs WHERE sha256 = ?", [sha256]);
}

/** Takes out every file that nothing in the book names any more; gives back their number and bytes. */
export function dropUnused({db}: Book): {files: number; bytes: number} {
  const unused = `sha256 NOT IN (${NAMED_DIGESTS})`;
  const [row] = db.all(`SELECT count(*) AS files, ifnull(sum(size), 0) AS bytes FROM blobs WHERE ${unused}`);
  db.run(`DELETE FROM blob_parts WHERE ${unused}`);
  db.run(`DELETE FROM blobs WHERE ${unused}`);
  return {files: Number(row?.files), bytes: Number(row?.bytes)};
}
