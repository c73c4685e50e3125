import {createHash} from "node:crypto";
import {FieldError} from "../errors.ts";
import {readJob} from "../pipeline/read-job.ts";
import {VERSION} from "../pipeline/version.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import type {HandOverToKeep, JobToKeep, Shelf, ShelfField, ShelfFile, ShelfRun} from "./shelf.ts";

/** A shelf that is gone when the server ends: for looking around, and for tests. */
export function memoryShelf(name = "in memory"): Shelf {
  const blobs = new Map<string, Uint8Array>();
  const fields = new Map<string, Entry>();
  const facts = new Map<string, string>();
  let preferences: object | undefined;
  const outputs = new Map<string, ReadonlyMap<string, Uint8Array>>();
  const keep = (entry: Entry, {job, field, add}: JobToKeep): void => {
    for (const [file, bytes] of add) {
      const sha256 = sha256Of(bytes);
      blobs.set(sha256, bytes);
      entry.files.set(file, {name: file, sha256, bytes: bytes.length});
    }
    const known = entry.jobs.indexOf(job);
    entry.version = known >= 0 ? known + 1 : entry.jobs.push(job);
    entry.seen = {acres: field.area / SQUARE_METRES_PER_ACRE, outline: field.boundary};
  };
  const entryOf = (id: string): Entry => {
    const entry = fields.get(id);
    if (!entry) throw new Error(`no field ${id}`);
    return entry;
  };
  const shown = (entry: Entry): ShelfField => {
    const {id, jobs, version, files, seen, run, handedOver} = entry;
    const job = jobs[version - 1] as string;
    const sorted = [...files.values()].sort((a, b) => (a.name < b.name ? -1 : 1));
    const written = outputs.get(run?.id ?? "");
    const handOvers = handedOver.map((one) => ({
      ...one,
      who: "you",
      inForce: one.files.every(({name: file, sha256}) => {
        const bytes = written?.get(file);
        const counts = one.rates.length === 0 || one.rates.includes(file);
        return !counts || (bytes !== undefined && sha256Of(bytes) === sha256);
      }),
    }));
    return {id, ...nameOf(job), ...seen, job, version, files: sorted, ...(run && {run}), handOvers};
  };
  const refuseTaken = (wanted: {readonly farm: string; readonly name: string}, by?: string): void => {
    const others = [...fields.values()].map(shown).filter(({id}) => id !== by);
    if (!others.some((one) => one.farm === wanted.farm && one.name === wanted.name)) return;
    throw new FieldError("book/field-exists", `There is a field "${wanted.name}" already.`, {
      hint: "Choose another name, or open that field.",
    });
  };
  return {
    name,
    list: async () => [...fields.values()].map(shown),
    field: async (id) => (fields.has(id) ? shown(entryOf(id)) : undefined),
    addField: async (given) => {
      refuseTaken(nameOf(given.job));
      const id = String(fields.size + 1);
      const entry: Entry = {id, jobs: [], version: 0, files: new Map(), seen: {acres: 0, outline: []}, handedOver: []};
      keep(entry, given);
      fields.set(id, entry);
      return shown(entry);
    },
    putJob: async (id, given) => {
      refuseTaken(nameOf(given.job), id);
      keep(entryOf(id), given);
      return shown(entryOf(id));
    },
    jobAt: async (id, version) => entryOf(id).jobs[version - 1],
    keepRun: async (id, {outputs: written}, job, files) => {
      const entry = entryOf(id);
      const runId = `${id}-${outputs.size + 1}`;
      outputs.set(runId, written);
      const madeAt = new Date().toISOString();
      entry.run = {id: runId, version: entry.jobs.indexOf(job) + 1, madeAt, program: VERSION, job, files};
      return entry.run;
    },
    keepHandOver: async (id, _, given) => {
      entryOf(id).handedOver.unshift({...given, at: new Date().toISOString()});
    },
    // What is gone with the server needs nothing that opens it again.
    keepView: async () => undefined,
    cardOf: async () => undefined,
    viewOf: async () => undefined,
    looks: async (files) => files.map(() => undefined),
    keepLook: async () => undefined,
    fact: async (key) => facts.get(key),
    noteFact: async (key, value) => {
      facts.set(key, value);
    },
    bytes: async (sha256) => blobs.get(sha256)?.slice(),
    resultFile: async (runId, file) => outputs.get(runId)?.get(file),
    preferences: async () => preferences,
    putPreferences: async (next) => {
      preferences = next;
    },
    close: async () => undefined,
  };
}

interface Entry {
  readonly id: string;
  /** Versions of the job, from the first on. */
  readonly jobs: string[];
  version: number;
  readonly files: Map<string, ShelfFile>;
  seen: Pick<ShelfField, "acres" | "outline">;
  run?: ShelfRun;
  readonly handedOver: (HandOverToKeep & {readonly at: string})[];
}

const sha256Of = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");

function nameOf(job: string): {farm: string; name: string} {
  const {farm = "", field} = readJob(job, "job.json");
  return {farm, name: field.name};
}
