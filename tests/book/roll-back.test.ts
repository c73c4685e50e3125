import {copyFileSync, readFileSync, rmSync} from "node:fs";
import {join} from "node:path";
import {beforeAll, describe, expect, it} from "vitest";
import {rollBack} from "../../src/book/roll-back.ts";
import {loadSqlite, type SqliteEngine} from "../../src/formats/geopackage/sqlite.ts";
import {CHANGES, leaveHalfWritten, memoryFile} from "./half-written.ts";
import {scratch} from "./small-run.ts";

let engine: SqliteEngine;
beforeAll(async () => {
  engine = await loadSqlite();
});

function halfWritten(change: string) {
  const folder = scratch();
  const dead = join(folder, "dead.db");
  const before = leaveHalfWritten(engine, join(folder, "live.db"), dead, change);
  return {
    dead,
    before,
    database: memoryFile(new Uint8Array(readFileSync(dead))),
    journal: memoryFile(new Uint8Array(readFileSync(`${dead}-journal`))),
  };
}

describe("a change that was half written", () => {
  it.each(Object.entries(CHANGES))("is undone to the byte: %s", (_, change) => {
    const {before, database, journal} = halfWritten(change);
    expect(Buffer.compare(database.bytes(), before)).not.toBe(0);
    expect(rollBack(database, journal).kind).toBe("rolled back");
    expect(Buffer.compare(database.bytes(), before)).toBe(0);
    // A second time does no harm: the process may have been killed before the journal was gone.
    rollBack(database, journal);
    expect(Buffer.compare(database.bytes(), before)).toBe(0);
  });

  it("is undone also when undoing it was broken off after any number of pages", () => {
    const {before, database, journal} = halfWritten(CHANGES["changed rows"]);
    const start = database.bytes().slice();
    for (const pages of [0, 1, 7, 50]) {
      const file = memoryFile(start);
      let left = pages;
      const failing = {
        ...file,
        write: (at: number, bytes: Uint8Array): void => {
          if (left-- === 0) throw new Error("killed");
          file.write(at, bytes);
        },
      };
      expect(() => rollBack(failing, journal)).toThrow("killed");
      rollBack(file, journal);
      expect(Buffer.compare(file.bytes(), before)).toBe(0);
    }
  });

  it("stays as it is by the engine's own doing, which is why it is undone here", () => {
    // Should this fail one day, the engine has learned to roll back, and rollBack may go.
    const {dead} = halfWritten(CHANGES["changed rows"]);
    const copy = `${dead}.copy`;
    copyFileSync(dead, copy);
    copyFileSync(`${dead}-journal`, `${copy}-journal`);
    const db = engine.open(copy);
    const [row] = db.all("SELECT count(*) AS n FROM logs WHERE rate = -1");
    db.close();
    rmSync(copy);
    expect(Number(row?.n)).toBeGreaterThan(0);
  });
});

describe("a journal that does not count", () => {
  const database = () => memoryFile(new Uint8Array(8192).fill(7));

  it.each([
    ["empty", new Uint8Array(0)],
    ["of zeros, as one that is done with", new Uint8Array(600)],
    ["cut within its header", Uint8Array.of(0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7, 0, 0)],
  ])("%s changes nothing", (_, bytes) => {
    const file = database();
    expect(rollBack(file, memoryFile(bytes))).toEqual({kind: "nothing to do"});
    expect(file.bytes()).toEqual(database().bytes());
  });

  it("stops at the first page whose checksum is wrong: it was never synced, so its page was never changed", () => {
    const {before, database: file, journal} = halfWritten(CHANGES["added rows"]);
    const pageSize = 4096;
    const sector = journal.read(20, 4).reduce((sum, byte) => sum * 256 + byte, 0);
    const torn = memoryFile(journal.bytes());
    // The second record; the byte 200 before the end of a page is one of those its checksum adds up.
    const sampled = sector + pageSize + 8 + 4 + (pageSize - 200);
    torn.write(
      sampled,
      journal.read(sampled, 1).map((byte) => byte ^ 255),
    );
    expect(rollBack(file, torn)).toEqual({kind: "rolled back", pages: 1});
    expect(file.size()).toBe(before.length);
  });

  it("of a change to several files at once is left to SQLite", () => {
    const {journal} = halfWritten(CHANGES["changed rows"]);
    const named = memoryFile(journal.bytes());
    named.write(named.size(), Uint8Array.of(0xd9, 0xd5, 0x05, 0xf9, 0x20, 0xa1, 0x63, 0xd7));
    const file = database();
    expect(rollBack(file, named)).toEqual({kind: "several files"});
    expect(file.bytes()).toEqual(database().bytes());
  });
});
