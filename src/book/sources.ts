import {encodeUtf8} from "../formats/text.ts";
import type {Field} from "../geo/field.ts";
import {keepBytes} from "./blobs.ts";
import {type Book, change} from "./book.ts";
import {type BookField, type FieldKnownAs, keepField, rename} from "./fields.ts";
import {type BookJob, stepsOf} from "./rests-on.ts";
import {addRow} from "./rows.ts";

/** A job with all it reads. */
export interface JobToKeep extends FieldKnownAs {
  /** With every default filled in, as the job file has it. */
  readonly job: BookJob;
  readonly jobFile: {readonly name: string; readonly bytes: Uint8Array};
  /** Everything it reads, under the names it uses. */
  readonly files: ReadonlyMap<string, Uint8Array>;
  /** Names of others it reads that are in the book already and stay as they are there. */
  readonly there?: readonly string[];
  /** Of a run: digests of those others as it read them. */
  readonly digests?: ReadonlyMap<string, string>;
  readonly field: Field;
}

export interface Source {
  readonly name: string;
  readonly kind: "job" | "file";
  readonly version: number;
  readonly current: boolean;
  readonly sha256: string;
  readonly size: number;
  readonly addedAt: string;
  readonly addedBy: string;
}

export interface KeptJob {
  readonly fieldId: number;
  /** Sources that are new, or that are in force again. */
  readonly changed: readonly {readonly name: string; readonly version: number}[];
}

/** A job that is in the book already, in another wording: the ground stays as it is. */
export interface RewordedJob {
  readonly job: BookJob;
  readonly jobFile: {readonly name: string; readonly bytes: Uint8Array};
}

/**
 * Gives a field another name or farm. Its job in force says the new name from then on; files and results that were written
 * before stay as they are, and results show as stale because the name stands in them.
 *
 * @param reworded - The job in force with the new name in it; absent for a field without a job.
 * @throws {FieldError} `book/field-exists`.
 */
export function renameField(
  book: Book,
  field: BookField,
  to: {readonly farm: string; readonly name: string},
  reworded?: RewordedJob,
): void {
  change(book, TABLES_OF_A_JOB, () => {
    rename(book, field.id, to.farm, to.name);
    if (reworded) {
      const {job, jobFile} = reworded;
      const {db} = book;
      keepSource(book, field.id, jobFile.name, "job", jobFile.bytes);
      const names = db.all("SELECT name FROM sources WHERE field_id = ? AND kind = 'file' AND current", [field.id]);
      keepAsked(
        book,
        job,
        jobFile.bytes,
        names.map(({name}) => String(name)),
      );
      keepSeasons(book, field.id, job);
    }
    return {result: undefined, deed: undefined};
  });
}

const TABLES_OF_A_JOB = ["farms", "fields", "seasons", "sources", "asked", "blobs", "blob_parts"];

/** Puts a job and everything it reads into the book. What is there already is left as it is. */
export function addJob(book: Book, given: JobToKeep): KeptJob {
  return change(book, TABLES_OF_A_JOB, () => {
    const result = keepJob(book, given);
    const {field, jobFile} = given;
    const deed =
      result.changed.length > 0
        ? {what: "put in", field: field.name, detail: {job: jobFile.name, files: result.changed}}
        : undefined;
    return {result, deed};
  });
}

/** Puts one file into the book, as a new version of the source of that name. */
export function addSource(book: Book, fieldId: number, name: string, content: Uint8Array): Source {
  return change(book, TABLES_OF_A_JOB, () => {
    const {version, isChange} = keepSource(book, fieldId, name, "file", content);
    const field = String(book.db.all("SELECT name FROM fields WHERE id = ?", [fieldId])[0]?.name);
    const deed = isChange ? {what: "put in", field, detail: {files: [{name, version}]}} : undefined;
    const result = sourcesOf(book, fieldId).find((source) => source.name === name && source.version === version);
    if (!result) throw new Error("a source that was just kept is not there");
    return {result, deed};
  });
}

/** Every version of every source of a field, by name and version. */
export function sourcesOf({db}: Book, fieldId: number): Source[] {
  return db.all("SELECT * FROM sources WHERE field_id = ? ORDER BY name, version", [fieldId]).map((row) => ({
    name: String(row.name),
    kind: row.kind === "job" ? "job" : "file",
    version: Number(row.version),
    current: row.current === 1,
    sha256: String(row.sha256),
    size: Number(row.size),
    addedAt: String(row.added_at),
    addedBy: String(row.added_by),
  }));
}

/** Part of a change: field, sources, what the job asks, and the seasons it tells of. */
export function keepJob(book: Book, given: JobToKeep): KeptJob {
  const {job, jobFile, files, there = [], field} = given;
  const fieldId = keepField(book, job.farm ?? "", field, job.field.prefix, given);
  const changed = [
    {name: jobFile.name, ...keepSource(book, fieldId, jobFile.name, "job", jobFile.bytes)},
    ...[...files].map(([name, content]) => ({name, ...keepSource(book, fieldId, name, "file", content)})),
  ].flatMap(({name, version, isChange}) => (isChange ? [{name, version}] : []));
  keepAsked(book, job, jobFile.bytes, [...files.keys(), ...there]);
  keepSeasons(book, fieldId, job);
  return {fieldId, changed};
}

function keepAsked({db, host}: Book, job: BookJob, bytes: Uint8Array, fileNames: readonly string[]): void {
  const jobSha256 = host.sha256(bytes);
  if (db.all("SELECT 1 FROM asked WHERE job_sha256 = ?", [jobSha256]).length > 0) return;
  for (const {step, settings} of stepsOf(job, fileNames)) {
    addRow(db, "asked", {job_sha256: jobSha256, step, settings, settings_sha256: host.sha256(encodeUtf8(settings))});
  }
}

/** Part of a change. A file of the same name and bytes as an earlier version puts that version in force again. */
export function keepSource(
  book: Book,
  fieldId: number,
  name: string,
  kind: Source["kind"],
  content: Uint8Array,
): {version: number; isChange: boolean} {
  const {db, host} = book;
  const sha256 = keepBytes(book, content);
  const known = db.all("SELECT version, current FROM sources WHERE field_id = ? AND name = ? AND sha256 = ?", [
    fieldId,
    name,
    sha256,
  ])[0];
  if (known?.current === 1) return {version: Number(known.version), isChange: false};
  db.run("UPDATE sources SET current = 0 WHERE field_id = ? AND name = ?", [fieldId, name]);
  // One job is in force at a time, whatever it was named before.
  if (kind === "job") db.run("UPDATE sources SET current = 0 WHERE field_id = ? AND kind = 'job'", [fieldId]);
  if (known) {
    db.run("UPDATE sources SET current = 1 WHERE field_id = ? AND name = ? AND sha256 = ?", [fieldId, name, sha256]);
    return {version: Number(known.version), isChange: true};
  }
  const last = db.all("SELECT max(version) AS version FROM sources WHERE field_id = ? AND name = ?", [
    fieldId,
    name,
  ])[0];
  const version = Number(last?.version ?? 0) + 1;
  addRow(db, "sources", {
    field_id: fieldId,
    name,
    kind,
    version,
    current: true,
    sha256,
    size: content.length,
    added_at: host.now(),
    added_by: host.who,
  });
  return {version, isChange: true};
}

function keepSeasons({db}: Book, fieldId: number, {layers, lab, rates}: BookJob): void {
  const sampled = /^\d{4}/.exec(lab?.date ?? "")?.[0];
  const seasons = [
    ...layers.yield.flatMap(({season, crop}) =>
      typeof season === "number" ? [{year: season, what: "yield log", crop: typeof crop === "string" ? crop : ""}] : [],
    ),
    ...(rates?.crops ?? []).flatMap(({crop, year}) => (year === undefined ? [] : [{year, what: "crop planned", crop}])),
    ...(sampled ? [{year: Number(sampled), what: "soil samples", crop: ""}] : []),
  ];
  for (const {year, what, crop} of seasons) {
    db.run("INSERT OR IGNORE INTO seasons (field_id, year, what, crop) VALUES (?, ?, ?, ?)", [
      fieldId,
      year,
      what,
      crop,
    ]);
  }
}
