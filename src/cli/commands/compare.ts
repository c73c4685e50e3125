import type {Command} from "commander";
import {runJob} from "../../pipeline/run.ts";
import {ledgerText} from "../../report/ledger-text.ts";
import {withHost} from "../node-host.ts";
import {openJob} from "../open-job.ts";
import {printResult, sayIssues} from "../print.ts";

interface CompareOptions {
  readonly seed?: string;
  readonly json?: boolean;
  readonly quiet?: boolean;
}

export function addCompare(program: Command): void {
  program
    .command("compare")
    .description("the ledger of a job with intervals: how sure the differences are, and whether finer sampling pays")
    .argument("<job>", "job file; the paths in it are relative to it")
    .option("--seed <number>", "overrides the job's seed")
    .option("--json", "prints the comparison and all its evidence for machines")
    .option("--quiet", "prints no remarks and no progress")
    .action(compare);
}

async function compare(jobPath: string, options: CompareOptions): Promise<void> {
  const {job, files} = openJob(jobPath, {seed: options.seed});
  const result = await withHost(Boolean(options.quiet), (host) => runJob(job, files, host, {evidence: true}));
  const {comparison, evidence, issues} = result;
  if (!options.quiet) sayIssues(issues);
  if (options.json) return printResult(JSON.stringify({comparison, ...evidence}, withoutShapes, 2));
  printResult(ledgerText(comparison, 110, {certainty: evidence?.certainty, advice: evidence?.advice}));
}

/** Shapes are for maps; figures are what a machine asks this command for. */
function withoutShapes(key: string, value: unknown): unknown {
  return key === "shape" || key === "pieces" ? undefined : value;
}
