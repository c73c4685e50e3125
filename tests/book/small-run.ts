import {mkdtempSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll} from "vitest";
import {type Book, openBook} from "../../src/book/book.ts";
import type {BookHost} from "../../src/book/host.ts";
import {nodeHost} from "../../src/cli/node-host.ts";
import {type OpenedJob, openJob} from "../../src/cli/open-job.ts";
import {type RunResult, runJob} from "../../src/pipeline/run.ts";
import {
  type Files,
  type LooseJob,
  labCsv,
  layOut,
  polygonJson,
  RING,
  smallJob,
  YIELD,
  yieldCsv,
} from "../hosts/small-job.ts";

// A field of five acres with yield, zones, lab results and rates, run whole.

export interface SmallRun {
  readonly path: string;
  readonly opened: OpenedJob;
  readonly run: RunResult;
}

const made: string[] = [];
afterAll(() => {
  for (const folder of made) rmSync(folder, {recursive: true, force: true});
});

/** A new folder, gone after the tests of the file. */
export function scratch(): string {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-book-"));
  made.push(folder);
  return folder;
}

export function fullJob(change: (job: LooseJob) => void = () => {}): LooseJob {
  const job = {
    ...smallJob(),
    farm: "Sedge Bottom",
    strategies: ["whole-field", "grid", "zone"],
    layers: {cellSize: "10 m", yield: [YIELD]},
    zones: {count: 2},
  };
  job.rates = {...job.rates, missing: "zero"};
  change(job);
  return job;
}

export function fullFiles(lab = labCsv(["WPW01", "WPG01", "WPG02", "WPZ01", "WPZ02"])): Files {
  return {"boundary.geojson": polygonJson([RING]), "yield.csv": yieldCsv(), "lab.csv": lab};
}

export async function runIn(folder: string, job: LooseJob, files: Files): Promise<SmallRun> {
  const path = layOut(folder, job, files);
  const opened = openJob(path);
  const host = nodeHost(true);
  try {
    return {path, opened, run: await runJob(opened.job, opened.files, host)};
  } finally {
    host.done();
  }
}

/** Opens a book, works with it and closes it, also when the work fails. */
export function within<T>(host: BookHost, path: string, work: (book: Book) => T): T {
  const book = openBook(host, path);
  try {
    return work(book);
  } finally {
    book.close();
  }
}
