import {existsSync, readdirSync, statSync} from "node:fs";
import {basename, dirname, join, resolve} from "node:path";
import type {Command} from "commander";
import {isFieldError} from "../../errors.ts";
import type {FileSet} from "../../formats/file-set.ts";
import {inspectFile} from "../../pipeline/inspect-file.ts";
import {EXIT} from "../exit-codes.ts";
import {loadFiles} from "../load-files.ts";
import {printResult, sayFailure} from "../print.ts";
import {nodeSqlite} from "../sqlite-host.ts";

interface CheckOptions {
  readonly json?: boolean;
  readonly crs?: string;
  readonly field?: string;
  readonly rate?: string;
}

export function addCheck(program: Command): void {
  program
    .command("check")
    .description("what a file holds, ours or anyone's, and whether a rate file would spread as meant")
    .argument(
      "<files...>",
      "boundary, yield log, soil map, elevation, lab report, job, plan or rates; or a TASKDATA folder",
    )
    .option("--json", "prints the findings for machines")
    .option("--crs <name>", 'coordinate system of a file that does not say, as in "EPSG:26916"')
    .option("--field <boundary>", "boundary file that rate files are compared with")
    .option("--rate <column>", "the rate column, where its heading does not say that it is one")
    .action(check);
}

async function check(paths: string[], options: CheckOptions): Promise<void> {
  const findings: unknown[] = [];
  let failed = false;
  for (const path of paths) {
    try {
      const {crs, rate} = options;
      const {files, file} = open(path);
      const field = options.field === undefined ? undefined : open(options.field);
      const found = await inspectFile(files, file, {crs, rate, field});
      failed ||= found.issues.some(({severity}) => severity === "error");
      findings.push({file: path, ...found});
      if (!options.json) printResult(`${path}\n${found.lines.map((line) => `  ${line}`).join("\n")}`);
    } catch (error) {
      if (!isFieldError(error)) throw error;
      failed = true;
      findings.push({file: path, error: {code: error.code, message: error.message, hint: error.hint}});
      sayFailure(error);
    }
  }
  if (options.json) printResult(JSON.stringify(findings, null, 2));
  if (failed) process.exitCode = EXIT.input;
}

/** A file with what belongs to it; of a folder, the task data in it. */
function open(path: string): {files: FileSet; file: string} {
  const main = isFolder(path) ? (taskDataIn(path) ?? path) : path;
  const file = basename(main);
  const {files} = loadFiles(dirname(resolve(main)), [file]);
  return {files: Object.assign(new Map(files), {sqlite: nodeSqlite}), file};
}

const isFolder = (path: string): boolean => existsSync(path) && statSync(path).isDirectory();

/** The main document in a folder, or in the folder TASKDATA within it, whatever the case of their letters. */
function taskDataIn(folder: string): string | undefined {
  const find = (within: string, name: RegExp): string | undefined => {
    const entry = readdirSync(within).find((one) => name.test(one));
    return entry === undefined ? undefined : join(within, entry);
  };
  const inner = find(folder, /^taskdata$/i);
  return find(folder, /^taskdata\.xml$/i) ?? (inner && isFolder(inner) ? find(inner, /^taskdata\.xml$/i) : undefined);
}
