import {resolve} from "node:path";
import type {Command} from "commander";
import {backUp} from "../../book/back-up.ts";
import {createBook, withBook} from "../../book/book.ts";
import {findField, listFields} from "../../book/fields.ts";
import {fieldHistory, restoreSource, restoreVersion} from "../../book/history.ts";
import {readLog} from "../../book/log.ts";
import {addNote, notesOf} from "../../book/notes.ts";
import {prune} from "../../book/prune.ts";
import {takeOut} from "../../book/take-out.ts";
import {type Check, verifyBook} from "../../book/verify.ts";
import {FieldError, isFieldError} from "../../errors.ts";
import {nodeBookHost} from "../book-host.ts";
import {checksText, fieldsText, historyText} from "../book-text.ts";
import {EXIT} from "../exit-codes.ts";
import {findJobs} from "../find-jobs.ts";
import {importJob, runIntoBook} from "../keep-run.ts";
import {printResult, say, sayFailure} from "../print.ts";
import {renameInBook} from "../rename-field.ts";
import {writeTree} from "../write-tree.ts";

interface Options {
  readonly by?: string;
  readonly json?: boolean;
  readonly quiet?: boolean;
  readonly run?: boolean;
  readonly versions?: boolean;
  readonly source?: string;
  readonly results?: string;
  readonly out?: string;
  readonly keep?: string;
}

export function addBook(program: Command): void {
  const book = program
    .command("book")
    .description("a farm's records in one file: put in, look up, take out, go back, prove, back up")
    .helpCommand(false);
  const command = (name: string, says: string): Command =>
    book
      .command(name)
      .description(says)
      .argument("<book>", "the book, a GeoPackage")
      .option("--by <name>", "who is at work, for the log; default: the user of the system");

  command("create", "an empty book").action(create);
  command("import", "puts jobs and all they read into the book")
    .argument("<jobs...>", "job files, or folders with jobs in them")
    .option("--run", "also runs each job and keeps the results")
    .option("--quiet", "prints no progress")
    .action(importJobs);
  command("list", "the fields, what is in force and what is stale")
    .argument("[field]", 'only this field, as in "Millrace" or "Sedgewater Farm/Millrace"')
    .option("--versions", "every version of results and files, with notes and seasons")
    .option("--json", "prints the list for machines")
    .action(list);
  command("export", "files and results of a field, byte for byte as they were put in")
    .argument("<field>", "the field")
    .requiredOption("--out <folder>", "a new folder")
    .option("--results <version>", "version of the results; default: the one in force")
    .action(exportField);
  command("restore", "puts an earlier version in force again; later ones stay")
    .argument("<field>", "the field")
    .argument("<version>", "number of the version, from list --versions")
    .option("--source <file>", "a version of this file instead of the results")
    .action(restore);
  command("rename", "gives a field another name; files and results written before keep the name they have")
    .argument("<field>", "the field")
    .argument("<name>", 'its new name, as in "Mill Field" or "Another Farm/Mill Field"')
    .action(rename);
  command("note", "writes something down about a field")
    .argument("<field>", "the field")
    .argument("<text>", "the note")
    .action(note);
  command("log", "who did what, from the beginning").option("--json", "prints it for machines").action(log);
  command("verify", "looks the whole book over: structure, digests, log, GeoPackage rules")
    .option("--json", "prints the findings for machines")
    .action(verify);
  command("backup", "a copy as it stands, looked over")
    .argument("<copy>", "the new file; an existing one is never replaced")
    .action(backup);
  command("prune", "takes out results of old versions; files put in are never taken out")
    .argument("[field]", "only this field")
    .option("--keep <number>", "versions of each field to keep besides the one in force", "3")
    .action(pruneBook);
}

async function create(path: string, options: Options): Promise<void> {
  createBook(await nodeBookHost({who: options.by}), path);
  say(`An empty book is in ${path}.`);
}

/** Each job by itself: one that is refused does not keep the others out. */
async function importJobs(path: string, sources: string[], options: Options): Promise<void> {
  const host = await nodeBookHost({who: options.by});
  withBook(host, path, () => undefined);
  let failed = 0;
  const jobs = sources.flatMap(findJobs);
  for (const job of jobs) {
    try {
      if (options.run) {
        const {field, version, isNew} = await runIntoBook(host, path, job, Boolean(options.quiet));
        printResult(`${field}: version ${version}${isNew ? "" : ", as it was"} (${job})`);
      } else {
        const {field, changed} = await importJob(host, path, job);
        const names = changed.map(({name, version}) => (version > 1 ? `${name} (version ${version})` : name));
        printResult(`${field}: ${names.length === 0 ? "nothing new" : names.join(", ")} (${job})`);
      }
    } catch (error) {
      if (!isFieldError(error) || jobs.length === 1) throw error;
      failed += 1;
      say(`${job}:`);
      sayFailure(error);
    }
  }
  if (failed > 0) {
    say(`${failed} of ${jobs.length} jobs were not taken; the others are in the book.`);
    process.exitCode = EXIT.input;
  }
}

async function list(path: string, field: string | undefined, options: Options): Promise<void> {
  const host = await nodeBookHost({who: options.by});
  withBook(host, path, (book) => {
    const only = field === undefined ? undefined : findField(book, field);
    const fields = listFields(book).filter(({id}) => only === undefined || id === only.id);
    if (!options.versions && !only) {
      printResult(options.json ? JSON.stringify(fields, null, 2) : fieldsText(fields));
      return;
    }
    const histories = fields.map((one) => ({...fieldHistory(book, one), notes: notesOf(book, one)}));
    if (options.json) printResult(JSON.stringify(histories, null, 2));
    else printResult(histories.map((one) => [historyText(one), ...notesLines(one.notes)].join("\n")).join("\n\n"));
  });
}

async function exportField(path: string, name: string, options: Options): Promise<void> {
  const host = await nodeBookHost({who: options.by});
  const version = options.results === undefined ? undefined : wholeNumber(options.results, "--results");
  const out = options.out as string;
  const {files, job} = withBook(host, path, (book) => takeOut(book, findField(book, name), version));
  writeTree(out, files);
  say(`${files.size} files in ${out}${job ? `; the job is ${job}` : ""}.`);
}

async function restore(path: string, field: string, version: string, options: Options): Promise<void> {
  const host = await nodeBookHost({who: options.by});
  const number = wholeNumber(version, "version");
  withBook(host, path, (book) => {
    if (options.source === undefined) restoreVersion(book, field, number);
    else restoreSource(book, field, options.source, number);
  });
  say(`Version ${number} of ${options.source ?? `the results of ${field}`} is in force.`);
}

async function rename(path: string, field: string, name: string, options: Options): Promise<void> {
  const host = await nodeBookHost({who: options.by});
  const {farm, now, job} = withBook(host, path, (book) => renameInBook(book, field, name));
  say(`${field} is "${now}"${farm === "" ? "" : ` of "${farm}"`} now.`);
  if (job) say(`A job file outside the book still has the old name: write the new one into it before it is run again.`);
}

async function note(path: string, field: string, text: string, options: Options): Promise<void> {
  const host = await nodeBookHost({who: options.by});
  withBook(host, path, (book) => addNote(book, findField(book, field), text));
}

async function log(path: string, options: Options): Promise<void> {
  const host = await nodeBookHost({who: options.by});
  const entries = withBook(host, path, ({db}) => readLog(db));
  const lines = entries.map(({at, who, what, field, detail}) =>
    [at, who, field === undefined ? what : `${what}: ${field}`, JSON.stringify(detail)].join("  "),
  );
  printResult(options.json ? JSON.stringify(entries, null, 2) : lines.join("\n"));
}

async function verify(path: string, options: Options): Promise<void> {
  const host = await nodeBookHost({who: options.by});
  tell(withBook(host, path, verifyBook), options);
}

async function backup(path: string, copy: string, options: Options): Promise<void> {
  const host = await nodeBookHost({who: options.by});
  tell(
    withBook(host, path, (book) => backUp(book, resolve(copy))),
    options,
  );
  say(`A copy is in ${copy}.`);
}

async function pruneBook(path: string, field: string | undefined, options: Options): Promise<void> {
  const host = await nodeBookHost({who: options.by});
  const keep = wholeNumber(options.keep ?? "3", "--keep");
  const {versions, files, bytes} = withBook(host, path, (book) =>
    prune(book, field === undefined ? listFields(book) : [findField(book, field)], keep),
  );
  for (const {field: name, version} of versions) printResult(`${name}: version ${version}`);
  say(`${versions.length} versions taken out: ${files} files, ${(bytes / 1e6).toFixed(1)} MB.`);
}

/** Findings, and an exit code that says whether all is well. */
function tell(checks: readonly Check[], options: Options): void {
  printResult(options.json ? JSON.stringify(checks, null, 2) : checksText(checks));
  if (checks.some(({faults}) => faults.length > 0)) process.exitCode = EXIT.input;
}

function notesLines(notes: ReturnType<typeof notesOf>): string[] {
  if (notes.length === 0) return [];
  return ["", "Notes", ...notes.map((one) => `    ${one.writtenAt.slice(0, 10)} ${one.writtenBy}: ${one.text}`)];
}

function wholeNumber(text: string, what: string): number {
  if (/^\d{1,9}$/.test(text)) return Number(text);
  throw new FieldError("book/not-a-number", `"${text}" is no whole number.`, {hint: `Write ${what} as in 2.`});
}
