import type {Command} from "commander";
import {withBook} from "../../book/book.ts";
import {runJob} from "../../pipeline/run.ts";
import {ledgerText} from "../../report/ledger-text.ts";
import {nodeBookHost} from "../book-host.ts";
import {keepRun, tryBook, viewOf} from "../keep-run.ts";
import {withHost} from "../node-host.ts";
import {openJob} from "../open-job.ts";
import {printResult, say, sayIssues} from "../print.ts";
import {writeFolder} from "../write-folder.ts";

interface RunOptions {
  readonly out: string;
  readonly book?: string;
  readonly seed?: string;
  readonly json?: boolean;
  readonly quiet?: boolean;
}

export function addRun(program: Command): void {
  program
    .command("run")
    .description("one field from raw files to prescriptions for each strategy and a ledger that compares them")
    .argument("<job>", "job file; the paths in it are relative to it")
    .requiredOption("--out <folder>", "folder for the results: all of them are written, or none")
    .option("--book <file>", "also keeps job, files and results in this book, as a new version")
    .option("--seed <number>", "overrides the job's seed")
    .option("--json", "prints a summary for machines instead of the ledger")
    .option("--quiet", "prints no remarks and no progress")
    .action(run);
}

async function run(jobPath: string, options: RunOptions): Promise<void> {
  const opened = openJob(jobPath, {seed: options.seed});
  const {job, files, paths} = opened;
  const keeper = options.book === undefined ? undefined : await nodeBookHost();
  if (keeper) tryBook(keeper, options.book as string);
  const result = await withHost(Boolean(options.quiet), (host) => runJob(job, files, host));
  writeFolder(options.out, result.outputs, paths);
  if (keeper) {
    const view = await viewOf(opened, result);
    const saved = withBook(keeper, options.book as string, (book) => keepRun(book, jobPath, opened, result, view));
    if (!options.quiet) say(`version ${saved.version}${saved.isNew ? "" : ", as it was,"} in ${options.book}`);
  }
  if (!options.quiet) sayIssues(result.issues);
  if (options.json) {
    printResult(JSON.stringify(result.summary, null, 2));
    return;
  }
  printResult(ledgerText(result.comparison));
  if (!options.quiet) say(`\n${result.outputs.size} files in ${options.out}: ${[...result.outputs.keys()].join(", ")}`);
}
