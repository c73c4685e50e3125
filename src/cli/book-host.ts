import {createHash, randomBytes} from "node:crypto";
import {
  closeSync,
  existsSync,
  fstatSync,
  fsyncSync,
  ftruncateSync,
  linkSync,
  mkdirSync,
  openSync,
  readSync,
  realpathSync,
  renameSync,
  rmdirSync,
  rmSync,
  statSync,
  writeSync,
} from "node:fs";
import {userInfo} from "node:os";
import {dirname, resolve} from "node:path";
import type {BookHost} from "../book/host.ts";
import {type PageFile, rollBack} from "../book/roll-back.ts";
import {FieldError} from "../errors.ts";
import {loadSqlite} from "../formats/geopackage/sqlite.ts";
import {claimBook, syncFolder} from "./book-owner.ts";

export interface BookHostOptions {
  /** Who is at work, for the log. Default: the user of the system. */
  readonly who?: string | undefined;
  /** How long to wait for another process to finish with a book. Default: one second. */
  readonly waitMs?: number;
}

/** This process as the host of a book. */
export async function nodeBookHost({who = userName(), waitMs = 1000}: BookHostOptions = {}): Promise<BookHost> {
  const engine = await loadSqlite();
  return {
    // By its own name: the engine would look for the journal of a link beside the link.
    engine: {open: (path, how) => engine.open(real(path), how)},
    hold: (path) => inWords(path, () => hold(real(path), waitMs)),
    install,
    exists: (path) => existsSync(path) && statSync(path).isFile(),
    now: () => new Date().toISOString(),
    who,
    sha256: (bytes) => createHash("sha256").update(bytes).digest("hex"),
  };
}

/** The engine's own lock, and the journal that SQLite keeps while it writes. */
const lockFolder = (path: string): string => `${path}.lock`;
const writeAheadFile = (path: string): string => `${path}-wal`;
const journalFile = (path: string): string => `${path}-journal`;

function hold(path: string, waitMs: number): () => void {
  const {tookOver, release} = claimBook(path, waitMs);
  // While what a killed owner left is not cleared away the claim stays, for the next to try again.
  if (tookOver) clearAway(path);
  try {
    refuseForeign(path);
  } catch (error) {
    release();
    throw error;
  }
  return release;
}

/** After a killed owner of ours: its lock goes, and what it had half written is rolled back. */
function clearAway(path: string): void {
  if (existsSync(lockFolder(path))) rmdirSync(lockFolder(path));
  if (!existsSync(journalFile(path))) return;
  const outcome = withFile(path, "r+", (database) =>
    withFile(journalFile(path), "r", (journal) => rollBack(database, journal)),
  );
  if (outcome.kind === "several files") throw interrupted(path, journalFile(path));
  rmSync(journalFile(path));
  syncFolder(path);
}

/** Locks and journals without a claim beside them are another program's, perhaps at work this moment. */
function refuseForeign(path: string): void {
  if (existsSync(lockFolder(path))) {
    throw new FieldError("book/in-use", `${path} is locked by another program (${lockFolder(path)}).`, {
      hint: "Close the book there; if no program has it open, remove that folder.",
    });
  }
  for (const left of [journalFile(path), writeAheadFile(path)]) {
    if (existsSync(left) && statSync(left).size > 0) throw interrupted(path, left);
  }
}

function interrupted(path: string, left: string): FieldError {
  return new FieldError(
    "book/interrupted",
    `Another program has ${path} open for writing, or was interrupted while it had (${left}).`,
    {
      hint: "Close the book there; if that does not help, open and close it once in a program that can write GeoPackages.",
    },
  );
}

function install(path: string, work: (temporary: string) => void): void {
  inWords(path, () => installPlainly(path, work));
}

function installPlainly(path: string, work: (temporary: string) => void): void {
  const target = resolve(path);
  if (existsSync(target)) {
    throw new FieldError("book/exists", `There is a file ${path} already.`, {hint: "Choose another name."});
  }
  mkdirSync(dirname(target), {recursive: true});
  const temporary = `${target}.new-${randomBytes(4).toString("hex")}`;
  try {
    work(temporary);
    withFile(temporary, "r+", ({sync}) => sync());
    moveTo(temporary, target, path);
    syncFolder(target);
  } finally {
    for (const left of [temporary, journalFile(temporary), lockFolder(temporary)]) {
      rmSync(left, {recursive: true, force: true});
    }
  }
}

/** What the file system refuses, as something a user can act on. */
function inWords<T>(path: string, work: () => T): T {
  try {
    return work();
  } catch (error) {
    const {code, syscall} = error as {code?: string; syscall?: string};
    if (code === undefined || syscall === undefined) throw error;
    throw new FieldError("book/cannot-write", `${path} cannot be written to: ${(error as Error).message}.`, {
      hint: "Check that the folder is there and may be written to, and that the disk is not full.",
    });
  }
}

/** A link fails where a file has come to be in the meantime; a plain move would replace it. */
function moveTo(temporary: string, target: string, shown: string): void {
  try {
    linkSync(temporary, target);
  } catch (error) {
    const {code} = error as {code?: string};
    if (code === "EEXIST") {
      throw new FieldError("book/exists", `There is a file ${shown} already.`, {hint: "Choose another name."});
    }
    if (code !== "EPERM" && code !== "ENOTSUP" && code !== "ENOSYS") throw error;
    renameSync(temporary, target);
  }
}

function withFile<T>(path: string, flags: "r" | "r+", work: (file: PageFile) => T): T {
  const opened = openSync(path, flags);
  try {
    return work({
      size: () => fstatSync(opened).size,
      read: (at, length) => {
        const bytes = new Uint8Array(length);
        let got = 0;
        while (got < length) {
          const now = readSync(opened, bytes, got, length - got, at + got);
          if (now === 0) throw new Error(`${path} ends before byte ${at + length}`);
          got += now;
        }
        return bytes;
      },
      write: (at, bytes) => {
        let put = 0;
        while (put < bytes.length) put += writeSync(opened, bytes, put, bytes.length - put, at + put);
      },
      truncate: (size) => ftruncateSync(opened, size),
      sync: () => fsyncSync(opened),
    });
  } finally {
    closeSync(opened);
  }
}

/** The path behind links, so that a book is one by whatever name it goes. */
const real = (path: string): string => (existsSync(path) ? realpathSync(path) : resolve(path));

function userName(): string {
  try {
    return userInfo().username;
  } catch {
    return "unknown";
  }
}
