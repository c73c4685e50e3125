import type {Command} from "commander";
import {FieldError} from "../../errors.ts";
import {reportOf} from "../../pipeline/make-report.ts";
import {runJob} from "../../pipeline/run.ts";
import {inputsOf, type Paper, reportFiles} from "../../pipeline/write-reports.ts";
import {withHost} from "../node-host.ts";
import {openJob} from "../open-job.ts";
import {say, sayIssues} from "../print.ts";
import {writeFolder} from "../write-folder.ts";

interface ReportOptions {
  readonly out: string;
  readonly paper: string;
  readonly date?: string;
  readonly seed?: string;
  readonly quiet?: boolean;
}

export function addReport(program: Command): void {
  program
    .command("report")
    .description("the field report for the grower and the full record, as pages to print, with every table as CSV")
    .argument("<job>", "job file; the paths in it are relative to it")
    .requiredOption("--out <folder>", "folder for the pages and tables: all of them are written, or none")
    .option("--paper <size>", "letter or a4", "letter")
    .option("--date <text>", "day to print on the pages; none by default, so that the same job gives the same bytes")
    .option("--seed <number>", "overrides the job's seed")
    .option("--quiet", "prints no remarks and no progress")
    .action(report);
}

async function report(jobPath: string, options: ReportOptions): Promise<void> {
  const paper = paperOf(options.paper);
  const {job, files, paths} = openJob(jobPath, {seed: options.seed});
  const {run, model} = await withHost(Boolean(options.quiet), async (host) => {
    const made = await runJob(job, files, host, {evidence: true});
    return {run: made, model: reportOf(job, made, await inputsOf(files, host.sha256), options.date)};
  });
  const outputs = reportFiles(model, paper);
  writeFolder(options.out, outputs, paths);
  if (options.quiet) return;
  sayIssues(run.issues);
  say(`\n${outputs.size} files in ${options.out}: field-report.html and record.html are for printing.`);
}

function paperOf(text: string): Paper {
  const paper = text.toLowerCase();
  if (paper === "letter" || paper === "a4") return paper;
  throw new FieldError("report/paper", `"${text}" is not a size of paper known here.`, {hint: "Use letter or a4."});
}
