import {FieldError, type Issue} from "../../errors.ts";
import type {FileSet} from "../file-set.ts";
import {parseXml, type XmlElement} from "../xml.ts";

/** A folder of task data. */
export interface TaskFolder {
  /** Path of the main document. */
  readonly main: string;
  /** A file of the folder by its name, whatever the case of its letters. */
  readonly get: (name: string) => Uint8Array | undefined;
}

const MAIN = "TASKDATA.XML";
const ROOT = "ISO11783_TaskData";

/**
 * Finds `TASKDATA.XML` in any folder. Names are compared without case, as the media of terminals do.
 *
 * @throws {FieldError} `iso11783/no-task-data`, `iso11783/two-task-data`, `iso11783/same-names`.
 */
export function findTaskData(files: FileSet): TaskFolder {
  const names = [...files.keys()];
  const found = names.filter((name) => fileOf(name).toUpperCase() === MAIN);
  const main = found[0];
  if (main === undefined) {
    throw new FieldError("iso11783/no-task-data", `There is no ${MAIN} among ${describe(names)}.`, {
      hint: "Give the whole TASKDATA folder, or the zip that holds it.",
    });
  }
  if (found.length > 1) {
    throw new FieldError(
      "iso11783/two-task-data",
      `There are ${found.length} sets of task data: ${found.join(", ")}.`,
      {
        hint: "Give one TASKDATA folder at a time.",
      },
    );
  }
  const beside = filesBeside(files, main);
  return {main, get: (name) => beside.get(name.toUpperCase())};
}

/**
 * The main document, with the parts it keeps in files of their own taken in.
 *
 * @throws {FieldError} `iso11783/not-task-data`, and what `parseXml` refuses.
 */
export function parseTaskData({main, get}: TaskFolder, issues: Issue[]): XmlElement {
  const root = parseXml(get(MAIN) as Uint8Array, main);
  if (root.name !== ROOT) {
    throw new FieldError("iso11783/not-task-data", `${main} holds <${root.name.slice(0, 40)}>, not <${ROOT}>.`, {
      place: {file: main},
      hint: "Check that this is the file of the field terminal or the office program.",
    });
  }
  return withExternalParts(root, get, issues);
}

/** Files of the main document's folder by their upper-case names. */
function filesBeside(files: FileSet, main: string): Map<string, Uint8Array> {
  const folder = main.slice(0, main.length - fileOf(main).length).toUpperCase();
  const beside = new Map<string, Uint8Array>();
  for (const [name, bytes] of files) {
    const upper = name.toUpperCase();
    if (!upper.startsWith(folder) || fileOf(name).length !== name.length - folder.length) continue;
    const file = fileOf(upper);
    if (beside.has(file)) {
      throw new FieldError("iso11783/same-names", `Two files are named ${file} but for the case of their letters.`, {
        place: {file: name},
        hint: "Keep the one that belongs to the task data.",
      });
    }
    beside.set(file, bytes);
  }
  return beside;
}

/** The document with `XFR` references replaced by what the files they name hold. */
function withExternalParts(root: XmlElement, get: TaskFolder["get"], issues: Issue[]): XmlElement {
  if (!root.children.some((child) => child.name === "XFR")) return root;
  const children = root.children.flatMap((child) => {
    if (child.name !== "XFR") return [child];
    const name = `${child.attributes.A ?? ""}.XML`;
    const bytes = get(name);
    if (!bytes) {
      issues.push({
        code: "iso11783/missing-file",
        severity: "error",
        message: `${MAIN} refers to ${name}, which is not there.`,
        place: {file: name},
        hint: "Copy the whole TASKDATA folder.",
      });
      return [];
    }
    return parseXml(bytes, name).children;
  });
  return {...root, children};
}

function fileOf(path: string): string {
  return path.slice(Math.max(path.lastIndexOf("/"), path.lastIndexOf("\\")) + 1);
}

function describe(names: readonly string[]): string {
  if (names.length === 0) return "no files";
  return names.length > 3 ? `${names.slice(0, 3).join(", ")} and ${names.length - 3} more` : names.join(", ");
}
