import {join} from "node:path";
import {fileURLToPath} from "node:url";
import {beforeAll, expect, it} from "vitest";
import {createBook} from "../../src/book/book.ts";
import {listFields} from "../../src/book/fields.ts";
import type {BookHost} from "../../src/book/host.ts";
import {saveRun} from "../../src/book/save-run.ts";
import {nodeBookHost} from "../../src/cli/book-host.ts";
import {keepRun} from "../../src/cli/keep-run.ts";
import {nodeHost} from "../../src/cli/node-host.ts";
import {openJob} from "../../src/cli/open-job.ts";
import {runJob} from "../../src/pipeline/run.ts";
import {fullFiles, fullJob, runIn, scratch, within} from "./small-run.ts";

let host: BookHost;
beforeAll(async () => {
  host = await nodeBookHost();
});

/** Seconds of processor time, whoever else is at work on the machine. */
function cpuSeconds(work: () => void): number {
  const start = process.cpuUsage();
  work();
  const {user, system} = process.cpuUsage(start);
  return (user + system) / 1e6;
}

it("sixty fields with two versions each are listed in under half a second, the book being opened for it", async () => {
  const path = join(scratch(), "farm.gpkg");
  createBook(host, path);
  const {opened, run} = await runIn(scratch(), fullJob(), fullFiles());
  within(host, path, (book) => {
    for (let i = 1; i <= 60; i++) {
      const name = `Field ${i}`;
      const named = {...run, field: {...run.field, name}};
      const job = {...opened.whole, field: {...opened.whole.field, name}};
      for (const seed of [1, 2]) {
        const jobFile = {name: "job.json", bytes: new TextEncoder().encode(JSON.stringify({...job, seed}))};
        saveRun(
          book,
          named,
          {...job, seed},
          {job: {...job, seed}, jobFile, files: opened.files, field: named.field},
          "1",
        );
      }
    }
  });
  let fields = 0;
  const best = Math.min(
    ...[1, 2, 3].map(() =>
      cpuSeconds(() => {
        fields = within(host, path, listFields).length;
      }),
    ),
  );
  console.log(`60 fields listed in ${best.toFixed(2)} s of processor time`);
  expect(fields).toBe(60);
  expect(best).toBeLessThan(0.5);
});

it("keeping a run of the sample field Millrace takes under a second of processor time", async () => {
  const jobPath = fileURLToPath(new URL("../../sample-data/millrace/job.json", import.meta.url));
  const opened = openJob(jobPath);
  const running = nodeHost(true);
  const run = await runJob(opened.job, opened.files, running);
  running.done();
  const times = [1, 2, 3].map(() => {
    const path = join(scratch(), "farm.gpkg");
    createBook(host, path);
    return cpuSeconds(() => within(host, path, (book) => keepRun(book, jobPath, opened, run)));
  });
  console.log(`Millrace kept in ${Math.min(...times).toFixed(2)} s of processor time`);
  expect(Math.min(...times)).toBeLessThan(1);
});
