import {existsSync} from "node:fs";
import {dirname, resolve} from "node:path";
import type {Command} from "commander";
import {FieldError} from "../../errors.ts";
import type {Job} from "../../pipeline/job.ts";
import {runZones} from "../../pipeline/run-zones.ts";
import {plainJudgement} from "../../pipeline/zone-outputs.ts";
import {zonesText} from "../../report/zones-text.ts";
import {countColumns} from "../../zones/count-table.ts";
import {loadFiles} from "../load-files.ts";
import {withHost} from "../node-host.ts";
import {type OpenedJob, openJob} from "../open-job.ts";
import {printResult, say, sayIssues} from "../print.ts";
import {writeFolder} from "../write-folder.ts";

interface ZonesOptions {
  readonly out?: string;
  readonly k?: string;
  readonly edits?: string;
  readonly json?: boolean;
  readonly quiet?: boolean;
}

export function addZones(program: Command): void {
  program
    .command("zones")
    .description("management zones: how many, what each is like, and whether they tell anything they were not told")
    .argument("<job>", "job file; the paths in it are relative to it")
    .option("--out <folder>", "folder for zones.geojson, zones.zip and zones.json: all of them are written, or none")
    .option("--k <number>", 'number of zones, or "choose"; overrides the job')
    .option("--edits <file>", "JSON file with changes by hand; overrides those of the job")
    .option("--json", "prints the findings for machines")
    .option("--quiet", "prints no remarks and no progress")
    .action(zones);
}

async function zones(jobPath: string, options: ZonesOptions): Promise<void> {
  const {job, files, paths} = withOptions(openWithLab(jobPath), options);
  const result = await withHost(Boolean(options.quiet), (host) => runZones(job, files, host));
  if (options.out !== undefined) writeFolder(options.out, result.outputs, paths);
  if (!options.quiet) sayIssues(result.issues);
  const {field, zones: made, profile, judgement, layerNames, issues} = result;
  if (options.json) {
    const {choice, edits} = made;
    const verdict = judgement && plainJudgement(judgement);
    printResult(
      JSON.stringify({field: field.name, choice, zones: profile, edits, judgement: verdict, issues}, null, 2),
    );
    return;
  }
  printResult(
    zonesText({
      field: field.name,
      ...(made.choice && {
        choice: {columns: countColumns(made.choice), sentence: made.choice.recommended.sentence},
      }),
      edits: made.edits,
      profile,
      ...(judgement && {judgement}),
      layerNames,
    }),
  );
  if (options.out !== undefined && !options.quiet) say(`\n${result.outputs.size} files in ${options.out}.`);
}

/** The job with its lab results where they are there already: zones are made before there are any. */
function openWithLab(jobPath: string): OpenedJob {
  const before = openJob(jobPath, {upToLab: true});
  const {lab} = before.whole;
  const here = lab?.files.every(({file}) => existsSync(resolve(dirname(jobPath), file)));
  return here ? openJob(jobPath) : before;
}

function withOptions(
  {job, files, paths}: OpenedJob,
  {k, edits}: ZonesOptions,
): Pick<OpenedJob, "job" | "files" | "paths"> {
  const counted: Job = k === undefined ? job : {...job, zones: {...job.zones, count: countOf(k)}};
  if (edits === undefined) return {job: counted, files, paths};
  // The file is named from the current folder, as every path on a command line.
  const read = loadFiles(".", [edits]);
  return {
    job: {...counted, zones: {...counted.zones, edits}},
    files: new Map([...files, ...read.files]),
    paths: [...paths, ...read.paths],
  };
}

function countOf(text: string): number | "choose" {
  if (text === "choose") return text;
  if (/^\d{1,2}$/.test(text) && Number(text) >= 1 && Number(text) <= 12) return Number(text);
  throw new FieldError("zones/count", `"${text}" is not a number of zones.`, {
    hint: 'Write 1 to 12, or "choose", as in --k 4.',
  });
}
