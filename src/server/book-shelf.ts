import {bytesOf} from "../book/blobs.ts";
import type {Book} from "../book/book.ts";
import {factOf, noteFact} from "../book/facts.ts";
import {addHandOver, handOversOf} from "../book/hand-overs.ts";
import {restoreSource} from "../book/history.ts";
import {preferencesOf, putPreferences} from "../book/preferences.ts";
import {saveRun} from "../book/save-run.ts";
import {addJob} from "../book/sources.ts";
import {cardOfRun, keepLook, keepView, lookOf, packedOfRun} from "../book/views.ts";
import {FieldError} from "../errors.ts";
import {decodeBlob} from "../formats/geopackage/blob.ts";
import type {SqlRow} from "../formats/geopackage/sqlite.ts";
import {encodeUtf8} from "../formats/text.ts";
import type {LonLatMultiPolygon} from "../geo/shapes.ts";
import {filesOf} from "../pipeline/files-of.ts";
import {readJob} from "../pipeline/read-job.ts";
import {VERSION} from "../pipeline/version.ts";
import type {JobToKeep, Shelf, ShelfField, ShelfFile, ShelfRun} from "./shelf.ts";

const JOB = "job.json";

/** A book as the server's shelf. Its work is done in the thread it is called in: see `threadShelf`. */
export function bookShelf(book: Book, name: string): Shelf {
  const {db} = book;
  const textOf = (sha256: string): string => new TextDecoder().decode(bytesOf(book, sha256) ?? new Uint8Array(0));

  const jobSource = (fieldId: number): {name: string; version: number; sha256: string} | undefined => {
    const [row] = db.all("SELECT name, version, sha256 FROM sources WHERE field_id = ? AND kind = 'job' AND current", [
      fieldId,
    ]);
    return row && {name: String(row.name), version: Number(row.version), sha256: String(row.sha256)};
  };

  const filesIn = (fieldId: number): ShelfFile[] =>
    db
      .all("SELECT name, sha256, size FROM sources WHERE field_id = ? AND kind = 'file' AND current ORDER BY name", [
        fieldId,
      ])
      .map((row) => ({name: String(row.name), sha256: String(row.sha256), bytes: Number(row.size)}));

  const runOf = (fieldId: number, files: readonly ShelfFile[]): ShelfRun | undefined => {
    const [run] = db.all(
      `SELECT r.id, r.made_at, r.program, r.job_sha256, max(s.version) AS version
       FROM runs r LEFT JOIN sources s ON s.field_id = r.field_id AND s.kind = 'job' AND s.sha256 = r.job_sha256
       WHERE r.field_id = ? AND r.current AND r.pruned_at IS NULL GROUP BY r.id`,
      [fieldId],
    );
    if (!run) return undefined;
    const job = textOf(String(run.job_sha256));
    const then = new Map(files.map((file) => [file.name, file.sha256]));
    const read = db.all("SELECT DISTINCT name, digest FROM step_inputs WHERE run_id = ? AND kind = 'source'", [
      Number(run.id),
    ]);
    for (const row of read) then.set(String(row.name), String(row.digest));
    return {
      id: `run-${Number(run.id)}`,
      version: Number(run.version ?? 0),
      madeAt: String(run.made_at),
      program: String(run.program),
      job,
      files: filesOf(readJob(job, JOB)).flatMap((file) => {
        const digest = then.get(file);
        return digest === undefined ? [] : [[file, digest] as const];
      }),
    };
  };

  const shown = (row: SqlRow): ShelfField | undefined => {
    const id = Number(row.id);
    const job = jobSource(id);
    // A field whose job was never put in has nothing to work on here.
    if (!job) return undefined;
    const files = filesIn(id);
    const run = runOf(id, files);
    return {
      id: String(id),
      name: String(row.name),
      farm: String(row.farm),
      acres: Number(row.acres),
      outline: outlineOf(row.geom),
      job: textOf(job.sha256),
      version: job.version,
      files,
      ...(run && {run}),
      handOvers: handOversOf(book, id),
    };
  };

  const fieldOf = (id: string): ShelfField | undefined => {
    if (!/^\d{1,15}$/.test(id)) return undefined;
    const [row] = db.all("SELECT id, name, farm, acres, geom FROM fields WHERE id = ?", [Number(id)]);
    return row && shown(row);
  };
  const mustBe = (id: string): ShelfField => {
    const field = fieldOf(id);
    if (!field) throw new Error(`the book has no field ${id}`);
    return field;
  };

  const put = (fieldId: number, {job: text, field, add}: JobToKeep): void => {
    const job = readJob(text, JOB);
    const there = filesOf(job).filter((file) => !add.has(file));
    const jobFile = {name: jobSource(fieldId)?.name ?? JOB, bytes: encodeUtf8(text)};
    addJob(book, {job, jobFile, files: add, there, field, fieldId});
  };

  return {
    name,
    list: async () =>
      db.transaction(() =>
        db.all("SELECT id, name, farm, acres, geom FROM fields ORDER BY farm, name").flatMap((row) => shown(row) ?? []),
      ),
    field: async (id) => db.transaction(() => fieldOf(id)),
    addField: async ({job: text, field, add}) => {
      const job = readJob(text, JOB);
      const {farm = ""} = job;
      if (db.all("SELECT 1 FROM fields WHERE farm = ? AND name = ?", [farm, field.name]).length > 0) {
        throw new FieldError("book/field-exists", `There is a field "${field.name}" already.`, {
          hint: "Choose another name, or open that field.",
        });
      }
      const {fieldId} = addJob(book, {
        job,
        jobFile: {name: JOB, bytes: encodeUtf8(text)},
        files: add,
        field,
        isNew: true,
      });
      return mustBe(String(fieldId));
    },
    putJob: async (id, given) => {
      put(Number(id), given);
      return mustBe(id);
    },
    jobAt: async (id, version) => {
      const named = jobSource(Number(id))?.name ?? JOB;
      const [row] = db.all(
        "SELECT sha256 FROM sources WHERE field_id = ? AND kind = 'job' AND name = ? AND version = ?",
        [Number(id), named, version],
      );
      return row && textOf(String(row.sha256));
    },
    keepRun: async (id, run, text, refs) => {
      const before = mustBe(id);
      const job = readJob(text, JOB);
      const jobFile = {name: jobSource(Number(id))?.name ?? JOB, bytes: encodeUtf8(text)};
      // The job may have been changed while this one ran: then the change stays in force.
      const groundStays = before.job !== text;
      const known = {fieldId: Number(id), groundStays};
      const there = refs.map(([file]) => file);
      const given = {job, jobFile, files: new Map(), there, digests: new Map(refs), field: run.field, ...known};
      saveRun(book, run, job, given, VERSION);
      if (groundStays) restoreSource(book, `${before.farm}/${before.name}`, jobFile.name, before.version);
      const kept = mustBe(id).run;
      if (!kept) throw new Error("a run that was just kept is not there");
      return kept;
    },
    keepHandOver: async (id, runId, given) => addHandOver(book, Number(id), runNumber(runId), given),
    keepView: async (runId, view) => keepView(book, runNumber(runId), view),
    cardOf: async (runId, madeBy) => cardOfRun(book, runNumber(runId), madeBy),
    viewOf: async (runId, madeBy) => packedOfRun(book, runNumber(runId), madeBy),
    looks: async (files, madeBy) => files.map(([file, sha256]) => lookOf(book, sha256, file, madeBy)),
    keepLook: async ([file, sha256], madeBy, card) => keepLook(book, sha256, file, madeBy, card),
    fact: async (key) => factOf(book, key),
    noteFact: async (key, value) => noteFact(book, key, value),
    bytes: async (sha256) => bytesOf(book, sha256),
    resultFile: async (runId, file) => {
      const [row] = db.all("SELECT sha256 FROM results WHERE run_id = ? AND name = ?", [runNumber(runId), file]);
      return row && bytesOf(book, String(row.sha256));
    },
    preferences: async () => preferencesOf(book),
    putPreferences: async (preferences) => putPreferences(book, preferences),
    close: async () => book.close(),
  };
}

const runNumber = (runId: string): number => Number(runId.replace(/^run-/, ""));

function outlineOf(geometry: unknown): LonLatMultiPolygon {
  if (!(geometry instanceof Uint8Array)) return [];
  const decoded = decodeBlob(geometry);
  if (decoded === "empty" || "wrong" in decoded) return [];
  return decoded.geometry.type === "MultiPolygon" ? decoded.geometry.coordinates : [];
}
