import {createHash} from "node:crypto";
import type {Field} from "../geo/field.ts";
import {AbortError, type Host, type Memory} from "../pipeline/host.ts";
import type {Job} from "../pipeline/job.ts";
import {readJob} from "../pipeline/read-job.ts";
import {type RunResult, runJob} from "../pipeline/run.ts";
import {bytesIn} from "./bytes-in.ts";
import type {CallContext} from "./calls.ts";
import {type Recent, recent} from "./recent.ts";
import type {FileRef, RunSpec} from "./run-spec.ts";

/** A run as a thread keeps it. */
export interface Made {
  readonly job: Job;
  readonly files: ReadonlyMap<string, Uint8Array>;
  readonly field: Field;
  /** As the command line would write them: a run without evidence, whose ledger says so. */
  readonly outputs: ReadonlyMap<string, Uint8Array>;
  /** With evidence, where it was asked for. */
  readonly run: RunResult;
}

/** The thread's way to results: kept while there is room, made again when they are gone. */
export interface Results {
  filesOf(refs: readonly FileRef[], context: CallContext): Promise<Map<string, Uint8Array>>;
  madeOf(spec: RunSpec, context: CallContext): Promise<Made>;
  sha256(bytes: Uint8Array): Promise<string>;
}

export interface ResultsOptions {
  readonly sqlite?: Host["sqlite"];
  /** Most bytes of files kept for the next run. Default 256 MiB. */
  readonly fileBytes?: number;
  /** Most bytes of results kept whole; the last one is kept however large. Default 384 MiB. */
  readonly resultBytes?: number;
  /** Most bytes of parts of runs kept, such as the layers of a field's yield logs. Default 256 MiB. */
  readonly partBytes?: number;
}

/** One run at a time; what is already made is had at once. */
export function resultsOf(options: ResultsOptions): Results {
  const {sqlite, fileBytes = 2 ** 28, resultBytes = 1.5 * 2 ** 28, partBytes = 2 ** 28} = options;
  const files = recent<Uint8Array>(fileBytes, ({length}) => length);
  const parts = recent<unknown>(partBytes, bytesIn);
  const kept = recent<Made>(resultBytes, ({run, outputs}) => bytesIn([run, outputs]));
  const digests = new WeakMap<Uint8Array, string>();
  const sha256 = async (bytes: Uint8Array): Promise<string> => {
    const known = digests.get(bytes) ?? createHash("sha256").update(bytes).digest("hex");
    digests.set(bytes, known);
    return known;
  };
  const filesOf: Results["filesOf"] = async (refs, context) => {
    const found = new Map<string, Uint8Array>();
    for (const [name, digest] of refs) {
      const bytes = files.get(digest) ?? ((await context.ask("bytes", digest)) as Uint8Array);
      digests.set(bytes, digest);
      files.set(digest, bytes);
      found.set(name, bytes);
    }
    return found;
  };
  let before: Promise<unknown> = Promise.resolve();
  return {
    filesOf,
    sha256,
    madeOf: async (spec, context) => {
      const key = JSON.stringify(spec);
      const known = kept.get(key);
      if (known) return known;
      const turn = before.then(async () => {
        const meanwhile = kept.get(key);
        if (meanwhile) return meanwhile;
        if (context.isCancelled()) throw new AbortError("cancelled");
        const host = hostOf(context, sha256, parts, sqlite);
        const made = await make(spec, await filesOf(spec.files, context), host, kept);
        kept.set(key, made);
        return made;
      });
      before = turn.catch(() => undefined);
      return turn;
    },
  };
}

async function make(spec: RunSpec, files: Map<string, Uint8Array>, host: Host, kept: Recent<Made>): Promise<Made> {
  const whole = readJob(spec.job, "job.json");
  const job = spec.upTo === "plan" ? {...whole, lab: undefined, rates: undefined} : whole;
  const plainKey = JSON.stringify({...spec, evidence: false});
  const known = kept.get(plainKey);
  const run = known?.run ?? (await runJob(job, files, host));
  const plain: Made = known ?? {job, files, field: run.field, outputs: run.outputs, run};
  if (!spec.evidence) return plain;
  kept.set(plainKey, plain);
  // The ledger of a run with evidence says that intervals stand beside it, which the command line's files do not have.
  return {...plain, run: await runJob(job, files, host, {evidence: true})};
}

function hostOf(context: CallContext, sha256: Host["sha256"], memory: Memory, sqlite: Host["sqlite"]): Host {
  const said = new Set<string>();
  return {
    sha256,
    memory,
    // A step that is gone through again, quickly, for the evidence is not told twice.
    progress: (step) => {
      if (!said.has(step)) context.step(step);
      said.add(step);
    },
    pause: () => new Promise((resolve) => setImmediate(resolve)),
    isCancelled: context.isCancelled,
    ...(sqlite && {sqlite}),
  };
}
