import {existsSync, readFileSync} from "node:fs";
import {basename, dirname, join, resolve} from "node:path";
import {type Book, withBook} from "../book/book.ts";
import type {BookHost} from "../book/host.ts";
import {type SavedRun, saveRun} from "../book/save-run.ts";
import {addJob, type JobToKeep, type KeptJob} from "../book/sources.ts";
import {keepView, type RunView} from "../book/views.ts";
import type {Field} from "../geo/field.ts";
import {loadGeos} from "../geo/geos.ts";
import {appliedFilesOf} from "../pipeline/files-of.ts";
import {lendTo} from "../pipeline/host.ts";
import {readField} from "../pipeline/read-inputs.ts";
import {readJob} from "../pipeline/read-job.ts";
import {type RunResult, runJob} from "../pipeline/run.ts";
import {VERSION} from "../pipeline/version.ts";
import {madeFrom, packView} from "../server/make-results.ts";
import {loadFiles} from "./load-files.ts";
import {withHost} from "./node-host.ts";
import {type OpenedJob, openJob} from "./open-job.ts";

/** Refuses before hours of work what would be refused after them: a book that is missing, held or damaged. */
export function tryBook(host: BookHost, path: string): void {
  withBook(host, path, () => undefined);
}

/**
 * Keeps a run with its job and files.
 *
 * @param view - What the bench shows of it, so that the bench opens it without a run; see `viewOf`.
 */
export function keepRun(book: Book, jobPath: string, opened: OpenedJob, run: RunResult, view?: RunView): SavedRun {
  const saved = saveRun(book, run, opened.whole, toKeep(jobPath, opened, run.field), VERSION);
  if (view && saved.isNew) keepView(book, saved.runId, view);
  return saved;
}

/** What the bench shows of a run. */
export async function viewOf({job, files}: OpenedJob, run: RunResult): Promise<RunView> {
  return packView(await madeFrom(job, run, files));
}

/** Puts a job and its files into a book without running it; only the boundary is read. */
export async function importJob(host: BookHost, bookPath: string, jobPath: string): Promise<KeptJob & {field: string}> {
  const opened = openJob(jobPath);
  await loadGeos();
  const field = await withHost(true, (reading) => readField(opened.job, lendTo(opened.files, reading), []));
  const kept = withBook(host, bookPath, (book) => addJob(book, toKeep(jobPath, opened, field)));
  return {...kept, field: field.name};
}

/** Runs a job and keeps the run. */
export async function runIntoBook(
  host: BookHost,
  bookPath: string,
  jobPath: string,
  quiet: boolean,
): Promise<SavedRun & {field: string}> {
  const opened = openJob(jobPath);
  const run = await withHost(quiet, (running) => runJob(opened.job, opened.files, running));
  const view = await viewOf(opened, run);
  const saved = withBook(host, bookPath, (book) => keepRun(book, jobPath, opened, run, view));
  return {...saved, field: run.field.name};
}

/**
 * The job as its file has it: what the command line overrode is no part of it. Logs of the spreading that it names are
 * kept too, those that are there yet.
 */
export function toKeep(jobPath: string, {files}: OpenedJob, field: Field): JobToKeep {
  const bytes = new Uint8Array(readFileSync(jobPath));
  const job = readJob(new TextDecoder().decode(bytes), jobPath);
  const folder = dirname(resolve(jobPath));
  const spread = appliedFilesOf(job).filter((name) => existsSync(join(folder, name)));
  const all = new Map([...files, ...loadFiles(folder, spread).files]);
  return {job, jobFile: {name: basename(jobPath), bytes}, files: all, field};
}
