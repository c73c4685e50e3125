import {join} from "node:path";
import {describe, expect, it} from "vitest";
import {listFields} from "../../src/book/fields.ts";
import {readLog} from "../../src/book/log.ts";
import {verifyBook} from "../../src/book/verify.ts";
import {nodeBookHost} from "../../src/cli/book-host.ts";
import {cli} from "../hosts/in-process.ts";
import {layOut} from "../hosts/small-job.ts";
import {fullFiles, fullJob, scratch, within} from "./small-run.ts";

// Fields that get another name.

const host = await nodeBookHost({who: "tests"});

async function made(): Promise<{folder: string; book: string; job: string}> {
  const folder = scratch();
  const book = join(folder, "farm.gpkg");
  const job = layOut(join(folder, "job"), fullJob(), fullFiles());
  expect((await cli("book", "create", book)).code).toBe(0);
  expect((await cli("book", "import", book, job, "--run", "--quiet")).code).toBe(0);
  return {folder, book, job};
}

const named = (name: string, farm = "Sedge Bottom") =>
  fullJob((job) => {
    job.farm = farm;
    job.field = {...job.field, name};
  });

describe("a field with another name", () => {
  it("stays the field it is: id, results, files; its shapes and its job say the new name", async () => {
    const {book} = await made();
    expect((await cli("book", "rename", book, "Wren Patch", "Mill Field")).code).toBe(0);
    within(host, book, (open) => {
      expect(listFields(open).map(({id, farm, name, versions}) => [id, farm, name, versions])).toEqual([
        [1, "Sedge Bottom", "Mill Field", 1],
      ]);
      expect(open.db.all("SELECT DISTINCT field FROM zones UNION SELECT field FROM cores")).toEqual([
        {field: "Mill Field"},
      ]);
      const [job] = open.db.all(
        "SELECT p.content FROM sources s JOIN blob_parts p ON p.sha256 = s.sha256 WHERE s.kind = 'job' AND s.current",
      );
      expect(JSON.parse(new TextDecoder().decode(job?.content as Uint8Array)).field.name).toBe("Mill Field");
      expect(readLog(open.db).at(-1)).toMatchObject({what: "renamed", field: "Mill Field"});
      expect(verifyBook(open).flatMap(({faults}) => faults)).toEqual([]);
    });
    // The name stands in the files of the results, so they no longer fit the job.
    const list = await cli("book", "list", book);
    expect(list.stdout).toMatch(/Mill Field.*boundary and \d+ more/);
  });

  it("is not made a second time by a job with the old name, and is found by one with the new", async () => {
    const {folder, book, job} = await made();
    expect((await cli("book", "rename", book, "Wren Patch", "Low Farm/Mill Field")).code).toBe(0);
    const old = await cli("book", "import", book, job);
    expect(old.code).toBe(3);
    expect(old.stderr).toContain('"Wren Patch" is called "Mill Field" of "Low Farm" since');
    const next = layOut(join(folder, "next"), named("Mill Field", "Low Farm"), fullFiles());
    expect((await cli("book", "import", book, next)).code).toBe(0);
    within(host, book, (open) => {
      expect(listFields(open).map(({id, farm, name}) => [id, farm, name])).toEqual([[1, "Low Farm", "Mill Field"]]);
      expect(open.db.all("SELECT name FROM farms")).toEqual([{name: "Low Farm"}]);
    });
  });

  it("gets its old name back, after which a job with that name finds it again", async () => {
    const {book, job} = await made();
    expect((await cli("book", "rename", book, "Wren Patch", "Mill Field")).code).toBe(0);
    expect((await cli("book", "rename", book, "Mill Field", "Wren Patch")).code).toBe(0);
    expect((await cli("book", "import", book, job)).code).toBe(0);
    within(host, book, (open) => expect(listFields(open)).toHaveLength(1));
  });

  it("never gets the name of another, nor none", async () => {
    const {folder, book} = await made();
    const other = layOut(join(folder, "other"), named("Mill Field"), fullFiles());
    expect((await cli("book", "import", book, other)).code).toBe(0);
    const taken = await cli("book", "rename", book, "Wren Patch", "Mill Field");
    expect(taken.code).toBe(3);
    expect(taken.stderr).toContain('There is a field "Mill Field" already.');
    expect((await cli("book", "rename", book, "Wren Patch", "Low Farm/")).code).toBe(3);
    within(host, book, (open) => expect(listFields(open).map(({name}) => name)).toEqual(["Mill Field", "Wren Patch"]));
  });
});
