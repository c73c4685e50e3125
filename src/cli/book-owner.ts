import {
  closeSync,
  existsSync,
  fsyncSync,
  linkSync,
  openSync,
  readdirSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  writeFileSync,
  writeSync,
} from "node:fs";
import {hostname} from "node:os";
import {basename, dirname, join} from "node:path";
import {FieldError} from "../errors.ts";

// Who has a book: a file beside it that names the process. The engine's own lock is a folder that says nothing of its
// owner and outlives a killed one, so it cannot be told from a living one.

export interface Owner {
  /** Unlike every other claim there ever was. */
  readonly id: string;
  readonly pid: number;
  readonly host: string;
  readonly since: string;
  /** When the machine and the process started, where the system tells: process numbers are used again. */
  readonly boot?: string;
  readonly started?: string;
  /** Where it serves the book. */
  readonly at?: string;
}

/** Writes beside a book of this process where it is served, for whoever finds it held. */
export function tellAddress(path: string, at: string): void {
  const file = ownerFile(realpathSync(path));
  const owner = readOwner(file);
  if (owner === "gone" || owner === "unreadable" || owner.pid !== process.pid) return;
  renameSync(writeDraft(file, {...owner, at}), file);
}

/** Where a book that is held is served; undefined where it is not, or not from this computer. */
export function addressOf(path: string): string | undefined {
  if (!existsSync(path)) return undefined;
  const owner = readOwner(ownerFile(realpathSync(path)));
  if (owner === "gone" || owner === "unreadable" || owner.host !== hostname()) return undefined;
  return /^http:\/\/127\.0\.0\.1:\d{1,5}\/$/.test(owner.at ?? "") ? owner.at : undefined;
}

export interface Claim {
  /** True when the owner before was killed: what it was doing may be half done. */
  readonly tookOver: boolean;
  readonly release: () => void;
}

export const ownerFile = (path: string): string => `${path}.owner`;

/**
 * Claims a book for this process. A claim whose process is gone from this machine is taken over; one of another machine
 * never is, since nothing here can see whether it lives.
 *
 * Taking over is safe between any number of processes: the right to it is a ticket with the dead claim's own id in its
 * name, which only one can make, and the claim is looked at again once the ticket is held.
 *
 * @param waitMs - How long to wait for a living owner to finish.
 * @throws {FieldError} `book/held`, naming the owner.
 */
export function claimBook(path: string, waitMs: number): Claim {
  const own = thisProcess();
  const file = ownerFile(path);
  const deadline = Date.now() + waitMs;
  for (;;) {
    if (createWhole(file, own)) {
      sweep(file);
      return {tookOver: false, release: () => release(file, own)};
    }
    const other = readOwner(file);
    if (other !== "gone") {
      if (isDead(other) && takeOver(file, other, own)) return {tookOver: true, release: () => release(file, own)};
      if (Date.now() >= deadline && !isDead(other)) throw held(path, other);
    }
    pause(20);
    if (Date.now() > deadline + 5000) throw held(path, other);
  }
}

/** True when the process of a claim is known to be gone. A claim that cannot be read is nobody's to judge. */
export function isDead(owner: Owner | "unreadable"): boolean {
  if (owner === "unreadable" || owner.host !== hostname()) return false;
  const boot = bootId();
  if (owner.boot !== undefined && boot !== undefined && owner.boot !== boot) return true;
  try {
    process.kill(owner.pid, 0);
  } catch (error) {
    return (error as {code?: string}).code === "ESRCH";
  }
  const started = startOf(owner.pid);
  return owner.started !== undefined && started !== undefined && owner.started !== started;
}

/** The folder's entries as they stand go to disk; systems that cannot do that for folders do it by themselves. */
export function syncFolder(path: string): void {
  try {
    const folder = openSync(dirname(path), "r");
    try {
      fsyncSync(folder);
    } finally {
      closeSync(folder);
    }
  } catch (error) {
    if (!["EISDIR", "EPERM", "EINVAL", "EACCES"].includes(String((error as {code?: string}).code))) throw error;
  }
}

// --- inside ---------------------------------------------------------------------------------------------------

let claims = 0;

function thisProcess(): Owner {
  const since = new Date().toISOString();
  const boot = bootId();
  const started = startOf(process.pid);
  claims += 1;
  return {
    id: `${process.pid}-${started ?? since.replace(/\W/g, "")}-${claims}-${Math.random().toString(36).slice(2, 10)}`,
    pid: process.pid,
    host: hostname(),
    since,
    ...(boot !== undefined && {boot}),
    ...(started !== undefined && {started}),
  };
}

/** Linux only; elsewhere undefined. */
function bootId(): string | undefined {
  return readIfThere("/proc/sys/kernel/random/boot_id")?.trim();
}

/** Clock ticks since boot at which a process started: the 22nd field of its stat line, the 20th after its name. */
function startOf(pid: number): string | undefined {
  const stat = readIfThere(`/proc/${pid}/stat`);
  return stat?.slice(stat.lastIndexOf(")") + 2).split(" ")[19];
}

function readIfThere(path: string): string | undefined {
  try {
    return readFileSync(path, "utf8");
  } catch {
    return undefined;
  }
}

/** A file that appears with all its content, or not at all because there is one. */
function createWhole(file: string, owner: Owner): boolean {
  const draft = writeDraft(file, owner);
  try {
    linkSync(draft, file);
    syncFolder(file);
    return true;
  } catch (error) {
    const {code} = error as {code?: string};
    if (code === "EEXIST") return false;
    if (code !== "EPERM" && code !== "ENOTSUP" && code !== "ENOSYS") throw error;
    return createPlain(file, owner);
  } finally {
    rmSync(draft, {force: true});
  }
}

/** Where the file system knows no links: a reader may for a moment find the file empty, and then waits. */
function createPlain(file: string, owner: Owner): boolean {
  try {
    writeFileSync(file, JSON.stringify(owner), {flag: "wx"});
    return true;
  } catch (error) {
    if ((error as {code?: string}).code === "EEXIST") return false;
    throw error;
  }
}

function writeDraft(file: string, owner: Owner): string {
  const draft = `${file}.${owner.id}`;
  const opened = openSync(draft, "wx");
  try {
    writeSync(opened, JSON.stringify(owner));
    fsyncSync(opened);
  } finally {
    closeSync(opened);
  }
  return draft;
}

function readOwner(file: string): Owner | "gone" | "unreadable" {
  try {
    const found = JSON.parse(readFileSync(file, "utf8")) as Owner;
    const isOne = /^[\w-]{1,120}$/.test(found.id) && Number.isInteger(found.pid) && found.pid > 0;
    return isOne ? found : "unreadable";
  } catch (error) {
    return (error as {code?: string}).code === "ENOENT" ? "gone" : "unreadable";
  }
}

function takeOver(file: string, dead: Owner | "unreadable", own: Owner): boolean {
  if (dead === "unreadable") return false;
  const ticket = `${file}.${dead.id}.taken`;
  if (!createWhole(ticket, own)) {
    const holder = readOwner(ticket);
    // Killed with the ticket in hand, within microseconds: the next round makes a new one.
    if (holder !== "gone" && isDead(holder)) rmSync(ticket, {force: true});
    return false;
  }
  try {
    const now = readOwner(file);
    if (now === "gone" || now === "unreadable" || now.id !== dead.id) return false;
    renameSync(writeDraft(file, own), file);
    syncFolder(file);
    return true;
  } finally {
    rmSync(ticket, {force: true});
  }
}

/** Drafts and tickets of processes that were killed while they claimed. */
function sweep(file: string): void {
  for (const name of readdirSync(dirname(file))) {
    if (!name.startsWith(`${basename(file)}.`)) continue;
    const left = join(dirname(file), name);
    const owner = readOwner(left);
    if (owner !== "gone" && isDead(owner)) rmSync(left, {force: true});
  }
}

function release(file: string, own: Owner): void {
  const now = readOwner(file);
  if (now !== "gone" && now !== "unreadable" && now.id === own.id && existsSync(file)) rmSync(file, {force: true});
}

function held(path: string, owner: Owner | "gone" | "unreadable"): FieldError {
  if (owner === "gone" || owner === "unreadable") {
    return new FieldError("book/held", `${path} is held, but ${ownerFile(path)} does not say by whom.`, {
      hint: `Remove ${ownerFile(path)} when no program has the book open.`,
    });
  }
  const here = owner.host === hostname();
  return new FieldError(
    "book/held",
    `${path} is held by process ${owner.pid} on ${here ? "this computer" : owner.host} since ${owner.since}.`,
    {
      hint: here
        ? owner.at === undefined
          ? "Wait until it has finished, or end it."
          : `The bench has it open at ${owner.at}: work there, or end the bench with Ctrl-C first.`
        : `Close the book there; when that computer is gone for good, remove ${ownerFile(path)}.`,
    },
  );
}

function pause(ms: number): void {
  Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, ms);
}
