import {createHash} from "node:crypto";
import type {FileSet} from "../formats/file-set.ts";
import type {Field} from "../geo/field.ts";
import {filesOf as filesOfJob} from "../pipeline/files-of.ts";
import {AbortError, type Host, type Memory} from "../pipeline/host.ts";
import type {Job} from "../pipeline/job.ts";
import type {FieldLayers} from "../pipeline/make-layers.ts";
import {readJob} from "../pipeline/read-job.ts";
import {type RunResult, runJob} from "../pipeline/run.ts";
import {runSampling} from "../pipeline/run-sampling.ts";
import {VERSION} from "../pipeline/version.ts";
import type {Paper} from "../report/page-html.ts";
import {bytesIn} from "./bytes-in.ts";
import type {CallContext} from "./calls.ts";
import {pack, unpack} from "./pack.ts";
import {type Recent, recent} from "./recent.ts";
import {type CardOfRun, cardOf} from "./result-card.ts";
import type {FileRef, RunSpec} from "./run-spec.ts";
import {drawnRates} from "./shapes.ts";
import type {KeptView} from "./shelf.ts";

/** What is looked at of a run, with evidence where it was asked for. All of it can be kept: see `packView`. */
export interface Viewed {
  readonly job: Job;
  readonly field: Field;
  readonly run: ViewedRun;
  /** Shapes of rates to be drawn that are not among the outputs because the job asks for other formats. */
  readonly drawn: ReadonlyMap<string, Uint8Array>;
  readonly card: CardOfRun;
  /** As the command line would write them: those of a run without evidence, whose ledger says so. Absent where they were kept. */
  readonly outputs?: ReadonlyMap<string, Uint8Array>;
}

type OfRun = "strategies" | "comparison" | "evidence" | "steps" | "labSentences" | "issues" | "field";
type OfLayers = "mask" | "features" | "shown";

export interface ViewedRun extends Pick<RunResult, OfRun> {
  readonly layers?: Pick<FieldLayers, OfLayers> & {
    readonly seasons: readonly Pick<FieldLayers["seasons"][number], "layer">[];
  };
}

/** A run as it was made here. */
export interface Made extends Viewed {
  readonly outputs: ReadonlyMap<string, Uint8Array>;
  readonly run: RunResult;
}

/** The thread's way to results: kept while there is room, made again when they are gone. */
export interface Results {
  filesOf(refs: readonly FileRef[], context: CallContext): Promise<Map<string, Uint8Array>>;
  /** The run, made here. */
  madeOf(spec: RunSpec, context: CallContext): Promise<Made>;
  /** What is looked at of it: at hand, kept on the shelf, or made. */
  viewOf(spec: RunSpec, context: CallContext): Promise<Viewed>;
  /** What the crew carries for the plans of a run, by name, as the command line writes it. */
  samplingOf(spec: RunSpec, paper: Paper, context: CallContext): Promise<ReadonlyMap<string, Uint8Array>>;
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
  const views = recent<Viewed>(resultBytes / 4, ({run, drawn}) => bytesIn([run, drawn]));
  const papers = recent<ReadonlyMap<string, Uint8Array>>(resultBytes / 8, bytesIn);
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
  /** What is at hand, else made when everything before it is. */
  const inTurn = async <T>(
    at: Recent<T>,
    key: string,
    context: CallContext,
    work: (host: Host) => Promise<T>,
  ): Promise<T> => {
    const known = at.get(key);
    if (known) return known;
    const turn = before.then(async () => {
      const meanwhile = at.get(key);
      if (meanwhile) return meanwhile;
      if (context.isCancelled()) throw new AbortError("cancelled");
      const made = await work(hostOf(context, sha256, parts, sqlite));
      at.set(key, made);
      return made;
    });
    before = turn.catch(() => undefined);
    return turn;
  };
  const madeOf: Results["madeOf"] = (spec, context) =>
    inTurn(kept, keyOf(spec), context, async (host) => make(spec, await filesOf(spec.files, context), host, kept));
  return {
    filesOf,
    sha256,
    madeOf,
    viewOf: async (spec, context) => {
      const key = keyOf(spec);
      const known = kept.get(key) ?? views.get(key);
      if (known) return known;
      const packed = spec.keptAs === undefined ? undefined : await context.ask("view", spec.keptAs);
      if (!packed) return madeOf(spec, context);
      const view = unpackView(packed as Uint8Array, spec);
      views.set(key, view);
      return view;
    },
    samplingOf: async (spec, paper, context) => {
      // The whole job: its lab and guide say what the next samples are tested for. Their files are not read.
      const job = readJob(spec.job, JOB);
      const named = new Map(spec.files);
      const refs = filesOfJob(upToPlan(job)).map((name): FileRef => [name, named.get(name) ?? ""]);
      return inTurn(papers, JSON.stringify([spec.job, refs, paper]), context, async (host) => {
        const {outputs} = await runSampling(job, await filesOf(refs, context), host, paper);
        return outputs;
      });
    },
  };
}

const keyOf = ({job, files, upTo, evidence}: RunSpec): string => JSON.stringify([job, files, upTo, evidence]);

async function make(spec: RunSpec, files: Map<string, Uint8Array>, host: Host, kept: Recent<Made>): Promise<Made> {
  const job = jobOf(spec);
  const plainKey = keyOf({...spec, evidence: false});
  const plain = kept.get(plainKey) ?? (await madeFrom(job, await runJob(job, files, host), files));
  if (!spec.evidence) return plain;
  kept.set(plainKey, plain);
  // The ledger of a run with evidence says that intervals stand beside it, which the command line's files do not have.
  return withCard({...plain, run: await runJob(job, files, host, {evidence: true})});
}

/** A run with what is looked at of it. */
export async function madeFrom(job: Job, run: RunResult, files: FileSet): Promise<Made> {
  const {field, outputs} = run;
  return withCard({job, field, outputs, run, drawn: await drawnRates(job, run, files)});
}

const withCard = (made: Omit<Made, "card">): Made => ({...made, card: cardOf(made)});

function jobOf({job, upTo}: RunSpec): Job {
  const whole = readJob(job, JOB);
  return upTo === "plan" ? upToPlan(whole) : whole;
}

const JOB = "job.json";
/** Without lab, rates and the folder that would hold them. */
const upToPlan = ({handOver, ...job}: Job): Job => ({
  ...job,
  ...(handOver && {handOver: {...handOver, folder: false}}),
  lab: undefined,
  rates: undefined,
});

/** What is kept of a run so that it can be looked at without running it again. */
export function packView({card, run, field, drawn}: Viewed): KeptView {
  const {strategies, comparison, evidence, steps, labSentences, issues, layers} = run;
  const seasons = layers?.seasons.map(({layer}) => ({layer}));
  const kept: ViewedRun = {
    field,
    strategies,
    comparison,
    ...(evidence && {evidence}),
    steps,
    labSentences,
    issues,
    ...(layers && seasons && {layers: {mask: layers.mask, features: layers.features, shown: layers.shown, seasons}}),
  };
  return {madeBy: VIEW_FORM, card: JSON.stringify(card), packed: pack({card, run: kept, drawn})};
}

/** What a view was made by and how it is packed: count up when what is looked at of a run changes. */
export const VIEW_FORM = `${VERSION}, form 2`;

function unpackView(packed: Uint8Array, spec: RunSpec): Viewed {
  const {card, run, drawn} = unpack(packed) as Pick<Viewed, "card" | "run" | "drawn">;
  return {job: jobOf(spec), field: run.field, card, run, drawn};
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
