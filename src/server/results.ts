import {randomBytes} from "node:crypto";
import type {Issue} from "../errors.ts";
import {filesOf} from "../pipeline/files-of.ts";
import {VERSION} from "../pipeline/version.ts";
import type {ResultCard} from "./api-types.ts";
import {knownJob} from "./known-job.ts";
import {VIEW_FORM} from "./make-results.ts";
import type {Pool} from "./pool.ts";
import {recent} from "./recent.ts";
import {notFound} from "./refuse.ts";
import type {CardOfRun} from "./result-card.ts";
import type {FileRef, RunSpec} from "./run-spec.ts";
import {shapeFile} from "./shapes.ts";
import type {Shelf, ShelfRun} from "./shelf.ts";
import type {CallOptions} from "./thread.ts";

/** A result by what it rests on; its figures and shapes are made from that whenever they are not at hand. */
export interface KnownResult {
  readonly id: string;
  readonly field: string;
  readonly version: number;
  readonly madeAt: string;
  readonly spec: RunSpec;
  /** Whether its files are on the shelf. */
  readonly kept: boolean;
  /** Version of the program that made it. */
  readonly program: string;
}

export interface Results {
  /** Runs, and keeps what came of it where it is whole. */
  run(field: string, version: number, spec: RunSpec, options: CallOptions): Promise<ResultCard>;
  /** The last one of a field: made here, or in force on the shelf. */
  lastOf(field: string, onShelf: ShelfRun | undefined): KnownResult | undefined;
  /** @throws {FieldError} `server/not-found`. */
  known(id: string): Promise<KnownResult>;
  card(result: KnownResult): Promise<ResultCard>;
  /** Shapes by their name; undefined where there are none of that name. */
  shapes(result: KnownResult, name: string): Promise<Uint8Array | undefined>;
  /** Ends when everything that is to be kept of results to look at them again is on the shelf. */
  settle(): Promise<void>;
  /** An output, of a kept run as it was written; undefined where there is none of that name. */
  file(result: KnownResult, name: string): Promise<Uint8Array | undefined>;
}

const MOST_CARDS = 60;
const MOST_KNOWN = 1000;
/** A field's next run, as for how sure it is, comes first: what is kept of the one before it would be replaced at once. */
const KEEP_AFTER_MS = 2000;

/** @param report - Told of failures that are no user's fault. */
export function makeResults(shelf: Shelf, pool: () => Pool, report: (error: unknown) => void): Results {
  const cards = recent<ResultCard>(MOST_CARDS);
  const results = recent<KnownResult>(MOST_KNOWN);
  const last = new Map<string, KnownResult>();
  const ofShelf = (field: string, {id, version, madeAt, program, job, files}: ShelfRun): KnownResult => {
    const known = results.get(id) ?? {
      id,
      field,
      version,
      madeAt,
      spec: {job, files: filesRead(job, files), upTo: "all" as const, evidence: true, keptAs: id},
      kept: true,
      program,
    };
    results.set(id, known);
    return known;
  };
  const cardOf = async (result: KnownResult, options: CallOptions = {}): Promise<ResultCard> => {
    const {id, field, version, madeAt, spec, program} = result;
    const known = cards.get(id);
    if (known) return known;
    const text = spec.keptAs === undefined ? undefined : await shelf.cardOf(spec.keptAs, VIEW_FORM);
    const made =
      text === undefined ? await pool().call("card", {spec}, field, options) : (JSON.parse(text) as CardOfRun);
    if (text === undefined) keepSoon(result);
    const card: ResultCard = {
      ...(program === VERSION ? made : byAnother(made, program)),
      id,
      field,
      version,
      upTo: spec.upTo,
      madeAt,
    };
    cards.set(id, card);
    return card;
  };
  const waiting = new Map<string, {readonly result: KnownResult; readonly timer: NodeJS.Timeout}>();
  const keepNow = async (field: string): Promise<void> => {
    const {result, timer} = waiting.get(field) ?? {};
    clearTimeout(timer);
    waiting.delete(field);
    if (!result) return;
    const view = await pool().call("view", {spec: result.spec}, field);
    await shelf.keepView(result.id, view);
  };
  const keepSoon = (result: KnownResult): void => {
    clearTimeout(waiting.get(result.field)?.timer);
    waiting.delete(result.field);
    if (!result.kept) return;
    const timer = setTimeout(() => keepNow(result.field).catch(report), KEEP_AFTER_MS);
    waiting.set(result.field, {result, timer});
  };
  return {
    run: async (field, version, spec, options) => {
      clearTimeout(waiting.get(field)?.timer);
      const fresh: KnownResult = {
        id: `preview-${randomBytes(6).toString("hex")}`,
        field,
        version,
        madeAt: new Date().toISOString(),
        spec,
        kept: false,
        program: VERSION,
      };
      // First the figures: they are what is waited for.
      const made = await pool().call("card", {spec}, field, options);
      let result = fresh;
      if (spec.upTo === "all") {
        const run = await pool().call("keep", {spec}, field, options);
        options.signal?.throwIfAborted();
        const kept = await shelf.keepRun(field, run, spec.job, spec.files);
        // A run that came to what is in force already is kept once; it holds for the version it was asked for all the same.
        result = {...fresh, id: kept.id, madeAt: kept.madeAt, kept: true};
      }
      results.set(result.id, result);
      last.set(field, result);
      keepSoon(result);
      const card: ResultCard = {
        ...made,
        id: result.id,
        field,
        version: result.version,
        upTo: spec.upTo,
        madeAt: result.madeAt,
      };
      cards.set(result.id, card);
      return card;
    },
    lastOf: (field, onShelf) => last.get(field) ?? (onShelf && ofShelf(field, onShelf)),
    known: async (id) => {
      const here = results.get(id);
      if (here) return here;
      for (const {id: field, run} of await shelf.list()) if (run?.id === id) return ofShelf(field, run);
      throw notFound("such result");
    },
    card: cardOf,
    shapes: async ({id, field, spec, kept}, name) => {
      const file = kept ? shapeFile(name) : undefined;
      const written = file === undefined ? undefined : await shelf.resultFile(id, file);
      return written ?? pool().call("shapes", {spec, name}, field);
    },
    settle: async () => {
      await Promise.all([...waiting.keys()].map((field) => keepNow(field).catch(report)));
    },
    file: async ({id, field, spec, kept}, name) =>
      kept ? shelf.resultFile(id, name) : pool().call("file", {spec, name}, field),
  };
}

/** Those of the files that a job reads, in its order. */
function filesRead(job: string, files: readonly FileRef[]): FileRef[] {
  const shas = new Map(files);
  return filesOf(knownJob(job)).flatMap((name) => {
    const sha256 = shas.get(name);
    return sha256 === undefined ? [] : [[name, sha256] as const];
  });
}

/** Files on the shelf stay as they were written; figures that are made again are this program's. */
function byAnother(made: CardOfRun, program: string): CardOfRun {
  return {
    ...made,
    issues: [otherProgram(program), ...made.issues],
    outputs: made.outputs.map(({name, bytes}) => ({name, bytes})),
  };
}

function otherProgram(program: string): Issue {
  return {
    code: "server/other-program",
    severity: "warning",
    message: `The files were written by version ${program}; the figures shown are worked out by version ${VERSION}.`,
    hint: "Run the field again, so that both are of one version.",
  };
}
