import {copyFileSync, readdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {beforeAll, describe, expect, it} from "vitest";
import {bytesOf} from "../../src/book/blobs.ts";
import {createBook, openBook} from "../../src/book/book.ts";
import {findField} from "../../src/book/fields.ts";
import type {BookHost} from "../../src/book/host.ts";
import {readLog} from "../../src/book/log.ts";
import {BOOK_VERSION, MIGRATIONS, migrate, TABLES, versionOf} from "../../src/book/migrations.ts";
import {addNote, notesOf} from "../../src/book/notes.ts";
import {canonicalJson} from "../../src/book/rests-on.ts";
import {addSource, sourcesOf} from "../../src/book/sources.ts";
import type {BookColumn} from "../../src/book/table.ts";
import {verifyBook} from "../../src/book/verify.ts";
import {geoPackageFaults} from "../../src/book/verify-geopackage.ts";
import {nodeBookHost} from "../../src/cli/book-host.ts";
import {writeGeoPackage} from "../../src/formats/geopackage/write-geopackage.ts";
import {nodeHost} from "../formats/geopackage/host.ts";
import {scratch, within} from "./small-run.ts";

let host: BookHost;
beforeAll(async () => {
  host = {...(await nodeBookHost({who: "Ada", waitMs: 0})), now: () => "2026-04-15T13:30:00.000Z"};
});

const newPath = (): string => join(scratch(), "farm.gpkg");

const FIELD_ROWS = `INSERT INTO farms (name) VALUES ('Sedge Bottom');
  INSERT INTO fields (farm_id, farm, name, area_m2, acres, frame_lon, frame_lat) VALUES (1, 'Sedge Bottom', 'Wren Patch', 1, 1, 0, 0)`;

describe("a new book", () => {
  it("is a GeoPackage with every table and an entry in its log, and has nothing lying beside it", () => {
    const path = newPath();
    createBook(host, path);
    within(host, path, (book) => {
      expect(verifyBook(book).flatMap(({faults}) => faults)).toEqual([]);
      expect(readLog(book.db)).toEqual([
        {at: "2026-04-15T13:30:00.000Z", who: "Ada", what: "began the book", detail: {version: BOOK_VERSION}},
      ]);
    });
    expect(readdirSync(join(path, ".."))).toEqual(["farm.gpkg"]);
  });

  it("never replaces a file", () => {
    const path = newPath();
    writeFileSync(path, "mine");
    expect(() => createBook(host, path)).toThrow(expect.objectContaining({code: "book/exists"}));
    expect(readFileSync(path, "utf8")).toBe("mine");
    expect(readdirSync(join(path, ".."))).toEqual(["farm.gpkg"]);
  });

  it("cannot be where no file can be, and the message says what to look at", () => {
    const path = newPath();
    writeFileSync(path, "a file, not a folder");
    expect(() => createBook(host, join(path, "farm.gpkg"))).toThrow(
      expect.objectContaining({code: "book/cannot-write", hint: expect.stringContaining("folder")}),
    );
  });

  it("writes every change to disk before it counts", () => {
    const path = newPath();
    createBook(host, path);
    within(host, path, ({db}) => {
      expect(db.all("PRAGMA synchronous")).toEqual([{synchronous: 2}]); // FULL
      expect(db.all("PRAGMA journal_mode")).toEqual([{journal_mode: "delete"}]);
      expect(db.all("PRAGMA foreign_keys")).toEqual([{foreign_keys: 1}]);
    });
  });
});

describe("what is no book", () => {
  it.each([
    ["book/not-found", () => {}],
    ["book/not-one", (path: string) => writeFileSync(path, "Sample,P,K\nA1,20,110\n".repeat(60))],
  ])("is refused: %s", (code, make) => {
    const path = newPath();
    make(path);
    expect(() => openBook(host, path)).toThrow(expect.objectContaining({code}));
  });

  it("is refused, also when it is another GeoPackage, which stays as it is", async () => {
    const path = newPath();
    writeFileSync(path, writeGeoPackage(await nodeHost(), [{name: "settings", rows: [{key: "a"}]}]).value);
    const before = readFileSync(path);
    expect(() => openBook(host, path)).toThrow(/is no book but another GeoPackage/);
    expect(readFileSync(path).equals(before)).toBe(true);
    expect(readdirSync(join(path, ".."))).toEqual(["farm.gpkg"]);
  });

  it("is refused when a later program has written it", () => {
    const path = newPath();
    createBook(host, path);
    within(host, path, ({db}) =>
      db.run("INSERT INTO migrations (version, title, applied_at) VALUES (99, 'later', '2030-01-01T00:00:00.000Z')"),
    );
    expect(() => openBook(host, path)).toThrow(expect.objectContaining({code: "book/newer"}));
  });
});

describe("a book of version 1", () => {
  it("is brought up to date when it is opened, keeps what it holds, and says so in its log", () => {
    const path = newPath();
    createBook(host, path, {version: 1});
    const db = host.engine.open(path);
    expect(versionOf(db)).toBe(1);
    expect(db.all("SELECT 1 FROM sqlite_schema WHERE name = 'as_applied'")).toEqual([]);
    db.exec(FIELD_ROWS);
    db.close();
    within(host, path, (book) => {
      expect(versionOf(book.db)).toBe(BOOK_VERSION);
      expect(book.db.all("SELECT farm, name, prefix FROM fields")).toEqual([
        {farm: "Sedge Bottom", name: "Wren Patch", prefix: null},
      ]);
      expect(geoPackageFaults(book.db).faults).toEqual([]);
      expect(readLog(book.db).at(-1)).toMatchObject({what: "brought the tables up to date", detail: {from: 1, to: 3}});
    });
  });

  it("has the same tables in the end as a book that is new", () => {
    const [old, fresh] = [newPath(), newPath()];
    createBook(host, old, {version: 1});
    createBook(host, fresh);
    const shape = (path: string) =>
      within(host, path, ({db}) =>
        db.all(
          "SELECT m.name, c.name AS column, c.type, c.'notnull' FROM sqlite_schema m, pragma_table_info(m.name) c ORDER BY 1, 2",
        ),
      );
    expect(shape(old)).toEqual(shape(fresh));
  });

  it("stays of version 1 when a step fails on the way", () => {
    const path = newPath();
    createBook(host, path, {version: 1});
    const db = host.engine.open(path);
    db.exec("CREATE TABLE as_applied (id INTEGER PRIMARY KEY)"); // in the way of version 2
    expect(() => migrate(db, host.now())).toThrow(/already exists/);
    expect(versionOf(db)).toBe(1);
    expect(db.all("SELECT 1 FROM sqlite_schema WHERE name = 'routes'")).toEqual([]);
    db.close();
  });

  it("and each later one holds what it held when it was released; new things go into a new version", () => {
    // Descriptions may be reworded; names, types, keys and statements may not change.
    const frozen = MIGRATIONS.map(({tables, columns = [], sql}) => {
      const plain = ({name, type, required, refers}: BookColumn) => ({name, type, required, refers});
      const shape = {
        tables: tables.map(({about: _about, columns: own, ...rest}) => ({...rest, columns: own.map(plain)})),
        columns: columns.map(({table, column}) => ({table, column: plain(column)})),
        sql,
      };
      return host.sha256(new TextEncoder().encode(canonicalJson(shape))).slice(0, 16);
    });
    expect(frozen).toEqual(["ccb03c9ad536c7f4", "f44d5ef81a71fb7d", "25a5ad5d19a7a3ba"]);
  });

  it("and all later ones count up without a gap", () => {
    expect(MIGRATIONS.map(({version}) => version)).toEqual(MIGRATIONS.map((_, i) => i + 1));
    expect(new Set(TABLES.map(({name}) => name)).size).toBe(TABLES.length);
  });
});

describe("the log", () => {
  it("takes no change and no deletion, whoever asks", () => {
    const path = newPath();
    createBook(host, path);
    within(host, path, ({db}) => {
      expect(() => db.exec("UPDATE log SET who = 'Bob'")).toThrow(/only added/);
      expect(() => db.exec("DELETE FROM log")).toThrow(/only added/);
    });
  });

  it("shows it when its protection was taken off and an entry changed or removed", () => {
    const path = newPath();
    createBook(host, path);
    within(host, path, (book) => {
      book.db.exec(FIELD_ROWS);
      for (const text of ["wet corner", "tile outlet", "rye failed"])
        addNote(book, findField(book, "wren patch"), text);
      expect(notesOf(book, findField(book, "Sedge Bottom/Wren Patch")).map(({text}) => text)).toEqual([
        "wet corner",
        "tile outlet",
        "rye failed",
      ]);
    });
    const faultsAfter = (sql: string): string[] => {
      const copy = newPath();
      copyFileSync(path, copy);
      return within(host, copy, (book) => {
        book.db.exec(`DROP TRIGGER log_is_not_changed; DROP TRIGGER log_is_not_thinned; ${sql}`);
        return verifyBook(book).flatMap(({faults}) => faults);
      });
    };
    expect(faultsAfter("UPDATE log SET detail = '{}' WHERE id = 3")).toEqual([expect.stringContaining("entry 3 ")]);
    expect(faultsAfter("DELETE FROM log WHERE id = 2")).toEqual([expect.stringContaining("entry 2 ")]);
    expect(faultsAfter("UPDATE log SET at = '2026-04-15T13:30:00.001Z' WHERE id = 1")).toHaveLength(1);
  });

  it("has no entry for a change that failed, and the change is not there either", () => {
    const path = newPath();
    createBook(host, path);
    within(host, path, (book) => {
      book.db.exec(FIELD_ROWS);
      const dumb = {...book, host: {...host, now: () => "no moment"}};
      expect(() => addNote(dumb, findField(book, "Wren Patch"), "lost")).toThrow(/cannot hold no moment/);
      expect(notesOf(book, findField(book, "Wren Patch"))).toEqual([]);
      expect(readLog(book.db)).toHaveLength(1);
    });
  });
});

describe("a full disk", () => {
  it("leaves the book as it was, and the message says so", () => {
    const path = newPath();
    createBook(host, path);
    within(host, path, (book) => {
      book.db.exec(FIELD_ROWS);
      const [pages] = book.db.all("PRAGMA page_count");
      book.db.all(`PRAGMA max_page_count = ${Number(pages?.page_count) + 5}`);
      expect(() => addSource(book, 1, "log.bin", new Uint8Array(200_000).fill(9))).toThrow(
        expect.objectContaining({code: "book/cannot-write", message: expect.stringContaining("Nothing was changed")}),
      );
      book.db.all("PRAGMA max_page_count = 1000000");
      expect(sourcesOf(book, 1)).toEqual([]);
      expect(addSource(book, 1, "log.bin", new Uint8Array(200_000).fill(9))).toMatchObject({version: 1, size: 200_000});
      expect(verifyBook(book).flatMap(({faults}) => faults)).toEqual([]);
    });
  });
});

describe("a file of more than one part", () => {
  it("comes back whole", () => {
    const path = newPath();
    createBook(host, path);
    within(host, path, (book) => {
      book.db.exec(FIELD_ROWS);
      const long = new Uint8Array(2 ** 24 + 5).map((_, i) => (i * 7 + (i >> 8)) & 255);
      const {sha256} = addSource(book, 1, "long.bin", long);
      expect(book.db.all("SELECT count(*) AS n FROM blob_parts WHERE sha256 = ?", [sha256])).toEqual([{n: 2}]);
      expect(Buffer.compare(bytesOf(book, sha256) as Uint8Array, long)).toBe(0);
      const {sha256: none} = addSource(book, 1, "empty.bin", new Uint8Array(0));
      expect(bytesOf(book, none)).toEqual(new Uint8Array(0));
    });
  });
});
