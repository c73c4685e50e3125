import {bytesOf} from "../book/blobs.ts";
import type {Book} from "../book/book.ts";
import {factOf, noteFact} from "../book/facts.ts";
import {addHandOver} from "../book/hand-overs.ts";
import {restoreSource} from "../book/history.ts";
import {preferencesOf, putPreferences} from "../book/preferences.ts";
import {saveRun} from "../book/save-run.ts";
import {addJob} from "../book/sources.ts";
import {cardOfRun, keepLook, keepView, lookOf, packedOfRun} from "../book/views.ts";
import {FieldError} from "../errors.ts";
import {encodeUtf8} from "../formats/text.ts";
import {filesOf} from "../pipeline/files-of.ts";
import {readJob} from "../pipeline/read-job.ts";
import {VERSION} from "../pipeline/version.ts";
import {fieldsOnShelf} from "./fields-on-shelf.ts";
import type {JobToKeep, Shelf, ShelfField} from "./shelf.ts";

const JOB = "job.json";

/** A book as the server's shelf. Its work is done in the thread it is called in: see `threadShelf`. */
export function bookShelf(book: Book, name: string): Shelf {
  const {db} = book;
  const textOf = (sha256: string): string => new TextDecoder().decode(bytesOf(book, sha256) ?? new Uint8Array(0));

  const jobSource = (fieldId: number): {name: string; version: number} | undefined => {
    const [row] = db.all("SELECT name, version FROM sources WHERE field_id = ? AND kind = 'job' AND current", [
      fieldId,
    ]);
    return row && {name: String(row.name), version: Number(row.version)};
  };

  const fieldOf = (id: string): ShelfField | undefined =>
    /^\d{1,15}$/.test(id) ? db.transaction(() => fieldsOnShelf(book, Number(id)))[0] : undefined;
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
    list: async () => db.transaction(() => fieldsOnShelf(book)),
    field: async (id) => fieldOf(id),
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
