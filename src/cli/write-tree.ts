import {existsSync, mkdirSync, mkdtempSync, readdirSync, renameSync, rmdirSync, rmSync, writeFileSync} from "node:fs";
import {basename, dirname, join, resolve} from "node:path";
import {FieldError} from "../errors.ts";

/**
 * Writes files with folders among them into a new folder, all or none.
 *
 * @throws {FieldError} `out/not-empty` for a folder that holds anything, `out/cannot-write`.
 */
export function writeTree(folder: string, files: ReadonlyMap<string, Uint8Array>): void {
  const target = resolve(folder);
  let staging: string | undefined;
  try {
    if (existsSync(target) && readdirSync(target).length > 0) {
      throw new FieldError("out/not-empty", `${folder} is not empty.`, {hint: "Name a new folder with --out."});
    }
    mkdirSync(dirname(target), {recursive: true});
    staging = mkdtempSync(join(dirname(target), `.${basename(target)}-`));
    for (const [name, bytes] of files) {
      const path = join(staging, "new", name);
      mkdirSync(dirname(path), {recursive: true});
      writeFileSync(path, bytes, {flag: "wx"});
    }
    if (existsSync(target)) rmdirSync(target);
    renameSync(join(staging, "new"), target);
  } catch (error) {
    if ((error as {code?: string}).code === undefined || (error as {name?: string}).name === "FieldError") throw error;
    throw new FieldError("out/cannot-write", `Nothing was written: ${(error as Error).message}.`, {
      hint: "Check that the folder may be written to and that the disk is not full.",
    });
  } finally {
    if (staging) rmSync(staging, {recursive: true, force: true});
  }
}
