import type {Command} from "commander";
import {withPlaceAsync} from "../../errors.ts";
import {type RunResult, runJob} from "../../pipeline/run.ts";
import {ledgerText} from "../../report/ledger-text.ts";
import {nodeHost} from "../node-host.ts";
import {openJob} from "../open-job.ts";
import {printResult, say, sayIssues} from "../print.ts";
import {writeFolder} from "../write-folder.ts";

interface RunOptions {
  readonly out: string;
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
    .option("--seed <number>", "overrides the job's seed")
    .option("--json", "prints a summary for machines instead of the ledger")
    .option("--quiet", "prints no remarks and no progress")
    .action(run);
}

async function run(jobPath: string, options: RunOptions): Promise<void> {
  const {job, files, paths} = openJob(jobPath, {seed: options.seed});
  const host = nodeHost(Boolean(options.quiet));
  let result: RunResult;
  try {
    result = await withPlaceAsync({}, () => runJob(job, files, host));
  } finally {
    host.done();
  }
  writeFolder(options.out, result.outputs, paths);
  if (!options.quiet) sayIssues(result.issues);
  if (options.json) {
    printResult(JSON.stringify(result.summary, null, 2));
    return;
  }
  printResult(ledgerText(result.comparison));
  if (!options.quiet) say(`\n${result.outputs.size} files in ${options.out}: ${[...result.outputs.keys()].join(", ")}`);
}
