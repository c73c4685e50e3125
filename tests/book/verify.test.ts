import {copyFileSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {beforeAll, describe, expect, it} from "vitest";
import {backUp} from "../../src/book/back-up.ts";
import {createBook, openBook} from "../../src/book/book.ts";
import {findField} from "../../src/book/fields.ts";
import type {BookHost} from "../../src/book/host.ts";
import {takeOut} from "../../src/book/take-out.ts";
import {type Check, verifyBook} from "../../src/book/verify.ts";
import {nodeBookHost} from "../../src/cli/book-host.ts";
import {keepRun} from "../../src/cli/keep-run.ts";
import {fullFiles, fullJob, runIn, scratch, within} from "./small-run.ts";

let host: BookHost;
let good: string;
beforeAll(async () => {
  host = await nodeBookHost({waitMs: 0});
  good = join(scratch(), "farm.gpkg");
  createBook(host, good);
  const {path, opened, run} = await runIn(scratch(), fullJob(), fullFiles());
  within(host, good, (book) => keepRun(book, path, opened, run));
});

function spoiled(sql: string): readonly Check[] {
  const path = join(scratch(), "farm.gpkg");
  copyFileSync(good, path);
  return within(host, path, (book) => {
    book.db.exec("PRAGMA foreign_keys = OFF");
    book.db.exec(sql);
    return verifyBook(book);
  });
}

const faultsOf = (checks: readonly Check[]): string[] =>
  checks.flatMap(({what, faults}) => faults.map((fault) => `${what}: ${fault}`));

describe("looking a book over", () => {
  it("finds nothing wrong with a good one, and says how much it looked at", () => {
    const checks = spoiled("");
    expect(faultsOf(checks)).toEqual([]);
    expect(checks.find(({what}) => what === "GeoPackage")?.looked).toMatch(/^34 tables, [1-9]\d+ shapes$/);
    expect(checks.find(({what}) => what.startsWith("bytes"))?.looked).toMatch(/^[1-9]\d+ files, \d+\.\d MB$/);
  });

  it.each([
    [
      "bytes that were changed, by the names of the files they belong to",
      "UPDATE blob_parts SET content = zeroblob(length(content)) WHERE sha256 = (SELECT sha256 FROM sources WHERE name = 'lab.csv')",
      /the bytes of lab\.csv are not those put in/,
    ],
    [
      "bytes that are gone",
      "DELETE FROM blob_parts WHERE sha256 = (SELECT sha256 FROM results WHERE name = 'run.json')",
      /the bytes of run\.json are not/,
    ],
    ["files that are named but not there", "DELETE FROM blobs WHERE id = 1", /1 files are named but not there/],
    [
      "files that belong to nothing",
      "INSERT INTO blobs (sha256, size) VALUES ('e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', 0); INSERT INTO blob_parts (sha256, part, content) VALUES ('e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855', 0, x'')",
      /^what refers to what: 1 files belong to nothing/,
    ],
    ["rows that refer to missing ones", "DELETE FROM fields", /row \d+ of \w+ refers to a missing row of fields/],
    [
      "two versions in force",
      "UPDATE sources SET current = 1; UPDATE runs SET current = 0",
      /Wren Patch has 0 versions/,
    ],
    ["another application id", "PRAGMA application_id = 7", /application id is 7/],
    ["a reference system that is gone", "DELETE FROM gpkg_spatial_ref_sys WHERE srs_id = -1", /system -1 is missing/],
    ["a table that is not listed", "DELETE FROM gpkg_contents WHERE table_name = 'runs'", /runs is not listed/],
    [
      "a day that is none",
      "UPDATE gpkg_contents SET last_change = 'today' WHERE table_name = 'runs'",
      /no moment: today/,
    ],
    [
      "a shape cut short",
      "UPDATE zones SET geom = substr(geom, 1, 80) WHERE id = 1",
      /shape of row 1 of zones is cut short/,
    ],
    [
      "a shape of another kind",
      "UPDATE cores SET geom = (SELECT geom FROM zones LIMIT 1) WHERE id = 2",
      /row 2 of cores is of/,
    ],
    [
      "shapes declared as others",
      "UPDATE gpkg_geometry_columns SET geometry_type_name = 'POINT' WHERE table_name = 'zones'",
      /zones are not declared as MULTIPOLYGON/,
    ],
  ])("finds %s", (_, sql, fault) => {
    expect(faultsOf(spoiled(sql)).join("\n")).toMatch(fault);
  });

  it("finds a damaged page, or the book is refused as damaged", () => {
    const path = join(scratch(), "farm.gpkg");
    const bytes = readFileSync(good);
    const pages = bytes.length / 4096;
    let found = 0;
    // Overwrites one page after another; some hold nothing that matters but bytes of files, which have their digests.
    for (let page = 3; page < pages; page += 9) {
      const copy = Buffer.from(bytes);
      copy.fill(0xa5, page * 4096, page * 4096 + 4096);
      writeFileSync(path, copy);
      try {
        const book = openBook(host, path);
        try {
          if (faultsOf(verifyBook(book)).length > 0) found += 1;
        } finally {
          book.close();
        }
      } catch (error) {
        expect(error).toMatchObject({name: "FieldError"});
        found += 1;
      }
    }
    expect(found).toBe(Math.ceil((pages - 3) / 9));
  });

  it("refuses to hand out bytes that are no longer those put in", () => {
    const path = join(scratch(), "farm.gpkg");
    copyFileSync(good, path);
    within(host, path, (book) => {
      book.db.exec("UPDATE blob_parts SET content = zeroblob(9)");
      expect(() => takeOut(book, findField(book, "Wren Patch"))).toThrow(
        expect.objectContaining({code: "book/damaged"}),
      );
    });
  });
});

describe("a backup", () => {
  it("is a book of its own with everything in it, and replaces nothing", () => {
    const copy = join(scratch(), "copy.gpkg");
    const checks = within(host, good, (book) => backUp(book, copy));
    expect(faultsOf(checks)).toEqual([]);
    const filesIn = (path: string) => within(host, path, (book) => takeOut(book, findField(book, "Wren Patch")).files);
    expect(filesIn(copy)).toEqual(filesIn(good));
    const before = readFileSync(copy);
    expect(() => within(host, good, (book) => backUp(book, copy))).toThrow(
      expect.objectContaining({code: "book/exists"}),
    );
    expect(readFileSync(copy).equals(before)).toBe(true);
  });
});
