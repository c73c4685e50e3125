import {createHash} from "node:crypto";
import {mkdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {filesOf} from "../../src/pipeline/files-of.ts";
import {reportOf} from "../../src/pipeline/make-report.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {runJob} from "../../src/pipeline/run.ts";
import {inputsOf, reportFiles} from "../../src/pipeline/write-reports.ts";

// Both reports of a sample field on both papers, for looking at: npx tsx tests/bench/write-reports.ts millrace OUT

const [, , id = "millrace", out = "out/reports"] = process.argv;
const folder = new URL(`../../sample-data/${id}/`, import.meta.url).pathname;
const job = readJob(readFileSync(`${folder}job.json`, "utf8"), "job.json");
const files = new Map(filesOf(job).map((name) => [name, new Uint8Array(readFileSync(folder + name))]));
const sha256 = async (bytes: Uint8Array) => createHash("sha256").update(bytes).digest("hex");
const run = await runJob(
  job,
  files,
  {sha256, progress: () => {}, pause: async () => {}, isCancelled: () => false},
  {evidence: true},
);
const model = reportOf(job, run, await inputsOf(files, sha256), undefined);
for (const paper of ["letter", "a4"] as const) {
  mkdirSync(join(out, paper), {recursive: true});
  for (const [name, bytes] of reportFiles(model, paper)) writeFileSync(join(out, paper, name), bytes);
}
