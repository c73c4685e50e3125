import {readFileSync} from "node:fs";
import {basename, dirname, resolve} from "node:path";
import type {Command} from "commander";
import {FieldError, withPlaceAsync} from "../../errors.ts";
import {filesOf} from "../../pipeline/files-of.ts";
import type {Job} from "../../pipeline/job.ts";
import {readJob} from "../../pipeline/read-job.ts";
import {type RunResult, runJob} from "../../pipeline/run.ts";
import {ledgerText} from "../../report/ledger-text.ts";
import {loadFiles} from "../load-files.ts";
import {nodeHost} from "../node-host.ts";
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
  const job = withSeed(readJob(readText(jobPath), jobPath), options.seed);
  const loaded = loadFiles(dirname(resolve(jobPath)), filesOf(job));
  const host = nodeHost(Boolean(options.quiet));
  let result: RunResult;
  try {
    result = await withPlaceAsync({}, () => runJob(job, loaded.files, host));
  } finally {
    host.done();
  }
  writeFolder(options.out, result.outputs, [resolve(jobPath), ...loaded.paths]);
  if (!options.quiet) sayIssues(result.issues);
  if (options.json) {
    printResult(JSON.stringify(result.summary, null, 2));
    return;
  }
  printResult(ledgerText(result.comparison));
  if (!options.quiet) say(`\n${result.outputs.size} files in ${options.out}: ${[...result.outputs.keys()].join(", ")}`);
}

function readText(path: string): string {
  try {
    return readFileSync(path, "utf8");
  } catch (error) {
    throw new FieldError("job/not-found", `The job file ${path} cannot be read: ${(error as {code?: string}).code}.`, {
      hint: `Check the path; ${basename(path)} is looked for from the current folder.`,
    });
  }
}

function withSeed(job: Job, seed: string | undefined): Job {
  if (seed === undefined) return job;
  if (!/^-?\d{1,15}$/.test(seed)) {
    throw new FieldError("job/bad-seed", `"${seed}" is not a whole number.`, {hint: "Write it as in --seed 7."});
  }
  return {...job, seed: Number(seed)};
}
