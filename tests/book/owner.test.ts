import {type ChildProcess, spawn} from "node:child_process";
import {existsSync, mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync} from "node:fs";
import {hostname} from "node:os";
import {basename, dirname, join} from "node:path";
import {fileURLToPath} from "node:url";
import {beforeAll, describe, expect, it} from "vitest";
import {createBook, openBook} from "../../src/book/book.ts";
import {findField} from "../../src/book/fields.ts";
import type {BookHost} from "../../src/book/host.ts";
import {notesOf} from "../../src/book/notes.ts";
import {verifyBook} from "../../src/book/verify.ts";
import {nodeBookHost} from "../../src/cli/book-host.ts";
import {isDead} from "../../src/cli/book-owner.ts";
import {scratch, within} from "./small-run.ts";

let host: BookHost;
beforeAll(async () => {
  host = await nodeBookHost({waitMs: 0});
});

function newBook(): string {
  const path = join(scratch(), "farm.gpkg");
  createBook(host, path);
  within(host, path, ({db}) =>
    db.exec(
      `INSERT INTO farms (name) VALUES ('Sedge Bottom');
       INSERT INTO fields (farm_id, farm, name, area_m2, acres, frame_lon, frame_lat) VALUES (1, 'Sedge Bottom', 'Wren Patch', 1, 1, 0, 0)`,
    ),
  );
  return path;
}

function start(...args: string[]): ChildProcess {
  const script = fileURLToPath(new URL("hold-and-wait.ts", import.meta.url));
  return spawn(process.execPath, ["--import", "tsx", script, ...args], {stdio: ["ignore", "pipe", "inherit"]});
}

const said = (child: ChildProcess): Promise<unknown> => new Promise((resolve) => child.stdout?.once("data", resolve));
const ended = (child: ChildProcess): Promise<unknown> => new Promise((resolve) => child.once("close", resolve));
const beside = (path: string): string[] => readdirSync(dirname(path)).filter((name) => name !== basename(path));

describe("a book that a process holds", () => {
  it("is refused to a second one, which is told who holds it; when that one is killed it is free again", async () => {
    const path = newBook();
    const holder = start(path, "hold");
    await said(holder);
    expect(() => openBook(host, path)).toThrow(
      expect.objectContaining({
        code: "book/held",
        message: expect.stringContaining(`process ${holder.pid} on this computer since 20`),
      }),
    );
    holder.kill("SIGKILL");
    await ended(holder);
    expect(existsSync(`${path}.owner`)).toBe(true);
    within(host, path, (book) => expect(verifyBook(book).flatMap(({faults}) => faults)).toEqual([]));
    expect(beside(path)).toEqual([]);
  });

  it("is one book by whatever link it is opened, with its journal beside the file itself", () => {
    const path = newBook();
    const link = join(scratch(), "link.gpkg");
    symlinkSync(path, link);
    within(host, link, ({db}) => {
      expect(() => openBook(host, path)).toThrow(expect.objectContaining({code: "book/held"}));
      db.transaction(() => {
        db.exec("INSERT INTO farms (name) VALUES ('Mill Farm')");
        expect(beside(path)).toContain("farm.gpkg-journal");
        expect(beside(link)).toEqual([]);
      });
    });
    expect(beside(path)).toEqual([]);
  });

  it("is refused a second time in the same process", () => {
    const path = newBook();
    within(host, path, () => expect(() => openBook(host, path)).toThrow(expect.objectContaining({code: "book/held"})));
  });

  it("gets every note of four processes that want it at once, after one that was killed", async () => {
    const path = newBook();
    const dead = start(path, "hold");
    await said(dead);
    dead.kill("SIGKILL");
    await ended(dead);
    await Promise.all(Array.from({length: 4}, () => ended(start(path, "note", "3"))));
    within(host, path, (book) => {
      const notes = notesOf(book, findField(book, "Wren Patch")).map(({text}) => text);
      expect(new Set(notes).size).toBe(12);
      expect(verifyBook(book).flatMap(({faults}) => faults)).toEqual([]);
    });
    expect(beside(path)).toEqual([]);
  });
});

describe("what lies beside a book", () => {
  const ghost = {id: "1-2-3", pid: 2 ** 22 - 3, host: hostname(), since: "2026-01-01T00:00:00.000Z"};

  it("a claim of a process that is gone is taken over, with the lock it left", () => {
    const path = newBook();
    writeFileSync(`${path}.owner`, JSON.stringify(ghost));
    mkdirSync(`${path}.lock`);
    within(host, path, (book) => expect(book.db.all("SELECT name FROM farms")).toHaveLength(1));
    expect(beside(path)).toEqual([]);
  });

  it("a claim from another computer is never taken over", () => {
    const path = newBook();
    writeFileSync(`${path}.owner`, JSON.stringify({...ghost, host: "barn-pc"}));
    expect(() => openBook(host, path)).toThrow(/held by process 4194301 on barn-pc since 2026-01-01/);
    expect(JSON.parse(readFileSync(`${path}.owner`, "utf8")).host).toBe("barn-pc");
  });

  it("a claim that cannot be read is nobody's to judge", () => {
    const path = newBook();
    writeFileSync(`${path}.owner`, "{");
    expect(() => openBook(host, path)).toThrow(expect.objectContaining({code: "book/held"}));
  });

  it("a lock without a claim is another program's and stays", () => {
    const path = newBook();
    mkdirSync(`${path}.lock`);
    expect(() => openBook(host, path)).toThrow(expect.objectContaining({code: "book/in-use"}));
    expect(beside(path)).toEqual(["farm.gpkg.lock"]);
  });

  it("a journal without a claim is another program's and stays", () => {
    const path = newBook();
    writeFileSync(`${path}-journal`, "something");
    expect(() => openBook(host, path)).toThrow(expect.objectContaining({code: "book/interrupted"}));
    expect(beside(path)).toEqual(["farm.gpkg-journal"]);
  });

  it("a process number that another process has by now is not the owner", () => {
    const own = {...ghost, pid: process.pid};
    expect(isDead(own)).toBe(false);
    // Only where the system tells when a process started.
    if (existsSync("/proc/self/stat")) expect(isDead({...own, started: "1"})).toBe(true);
    if (existsSync("/proc/sys/kernel/random/boot_id")) expect(isDead({...own, boot: "another start"})).toBe(true);
    expect(isDead(ghost)).toBe(true);
  });
});

it("what killed processes left of their claims is swept away, what living ones are at stays", () => {
  const path = newBook();
  const ghost = {id: "1-2-3", pid: 2 ** 22 - 3, host: hostname(), since: "2026-01-01T00:00:00.000Z"};
  writeFileSync(`${path}.owner.1-2-3`, JSON.stringify(ghost));
  writeFileSync(`${path}.owner.0-0-0.taken`, JSON.stringify(ghost));
  writeFileSync(`${path}.owner.4-5-6`, JSON.stringify({...ghost, pid: process.pid}));
  within(host, path, () => {});
  expect(beside(path)).toEqual(["farm.gpkg.owner.4-5-6"]);
});
