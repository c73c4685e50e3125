import {createHash} from "node:crypto";
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  realpathSync,
  renameSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import {basename, dirname, isAbsolute, join, normalize, resolve} from "node:path";
import {FieldError} from "../errors.ts";

/**
 * Writes all files into a folder, or none. A slash in a name puts the file into a folder within it.
 *
 * Everything is written to a temporary folder beside it first. Files there from an earlier run are set aside, the new
 * ones moved in, and on any failure the old ones put back. Files that are not ours are never touched: a stale output
 * goes only when the earlier run's record lists it and its bytes are still as recorded.
 *
 * @param record - Name of the record among the files; commands whose records have other names leave each other's
 *   outputs alone.
 * @throws {FieldError} `out/not-a-folder`, `out/is-an-input`, `out/cannot-write`.
 */
export function writeFolder(
  folder: string,
  files: ReadonlyMap<string, Uint8Array>,
  inputs: readonly string[],
  record = "run.json",
): void {
  const target = real(resolve(folder));
  if (existsSync(target) && !statSync(target).isDirectory()) {
    throw new FieldError("out/not-a-folder", `${folder} is a file, not a folder.`, {
      hint: "Name another folder with --out.",
    });
  }
  const taken = new Set(inputs.map((input) => real(resolve(input))));
  for (const name of files.keys()) {
    if (isFolder(join(target, name))) {
      throw new FieldError("out/cannot-write", `${folder} has a folder where the file ${name} should go.`, {
        hint: "Name another folder with --out.",
      });
    }
    const between = foldersOf(name).find(
      (folder) => existsSync(join(target, folder)) && !isFolder(join(target, folder)),
    );
    if (between !== undefined) {
      throw new FieldError("out/cannot-write", `${folder} has a file ${between} where a folder should go.`, {
        hint: "Name another folder with --out.",
      });
    }
    if (taken.has(join(target, name))) {
      throw new FieldError("out/is-an-input", `Writing ${name} to ${folder} would overwrite an input of the job.`, {
        hint: "Name another folder with --out.",
      });
    }
  }
  let staging: string | undefined;
  try {
    mkdirSync(dirname(target), {recursive: true});
    staging = mkdtempSync(join(dirname(target), `.${basename(target)}-`));
    mkdirSync(join(staging, "new"));
    mkdirSync(join(staging, "old"));
    for (const [name, bytes] of files) writeFileSync(withFolder(join(staging, "new", name)), bytes);
    const stale = staleOutputs(target, files, record).filter((name) => !taken.has(join(target, name)));
    moveIn(staging, target, [...files.keys()], stale);
  } catch (error) {
    if ((error as {code?: string}).code === undefined) throw error;
    throw new FieldError("out/cannot-write", `Nothing was written: ${(error as Error).message}.`, {
      hint: "Check that the folder may be written to and that the disk is not full.",
    });
  } finally {
    if (staging) rmSync(staging, {recursive: true, force: true});
  }
}

/** The path behind links, so that an input is known by whatever name it goes. */
const real = (path: string): string => (existsSync(path) ? realpathSync(path) : path);

/** "a/b" and "a" of "a/b/file". */
function foldersOf(name: string): string[] {
  const above = dirname(name);
  return above === "." ? [] : [above, ...foldersOf(above)];
}

/** The path, its folder made. */
function withFolder(path: string): string {
  mkdirSync(dirname(path), {recursive: true});
  return path;
}

/** Names a record may hold: nothing that leads out of its folder. */
const isWithin = (name: string): boolean =>
  normalize(name) === name && !isAbsolute(name) && !name.split(/[\\/]/).includes("..");

const isFolder = (path: string): boolean => existsSync(path) && statSync(path).isDirectory();

/** Outputs of the run before that this one does not make. */
function staleOutputs(target: string, files: ReadonlyMap<string, Uint8Array>, recordName: string): string[] {
  try {
    const record = JSON.parse(readFileSync(join(target, recordName), "utf8")) as {
      outputs?: Record<string, {sha256?: string}>;
    };
    return Object.entries(record.outputs ?? {})
      .filter(([name, {sha256}]) => {
        if (files.has(name) || !isWithin(name)) return false;
        const path = join(target, name);
        return existsSync(path) && createHash("sha256").update(readFileSync(path)).digest("hex") === sha256;
      })
      .map(([name]) => name);
  } catch {
    return [];
  }
}

function moveIn(staging: string, target: string, names: readonly string[], stale: readonly string[]): void {
  if (!existsSync(target)) {
    renameSync(join(staging, "new"), target);
    return;
  }
  const aside: string[] = [];
  const placed: string[] = [];
  try {
    for (const name of [...names, ...stale]) {
      if (!existsSync(join(target, name))) continue;
      renameSync(join(target, name), withFolder(join(staging, "old", name)));
      aside.push(name);
    }
    for (const name of names) {
      renameSync(join(staging, "new", name), withFolder(join(target, name)));
      placed.push(name);
    }
  } catch (error) {
    for (const name of placed) rmSync(join(target, name), {force: true});
    for (const name of aside) renameSync(join(staging, "old", name), join(target, name));
    throw error;
  }
}
