import {dirname, resolve} from "node:path";
import type {Command} from "commander";
import {FieldError} from "../../errors.ts";
import {appliedFilesOf} from "../../pipeline/files-of.ts";
import {runAsApplied} from "../../pipeline/run-as-applied.ts";
import {many} from "../../prescription/count-words.ts";
import {asAppliedText} from "../../report/as-applied-text.ts";
import {formatNumber} from "../../units/format.ts";
import {nodeBookHost} from "../book-host.ts";
import {keepApplied} from "../keep-applied.ts";
import {tryBook} from "../keep-run.ts";
import {loadFiles} from "../load-files.ts";
import {withHost} from "../node-host.ts";
import {openJob} from "../open-job.ts";
import {printResult, say, sayIssues} from "../print.ts";
import {writeFolder} from "../write-folder.ts";

interface AppliedOptions {
  readonly out?: string;
  readonly book?: string;
  readonly on?: string;
  readonly json?: boolean;
  readonly quiet?: boolean;
}

export function addApplied(program: Command): void {
  program
    .command("as-applied")
    .description("what machines logged as put out against what was prescribed: lb, gaps, overlaps, acres off, lag")
    .argument("<job>", 'job file with "asApplied"; the paths in it are relative to it')
    .option("--out <folder>", "folder for as-applied.json, a table of the units and maps: all are written, or none")
    .option("--book <file>", "also keeps the logs and what they say in this book, once")
    .option("--on <day>", "day of the spreading, for the book, as in 2026-04-20")
    .option("--json", "prints the findings for machines")
    .option("--quiet", "prints no remarks and no progress")
    .action(applied);
}

async function applied(jobPath: string, options: AppliedOptions): Promise<void> {
  const opened = openJob(jobPath);
  const {job} = opened;
  const logs = loadFiles(dirname(resolve(jobPath)), appliedFilesOf(job));
  const files = new Map([...opened.files, ...logs.files]);
  const spreadOn = options.on === undefined ? undefined : dayOf(options.on);
  const keeper = options.book === undefined ? undefined : await nodeBookHost();
  if (keeper) tryBook(keeper, options.book as string);
  const result = await withHost(Boolean(options.quiet), (host) => runAsApplied(job, files, host));
  const {field, runs, outputs, issues} = result;
  if (options.out !== undefined) writeFolder(options.out, outputs, [...opened.paths, ...logs.paths], "as-applied.json");
  if (keeper) {
    const fresh = keepApplied(keeper, options.book as string, jobPath, opened, logs.files, result, spreadOn);
    const rest = runs.length - fresh;
    const there = rest > 0 ? `, ${formatNumber(rest)} there already` : "";
    if (!options.quiet) say(`${many(fresh, "log")} kept in ${options.book}${there}`);
  }
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

function dayOf(text: string): string {
  const day = new Date(`${text}T00:00:00Z`);
  if (/^\d{4}-\d\d-\d\d$/.test(text) && !Number.isNaN(day.getTime()) && day.toISOString().startsWith(text)) return text;
  throw new FieldError("as-applied/day", `"${text}" is no day.`, {
    hint: "Write year, month and day, as in --on 2026-04-20.",
  });
}
