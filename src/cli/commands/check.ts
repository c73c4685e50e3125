import {basename, dirname, resolve} from "node:path";
import type {Command} from "commander";
import {isFieldError} from "../../errors.ts";
import {inspectFile} from "../../pipeline/inspect-file.ts";
import {EXIT} from "../exit-codes.ts";
import {loadFiles} from "../load-files.ts";
import {printResult, sayFailure} from "../print.ts";

export function addCheck(program: Command): void {
  program
    .command("check")
    .description("what a file holds, ours or anyone's, and whether a rate file would spread as meant")
    .argument("<files...>", "boundary, yield log, soil map, elevation, lab report, job, plan or rates")
    .option("--json", "prints the findings for machines")
    .option("--crs <name>", 'coordinate system of a file that does not say, as in "EPSG:26916"')
    .action(check);
}

async function check(paths: string[], options: {json?: boolean; crs?: string}): Promise<void> {
  const findings: unknown[] = [];
  let failed = false;
  for (const path of paths) {
    try {
      const name = basename(path);
      const {files} = loadFiles(dirname(resolve(path)), [name]);
      const found = await inspectFile(files, name, options.crs);
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
