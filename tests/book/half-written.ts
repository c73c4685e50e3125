import {copyFileSync, readFileSync} from "node:fs";
import type {PageFile} from "../../src/book/roll-back.ts";
import type {SqliteEngine} from "../../src/formats/geopackage/sqlite.ts";

/**
 * Makes a database and, beside it, what a process would leave that was killed in the middle of a change: half of the
 * new pages in the file, the old ones in the journal. Gives back the bytes before the change.
 */
export function leaveHalfWritten(engine: SqliteEngine, path: string, dead: string, change: string): Uint8Array {
  const db = engine.open(path);
  try {
    db.exec("CREATE TABLE IF NOT EXISTS logs (n INTEGER PRIMARY KEY, rate REAL, trace BLOB)");
    db.transaction(() => {
      for (let n = 0; n < 300; n++) db.run("INSERT INTO logs VALUES (?, ?, randomblob(2500))", [n, n / 8]);
    });
    const before = new Uint8Array(readFileSync(path));
    db.exec("PRAGMA cache_size = 10");
    db.exec("BEGIN");
    db.exec(change);
    copyFileSync(path, dead);
    copyFileSync(`${path}-journal`, `${dead}-journal`);
    db.exec("ROLLBACK");
    return before;
  } finally {
    db.close();
  }
}

/** A file in memory. */
export function memoryFile(start: Uint8Array): PageFile & {bytes(): Uint8Array} {
  let bytes = start.slice();
  return {
    bytes: () => bytes,
    size: () => bytes.length,
    read: (at, length) => {
      if (at + length > bytes.length) throw new Error("read past the end");
      return bytes.slice(at, at + length);
    },
    write: (at, content) => {
      if (at + content.length > bytes.length) {
        const longer = new Uint8Array(at + content.length);
        longer.set(bytes);
        bytes = longer;
      }
      bytes.set(content, at);
    },
    truncate: (size) => {
      bytes = bytes.slice(0, size);
    },
    sync: () => {},
  };
}

/** What happens to every page: changed, added to, taken away. */
export const CHANGES = {
  "changed rows": "UPDATE logs SET trace = randomblob(2500), rate = -1",
  "added rows": "INSERT INTO logs SELECT n + 1000, 0, randomblob(3000) FROM logs",
  "removed rows": "UPDATE logs SET trace = zeroblob(10) WHERE n % 2; DELETE FROM logs WHERE n > 200",
  "a new table": "CREATE TABLE more AS SELECT n, randomblob(4000) AS b FROM logs",
} as const;
