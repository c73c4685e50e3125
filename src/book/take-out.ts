import {FieldError} from "../errors.ts";
import {bytesOf} from "./blobs.ts";
import type {Book} from "./book.ts";
import type {BookField} from "./fields.ts";
import {sourcesOf} from "./sources.ts";

export interface TakenOut {
  /** Path under the folder, with slashes, and the bytes as they were put in. */
  readonly files: ReadonlyMap<string, Uint8Array>;
  /** Path of the job among them; absent for a field without one. */
  readonly job?: string;
  readonly version?: number;
}

/**
 * The sources in force of a field and the results of one version, to the byte, laid out so that the job still finds its
 * files: `sources/` with as many folders above the job as its paths climb, `results/`, and the rasters in `layers/`.
 *
 * @param version - Default: the one in force.
 * @throws {FieldError} `book/no-such-version`, `book/damaged` when bytes no longer have their digest.
 */
export function takeOut(book: Book, field: BookField, version?: number): TakenOut {
  const {db} = book;
  const sources = sourcesOf(book, field.id).filter(({current}) => current);
  const depth = Math.max(0, ...sources.map(({name}) => climbs(name)));
  const under = Array.from({length: depth}, (_, i) => `job${depth - i > 1 ? depth - i : ""}`);
  const files = new Map<string, Uint8Array>();
  const put = (start: readonly string[], name: string, sha256: string): void => {
    files.set(free(files, placeOf(start, name)), checked(book, sha256, name));
  };
  for (const {name, sha256} of sources) put(["sources", ...under], name, sha256);
  const job = sources.find(({kind}) => kind === "job");
  const which = version === undefined ? "current" : "version = ?2";
  const [run] = db.all(`SELECT id, version, pruned_at FROM runs WHERE field_id = ?1 AND ${which}`, [
    field.id,
    ...(version === undefined ? [] : [version]),
  ]);
  if (version !== undefined && (!run || run.pruned_at !== null)) {
    throw new FieldError("book/no-such-version", `${field.name} has no version ${version} of its results.`, {
      hint: 'See them with "loamwright book list --versions".',
    });
  }
  if (run) {
    const results = db.all("SELECT name, sha256 FROM results WHERE run_id = ? ORDER BY id", [Number(run.id)]);
    for (const {name, sha256} of results) put(["results"], String(name), String(sha256));
    const layers = db.all("SELECT layer, sha256 FROM layers WHERE run_id = ? ORDER BY id", [Number(run.id)]);
    for (const {layer, sha256} of layers) put(["layers"], `layer-${layer}.tif`, String(sha256));
  }
  return {
    files,
    ...(job && {job: placeOf(["sources", ...under], job.name)}),
    ...(run && {version: Number(run.version)}),
  };
}

/** The bytes of a digest, which must still have it. */
function checked(book: Book, sha256: string, name: string): Uint8Array {
  const bytes = bytesOf(book, sha256);
  if (!bytes || book.host.sha256(bytes) !== sha256) {
    throw new FieldError("book/damaged", `The bytes of ${name} in ${book.path} are no longer those put in.`, {
      hint: 'Go back to a backup; "loamwright book verify" tells what else is damaged.',
    });
  }
  return bytes;
}

/** How many folders above the job's own a path goes. */
function climbs(name: string): number {
  let level = 0;
  let lowest = 0;
  for (const part of partsOf(name)) {
    level += part === ".." ? -1 : 1;
    lowest = Math.min(lowest, level);
  }
  return -lowest;
}

/** A place under the folder, whatever the name: no way out of it, no drive, no root. */
function placeOf(start: readonly string[], name: string): string {
  const isAbsolute = /^([/\\]|[A-Za-z]:)/.test(name);
  const path = isAbsolute ? ["sources", "elsewhere"] : [...start];
  for (const part of partsOf(name)) {
    if (part === "..") path.pop();
    else path.push(part.replace(/[:*?"<>|\p{Cc}]/gu, "_"));
  }
  return path.join("/");
}

/** A place that no other file has, where letters count alike in both cases: many disks hold them alike. */
function free(files: ReadonlyMap<string, Uint8Array>, place: string): string {
  const taken = new Set([...files.keys()].map((name) => name.toLowerCase()));
  let found = place;
  for (let n = 2; taken.has(found.toLowerCase()); n++) found = place.replace(/(\.[^./]*)?$/, `-${n}$1`);
  return found;
}

const partsOf = (name: string): string[] => name.split(/[/\\]/).filter((part) => part !== "" && part !== ".");
