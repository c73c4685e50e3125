import {createHash} from "node:crypto";
import {mkdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {writeTable} from "../../src/formats/write-table.ts";
import {filesOf} from "../../src/pipeline/files-of.ts";
import {resultsByPlan} from "../../src/pipeline/make-rates.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {readLabFiles} from "../../src/pipeline/read-lab-files.ts";
import {runJob} from "../../src/pipeline/run.ts";
import {growerReportHtml} from "../../src/report/grower-report.ts";
import {ledgerText} from "../../src/report/ledger-text.ts";
import {recordHtml} from "../../src/report/record-report.ts";
import {reportTables} from "../../src/report/record-tables.ts";
import {tableCsvRows, tablesJson} from "../../src/report/report-table.ts";
import {modelOfRun} from "../report/model-of-run.ts";

// Both reports of a sample field on both papers, with every table: npx tsx tests/bench/write-reports.ts millrace OUT

const [, , id = "millrace", out = "out/reports"] = process.argv;
const folder = new URL(`../../sample-data/${id}/`, import.meta.url).pathname;
const job = readJob(readFileSync(`${folder}job.json`, "utf8"), "job.json");
const files = new Map(filesOf(job).map((name) => [name, new Uint8Array(readFileSync(folder + name))]));
const sha256 = async (bytes: Uint8Array) => createHash("sha256").update(bytes).digest("hex");
const host = {sha256, progress: () => {}, pause: async () => {}, isCancelled: () => false};
const run = await runJob(job, files, host);
const plans = run.strategies.map(({plan}) => plan);
const {byPlan, sentences} = resultsByPlan(job, plans, await readLabFiles(job, run.field, files, []));
const inputs = await Promise.all(
  [...files].map(async ([name, bytes]) => ({name, bytes: bytes.length, sha256: await sha256(bytes)})),
);
const steps = plans.map(({madeFrom}) => madeFrom);

const started = performance.now();
const model = modelOfRun(job, run, byPlan, {inputs, steps, labSentences: sentences});
console.log(`model: ${(performance.now() - started).toFixed(0)} ms`);
mkdirSync(out, {recursive: true});
for (const paper of ["letter", "a4"] as const) {
  writeFileSync(join(out, `field-report-${paper}.html`), growerReportHtml(model, paper));
  writeFileSync(join(out, `record-${paper}.html`), recordHtml(model, paper));
}
const tables = reportTables(model);
writeFileSync(join(out, "tables.json"), tablesJson(tables));
for (const table of tables) {
  const {header, rows} = tableCsvRows(table);
  writeFileSync(join(out, `${table.id}.csv`), writeTable(header, rows));
}
console.log(ledgerText(model.comparison, 110, {certainty: model.certainty, advice: model.advice}));
