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
  return {
    name,
    list: async () => [...fields.values()].map(shown),
    field: async (id) => (fields.has(id) ? shown(entryOf(id)) : undefined),
    addField: async (given) => {
      const {farm, name: wanted} = nameOf(given.job);
      if ([...fields.values()].map(shown).some((one) => one.farm === farm && one.name === wanted)) {
        throw new FieldError("book/field-exists", `There is a field "${wanted}" already.`, {
          hint: "Choose another name, or open that field.",
        });
      }
      const id = String(fields.size + 1);
      const entry: Entry = {id, jobs: [], version: 0, files: new Map(), seen: {acres: 0, outline: []}, handedOver: []};
      keep(entry, given);
      fields.set(id, entry);
      return shown(entry);
    },
    putJob: async (id, given) => {
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
    bytes: async (sha256) => blobs.get(sha256)?.slice(),
    resultFile: async (runId, file) => outputs.get(runId)?.get(file),
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
