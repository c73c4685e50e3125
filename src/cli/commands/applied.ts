import {dirname, resolve} from "node:path";
import type {Command} from "commander";
import {appliedFilesOf} from "../../pipeline/files-of.ts";
import {runAsApplied} from "../../pipeline/run-as-applied.ts";
import {asAppliedText} from "../../report/as-applied-text.ts";
import {loadFiles} from "../load-files.ts";
import {withHost} from "../node-host.ts";
import {openJob} from "../open-job.ts";
import {printResult, say, sayIssues} from "../print.ts";
import {writeFolder} from "../write-folder.ts";

interface AppliedOptions {
  readonly out?: string;
  readonly json?: boolean;
  readonly quiet?: boolean;
}

export function addApplied(program: Command): void {
  program
    .command("as-applied")
    .description("what machines logged as put out against what was prescribed: lb, gaps, overlaps, acres off, lag")
    .argument("<job>", 'job file with "asApplied"; the paths in it are relative to it')
    .option("--out <folder>", "folder for as-applied.json, a table of the units and maps: all are written, or none")
    .option("--json", "prints the findings for machines")
    .option("--quiet", "prints no remarks and no progress")
    .action(applied);
}

async function applied(jobPath: string, options: AppliedOptions): Promise<void> {
  const opened = openJob(jobPath);
  const {job} = opened;
  const logs = loadFiles(dirname(resolve(jobPath)), appliedFilesOf(job));
  const files = new Map([...opened.files, ...logs.files]);
  const result = await withHost(Boolean(options.quiet), (host) => runAsApplied(job, files, host));
  const {field, runs, outputs, issues} = result;
  if (options.out !== undefined) writeFolder(options.out, outputs, [...opened.paths, ...logs.paths], "as-applied.json");
  if (!options.quiet) sayIssues(issues);
  if (options.json) {
    const products = runs.map(({product, plan, ticketLb, comparison}) => ({
      product: product?.analysis,
      plan,
      ticketLb,
      ...comparison,
    }));
    return printResult(JSON.stringify({field: field.name, products, issues}, null, 2));
  }
  printResult(asAppliedText(field.name, runs));
  if (options.out !== undefined && !options.quiet) say(`\n${outputs.size} files in ${options.out}.`);
}
