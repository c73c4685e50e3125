import {readdirSync, readFileSync, statSync} from "node:fs";
import {basename, dirname, join, resolve} from "node:path";
import {FieldError} from "../errors.ts";
import {nearestName} from "../units/nearest-name.ts";

/** Members that belong to a `.shp`, whatever the case of their names. */
const BESIDE_SHP = ["shp", "shx", "dbf", "prj", "cpg"];

/** What may belong to task data of ISO 11783-10: grids, logs and external parts. */
const TASK_PART = /^[A-Z]{3}[0-9]{5}\.(xml|bin)$/i;

const MOST_BYTES = 2 ** 30;

export interface Loaded {
  /** Bytes under the names the job uses, plus the other members of loose shapefiles and task data. */
  readonly files: ReadonlyMap<string, Uint8Array>;
  /** Absolute paths of everything read. */
  readonly paths: readonly string[];
}

/**
 * Reads the named files from a folder.
 *
 * @throws {FieldError} `file/not-found` with the nearest name in the folder, `file/too-large`, `file/not-readable`.
 */
export function loadFiles(folder: string, names: readonly string[]): Loaded {
  const files = new Map<string, Uint8Array>();
  const paths: string[] = [];
  for (const name of new Set(names)) {
    for (const member of membersOf(folder, name)) {
      const path = resolve(folder, member);
      files.set(member, readOne(path, member));
      paths.push(path);
    }
  }
  return {files, paths};
}

function membersOf(folder: string, name: string): string[] {
  const file = basename(name);
  if (/^taskdata\.xml$/i.test(file)) {
    const path = name.slice(0, name.length - file.length);
    const parts = list(resolve(folder, dirname(name))).filter((entry) => TASK_PART.test(entry) && entry !== file);
    return [name, ...parts.map((entry) => path + entry)];
  }
  const stem = /^(.*)\.shp$/i.exec(file)?.[1];
  if (stem === undefined) return [name];
  const wanted = BESIDE_SHP.map((ending) => `${stem}.${ending}`.toLowerCase());
  const beside = list(resolve(folder, dirname(name))).filter((entry) => wanted.includes(entry.toLowerCase()));
  const path = name.slice(0, name.length - file.length);
  return beside.includes(file) ? beside.map((entry) => path + entry) : [name];
}

function readOne(path: string, name: string): Uint8Array {
  try {
    const {size} = statSync(path);
    if (size > MOST_BYTES) {
      throw new FieldError("file/too-large", `${name} has ${Math.round(size / 2 ** 20)} MB; the limit is 1,024 MB.`, {
        place: {file: name},
        hint: "Cut the file to the field.",
      });
    }
    return new Uint8Array(readFileSync(path));
  } catch (error) {
    const {code} = error as {code?: string};
    if (code === "ENOENT") {
      const near = nearestName(basename(name), list(dirname(path)));
      throw new FieldError("file/not-found", `There is no file ${name}.`, {
        place: {file: name},
        hint: near ? `Did you mean ${join(dirname(name), near)}?` : "Paths in a job are relative to the job file.",
      });
    }
    if (code === "EISDIR") {
      throw new FieldError("file/not-readable", `${name} is a folder, not a file.`, {
        place: {file: name},
        hint: "Name the file in it.",
      });
    }
    if (code === "EACCES" || code === "EPERM") {
      throw new FieldError("file/not-readable", `${name} cannot be read (${code}).`, {place: {file: name}});
    }
    throw error;
  }
}

function list(folder: string): string[] {
  try {
    return readdirSync(folder).sort();
  } catch {
    return [];
  }
}
