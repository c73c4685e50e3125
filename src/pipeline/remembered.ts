import {endingOf, type FileSet} from "../formats/file-set.ts";
import {encodeUtf8} from "../formats/text.ts";
import type {Host} from "./host.ts";
import type {Remarks} from "./read-inputs.ts";
import {VERSION} from "./version.ts";

/** All that a part of a run rests on. What is not named here must not change what it makes. */
export interface RestsOn {
  /** Plain data: the part of the job, the field, the grid. */
  readonly settings: unknown;
  /** Names of the files it reads. */
  readonly files: readonly string[];
}

/** What a part of a run made, with its remarks. */
interface Made<T> {
  readonly value: T;
  readonly remarks: Remarks;
}

/**
 * Makes a part of a run, or takes it from the host's memory when it was made before from the same settings and the same
 * bytes. Either way the same value and the same remarks come out; only the steps told differ. Without a memory it is
 * simply made.
 */
export async function remembered<T>(
  what: string,
  {settings, files: names}: RestsOn,
  files: FileSet,
  host: Pick<Host, "sha256" | "memory">,
  remarks: Remarks,
  make: (remarks: Remarks) => Promise<T>,
): Promise<T> {
  const {memory} = host;
  if (!memory) return make(remarks);
  const key = await keyOf(what, settings, names, files, host);
  const known = memory.get(key) as Made<T> | undefined;
  const own: Remarks = known ? known.remarks : [];
  const value = known ? known.value : await make(own);
  if (!known) memory.set(key, {value, remarks: own} satisfies Made<T>);
  remarks.push(...own);
  return value;
}

/** A digest of everything it rests on. A file that is missing counts as such: making will say so. */
async function keyOf(
  what: string,
  settings: unknown,
  names: readonly string[],
  files: FileSet,
  host: Pick<Host, "sha256">,
): Promise<string> {
  const digests: [string, string][] = [];
  for (const name of withMembers(names, files)) {
    const bytes = files.get(name);
    digests.push([name, bytes ? await host.sha256(bytes) : "missing"]);
  }
  return host.sha256(encodeUtf8(JSON.stringify([VERSION, what, settings, digests])));
}

/** The files named, and those that belong to one: the members of a loose shapefile, the parts of task data. */
function withMembers(names: readonly string[], files: FileSet): string[] {
  const stems = new Set(names.map(stemOf));
  const ofTaskData = names.some((name) => endingOf(name) === "xml");
  const members = [...files.keys()].filter((name) => stems.has(stemOf(name)) || (ofTaskData && TASK_PART.test(name)));
  return [...new Set([...names, ...members])].sort();
}

const TASK_PART = /[A-Z]{3}[0-9]{5}\.(xml|bin)$/i;

const stemOf = (name: string): string => name.replace(/\.[^./\\]+$/, "").toLowerCase();
