import {FieldError} from "../errors.ts";
import type {AttachAs} from "./api-types.ts";

type Plain = Readonly<Record<string, unknown>>;

/** Where in a job a source goes: a list to which it is added, or a place it takes. */
const PLACES: Readonly<Record<AttachAs, {readonly path: readonly string[]; readonly list: boolean}>> = {
  yield: {path: ["layers", "yield"], list: true},
  "soil map": {path: ["layers", "soilMap"], list: false},
  elevation: {path: ["layers", "elevation"], list: false},
  raster: {path: ["layers", "rasters"], list: true},
  points: {path: ["layers", "points"], list: true},
  lab: {path: ["lab", "files"], list: true},
  "keep-out": {path: ["sampling", "keepOuts"], list: true},
  setback: {path: ["setbacks"], list: true},
  zones: {path: ["zones", "import"], list: false},
  boundary: {path: ["field", "boundary"], list: false},
};

/**
 * The job with a source in the place for what it is to be. The same file again in the same list takes the place it has.
 *
 * Only puts it there: whether the settings will do is for `readJob` to say.
 *
 * @param settings - Beside the file, what the job's own section takes.
 * @param asked - Of several keep-outs or setbacks the one whose place it takes.
 * @throws {FieldError} `attach/no-such-place` when the list is shorter.
 */
export function attached(job: Plain, file: string, as: AttachAs, settings: Plain, asked?: number): Plain {
  const {path, list} = PLACES[as];
  const {file: _, ...others} = settings;
  const entry = {file, ...others};
  return changedAt(job, path, (before) => {
    if (!list) return entry;
    const entries = Array.isArray(before) ? (before as readonly Plain[]) : [];
    if (asked !== undefined && asked >= entries.length) throw noSuchPlace(as, asked, entries.length);
    // Setbacks and keep-outs of several kinds may lie in one file.
    const several = as === "setback" || as === "keep-out";
    const at = several ? (asked ?? -1) : entries.findIndex((one) => one.file === file);
    return at < 0 ? [...entries, entry] : entries.map((one, i) => (i === at ? entry : one));
  });
}

function noSuchPlace(as: AttachAs, asked: number, count: number): FieldError {
  return new FieldError("attach/no-such-place", `There is no ${as} ${asked + 1}: the job has ${count}.`, {
    hint: "Load the field again; it was changed meanwhile.",
  });
}

function changedAt(value: unknown, path: readonly string[], change: (before: unknown) => unknown): Plain {
  const [key, ...rest] = path as [string, ...string[]];
  const object = typeof value === "object" && value !== null && !Array.isArray(value) ? (value as Plain) : {};
  const before = Object.hasOwn(object, key) ? object[key] : undefined;
  return {...object, [key]: rest.length === 0 ? change(before) : changedAt(before, rest, change)};
}
