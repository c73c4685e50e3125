import type {AttachAs, FieldPage} from "../api/types.ts";
import {read} from "../stations/job-path.ts";
import {NAMES} from "./attach-as.ts";

/** One place where a job names a file. */
export interface Use {
  readonly words: string;
  /** Where it is of a kind that can be attached and changed here. */
  readonly as?: AttachAs;
  /** The job's own settings there, without the file. */
  readonly settings: Readonly<Record<string, unknown>>;
  /** Place in the list, where there is one. */
  readonly at: number;
}

const LISTS: readonly {readonly path: readonly string[]; readonly as?: AttachAs; readonly words?: string}[] = [
  {path: ["field", "boundary"], as: "boundary"},
  {path: ["layers", "yield"], as: "yield"},
  {path: ["layers", "soilMap"], as: "soil map"},
  {path: ["layers", "soilMap", "tables"], words: "a table of the soil map"},
  {path: ["layers", "elevation"], as: "elevation"},
  {path: ["layers", "rasters"], as: "raster"},
  {path: ["layers", "points"], as: "points"},
  {path: ["zones", "import"], as: "zones"},
  {path: ["zones", "edits"], words: "changes of zones by hand"},
  {path: ["lab", "files"], as: "lab"},
  {path: ["lab", "earlier"], words: "an earlier lab report"},
  {path: ["lab", "places"], words: "where samples were taken"},
  {path: ["sampling", "keepOuts"], as: "keep-out"},
  {path: ["sampling", "gate"], words: "the gate"},
  {path: ["sampling", "grid", "points"], words: "points of the grid"},
  {path: ["sampling", "taken", "files"], words: "where cores were really taken"},
  {path: ["setbacks"], as: "setback"},
  {path: ["compare", "holdOuts", "files"], words: "results kept back to judge by"},
  {path: ["compare", "holdOuts", "places"], words: "where the results kept back were taken"},
  {path: ["rates", "guide"], words: "your own guide"},
];

/** Everything the job uses a file for; empty when it uses it for nothing. */
export function usesOf(job: FieldPage["job"], file: string): readonly Use[] {
  const found = LISTS.flatMap(({path, as, words}) => {
    const there = read(job, path);
    const entries = Array.isArray(there) ? there : there === undefined ? [] : [there];
    return entries.flatMap((entry, at): Use[] => {
      const own =
        typeof entry === "object" && entry !== null ? (entry as Readonly<Record<string, unknown>>) : {file: entry};
      if (own.file !== file) return [];
      const {file: _, ...settings} = own;
      return [{words: words ?? (as ? NAMES[as] : ""), ...(as && {as}), settings, at}];
    });
  });
  if (found.length > 0) return found;
  // Named in a place of its own kind: an earlier plan, a log of the spreading.
  return JSON.stringify(job).includes(JSON.stringify(file)) ? [{words: "used by the job", settings: {}, at: 0}] : [];
}

/** "a yield log, 2023 corn" */
export function sayUse({words, settings}: Use): string {
  const {season, crop, name, kind, label} = settings;
  const facts = [season, crop].filter((fact) => typeof fact === "string" || typeof fact === "number").join(" ");
  const named = [name, label, kind].find((one) => typeof one === "string");
  return [words, facts, named].filter((part) => part !== undefined && part !== "").join(", ");
}
