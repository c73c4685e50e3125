import {FieldError} from "../errors.ts";
import type {Field} from "../geo/field.ts";
import {fileOf, filesOf} from "../pipeline/files-of.ts";
import type {Job} from "../pipeline/job.ts";
import {readJob} from "../pipeline/read-job.ts";
import {nearestName} from "../units/nearest-name.ts";
import type {
  AttachRequest,
  DetachRequest,
  FieldCard,
  FieldPage,
  GroundKind,
  NewFieldRequest,
  ResultCard,
  RunRequest,
  RunUpTo,
  SourceCard,
  TaskState,
} from "./api-types.ts";
import {attached} from "./attach.ts";
import {detached} from "./detach.ts";
import {groundFiles} from "./drawn-ground.ts";
import type {GetReady} from "./get-ready.ts";
import type {Pool} from "./pool.ts";
import {type Preparing, preparing} from "./preparing.ts";
import {recent} from "./recent.ts";
import {notFound} from "./refuse.ts";
import type {Results} from "./results.ts";
import {type FileRef, type RunSpec, refsTo} from "./run-spec.ts";
import type {Shelf, ShelfField} from "./shelf.ts";
import {freeName, type Sources, sha256Of} from "./sources.ts";
import {fieldCard, idsMayMove, plansDiffer} from "./stations.ts";
import type {Tasks} from "./tasks.ts";
import {tiedToPlans} from "./tie-results.ts";
import {canRedo, canUndo, gone, moved, type Trail, trailTo} from "./undo.ts";

/** What can be done with the fields of a book. */
export interface Service {
  fields(): Promise<FieldCard[]>;
  addField(request: NewFieldRequest): Promise<FieldPage>;
  page(id: string): Promise<FieldPage>;
  /** @param seen - The version the change was made to: another's change in between is then not overwritten. */
  putJob(id: string, job: Plain, seen?: number): Promise<FieldPage>;
  undo(id: string, seen?: number): Promise<FieldPage>;
  redo(id: string, seen?: number): Promise<FieldPage>;
  attach(id: string, request: AttachRequest, seen?: number): Promise<FieldPage>;
  /** Takes a file out of the job; it stays among the field's files. */
  detach(id: string, request: DetachRequest): Promise<FieldPage>;
  /** A keep-out or setback as it was drawn: GeoJSON. */
  drawn(id: string, kind: GroundKind, entry: number): Promise<Uint8Array>;
  /**
   * Begins a run, or joins one on its way that makes the same. It ends those up to the plan that were begun for another
   * version of the field and are still on their way.
   */
  run(id: string, request: RunRequest): Promise<TaskState>;
  /** Runs a field to its end, first what is quick, then how sure it is, and looks at its files. Failures are the field's own. */
  workOut(id: string): Promise<void>;
  /** Puts a whole job with its files on the shelf, as the sample fields; gives back the id of the field. */
  putIn(job: string, files: ReadonlyMap<string, Uint8Array>): Promise<string>;
  /** Fields are told when it is done. */
  readonly preparing: Preparing;
}

export type Plain = Readonly<Record<string, unknown>>;

export interface ServiceParts {
  readonly shelf: Shelf;
  readonly pool: Pool;
  readonly sources: Sources;
  readonly results: Results;
  readonly tasks: Tasks;
  readonly getReady: GetReady;
  readonly report: (error: unknown) => void;
}

interface Going {
  readonly task: string;
  readonly makes: string;
  readonly upTo: RunUpTo;
  readonly version: number;
}

export function makeService({shelf, pool, sources, results, tasks, getReady, report}: ServiceParts): Service {
  const trails = new Map<string, Trail>();
  /** The runs of each field that were not ended when the last of them was begun, and what they make. */
  const going = new Map<string, readonly Going[]>();
  const preparation = preparing();
  const boundaries = recent<Field>(MOST_BOUNDARIES);
  const inTurn = turns();

  const fieldOf = async (id: string): Promise<ShelfField> => {
    const field = await shelf.field(id);
    if (!field) throw notFound(`field ${id}`, "Go back to the list of fields.");
    return field;
  };
  /** @param seen - The version that whoever wants to change it has before them. */
  const fieldSeen = async (id: string, seen: number | undefined): Promise<ShelfField> => {
    const field = await fieldOf(id);
    if (seen !== undefined && seen !== field.version) throw changedMeanwhile(field, seen);
    return field;
  };
  const trailOf = ({id, version}: ShelfField): Trail => trails.get(id) ?? trailTo(version);

  /** A result that cannot be made again is no reason not to open its field. */
  const lastCard = async (field: ShelfField): Promise<ResultCard | undefined> => {
    const last = results.lastOf(field.id, field.run);
    try {
      return last && (await results.card(last));
    } catch (error) {
      report(error);
      return undefined;
    }
  };

  const pageOf = async (field: ShelfField): Promise<FieldPage> => {
    const [cards, result] = await Promise.all([sources.cards(refsTo(field.files)), lastCard(field)]);
    const {spec} = results.lastOf(field.id, field.run) ?? {};
    const trail = trailOf(field);
    return {
      card: fieldCard(field, spec?.upTo === "plan" ? spec : undefined),
      job: JSON.parse(field.job),
      version: field.version,
      canUndo: canUndo(trail),
      canRedo: canRedo(trail),
      sources: cards.map((card, i) => ({...card, name: field.files[i]?.name ?? card.name})) satisfies SourceCard[],
      handOvers: field.handOvers,
      ...(result && {result}),
    };
  };

  /** The field of a job; its boundary is read when it or its settings are new. */
  const boundaryOf = async (job: Job, text: string, refs: readonly FileRef[]): Promise<Field> => {
    const file = fileOf(job.field.boundary);
    const files = refs.filter(([name]) => name === file);
    const key = JSON.stringify([job.field, files]);
    const field = boundaries.get(key) ?? (await pool.call("field", {job: text, files}));
    boundaries.set(key, field);
    return field;
  };

  const specOf = ({job, files}: ShelfField): Pick<RunSpec, "job" | "files"> => ({job, files: refsTo(files)});

  /** Plans of the last result, as long as the job still makes the same. */
  const plansInForce = async (field: ShelfField): Promise<ResultCard["strategies"]> => {
    const last = results.lastOf(field.id, field.run);
    if (!last || plansDiffer(last.spec, specOf(field))) return [];
    return (await lastCard(field))?.strategies ?? [];
  };

  const changeJob = async (field: ShelfField, asked: Plain, added?: FileRef): Promise<ShelfField> => {
    const now = specOf(field);
    const refs = [...now.files, ...(added ? [added] : [])];
    const given = textOf(asked);
    const wanted = readJob(given, JOB);
    checkFiles(wanted, refs);
    const tie = wanted.lab !== undefined && idsMayMove(now, {job: given, files: refs});
    const text = tie ? textOf(tiedToPlans(asked, JSON.parse(field.job), await plansInForce(field))) : given;
    const parsed = tie ? readJob(text, JOB) : wanted;
    const trail = trailOf(field);
    const ground = await boundaryOf(parsed, text, refs);
    const add = new Map(added ? [[added[0], await sources.bytes(added[1])]] : []);
    const changed = await shelf.putJob(field.id, {job: text, field: ground, add});
    trails.set(field.id, gone(trail, changed.version));
    return changed;
  };

  const move = (id: string, by: -1 | 1, seen?: number): Promise<FieldPage> =>
    inTurn(id, async () => {
      const field = await fieldSeen(id, seen);
      const step = moved(trailOf(field), by);
      if (!step) {
        throw new FieldError("job/nothing-to-undo", `There is nothing to ${by < 0 ? "undo" : "redo"}.`);
      }
      const text = await shelf.jobAt(id, step.version);
      if (text === undefined) throw new Error(`version ${step.version} of a job is gone`);
      const ground = await boundaryOf(readJob(text, JOB), text, refsTo(field.files));
      const restored = await shelf.putJob(id, {job: text, field: ground, add: new Map()});
      trails.set(id, step.trail);
      return pageOf(restored);
    });

  const putIn = async (text: string, files: ReadonlyMap<string, Uint8Array>): Promise<ShelfField> => {
    const job = readJob(text, JOB);
    const refs = refsOf(files);
    checkFiles(job, refs);
    const field = await pool.call("field", {
      job: text,
      files: refs.filter(([name]) => name === fileOf(job.field.boundary)),
    });
    return shelf.addField({job: text, field, add: files});
  };

  const run: Service["run"] = async (id, {evidence = true, upTo = "all"}) => {
    const field = await fieldOf(id);
    const job = readJob(field.job, JOB);
    const asked = upTo === "plan" ? {...job, lab: undefined, rates: undefined} : job;
    const shas = new Map(field.files.map(({name, sha256}) => [name, sha256]));
    const files = filesOf(asked).map((name) => [name, shas.get(name) ?? ""] as const);
    const spec: RunSpec = {job: field.job, files, upTo, evidence: evidence && upTo === "all"};
    const makes = JSON.stringify([field.version, spec]);
    const others = (going.get(id) ?? []).filter((one) => tasks.get(one.task)?.state === "running");
    const same = tasks.get(others.find((one) => one.makes === makes)?.task ?? "");
    if (same) return same;
    // Settings tried one after another: nobody waits any more for the one before.
    for (const one of others) if (one.upTo === "plan" && one.version !== field.version) tasks.cancel(one.task);
    const task = tasks.begin(id, (onStep, signal) => results.run(id, field.version, spec, {onStep, signal}));
    going.set(id, [...others, {task: task.id, makes, upTo, version: field.version}]);
    return task;
  };

  return {
    fields: async () => {
      await preparation.done();
      const cards: FieldCard[] = [];
      for (const field of await shelf.list()) {
        const task = tasks.goingOn(field.id);
        cards.push({...fieldCard(field), ...(task && {working: task.step})});
        // Who asks for something else meanwhile is answered.
        await new Promise((resolve) => setImmediate(resolve));
      }
      return cards;
    },
    addField: async ({name, farm, boundary}) => {
      const file = await sources.nameOf(boundary);
      const text = textOf({...(farm !== undefined && farm !== "" && {farm}), field: {name, boundary: file}});
      return inTurn("new", async () => pageOf(await putIn(text, new Map([[file, await sources.bytes(boundary)]]))));
    },
    page: async (id) => {
      await preparation.done();
      const field = await fieldOf(id);
      const last = results.lastOf(id, field.run);
      if (last) getReady.lookedAt(last);
      return pageOf(field);
    },
    putJob: (id, job, seen) => inTurn(id, async () => pageOf(await changeJob(await fieldSeen(id, seen), job))),
    undo: (id, seen) => move(id, -1, seen),
    redo: (id, seen) => move(id, 1, seen),
    attach: (id, {source, as, at, settings}, seen) =>
      inTurn(id, async () => {
        const field = await fieldSeen(id, seen);
        const here = field.files.find(({sha256}) => sha256 === source);
        const came = await sources.nameOf(source, field);
        const name =
          here?.name ??
          freeName(
            came,
            field.files.map((file) => file.name),
          );
        const given = settings ?? (await sources.card([came, source])).proposed[as] ?? {};
        const job = attached(JSON.parse(field.job), name, as, given, at);
        return pageOf(await changeJob(field, job, here ? undefined : [name, source]));
      }),
    detach: (id, {source}) =>
      inTurn(id, async () => {
        const field = await fieldOf(id);
        const mine = field.files.filter(({sha256}) => sha256 === source).map(({name}) => name);
        if (mine.length === 0) throw notFound("such file of this field", "Load the field again.");
        return pageOf(await changeJob(field, detached(JSON.parse(field.job), mine)));
      }),
    drawn: async (id, kind, entry) => {
      const field = await fieldOf(id);
      const {file} = groundFiles(readJob(field.job, JOB), kind)[entry] ?? {};
      const files = refsTo(field.files).filter(([name]) => name === file);
      const drawn = await pool.call("drawn", {job: field.job, files, kind, entry}, id);
      if (!drawn) throw notFound(`such ${kind}`, "Load the field again; it was changed meanwhile.");
      return drawn;
    },
    run,
    workOut: async (id) => {
      for (const evidence of [false, true]) {
        const {state} = await tasks.ended((await run(id, {evidence})).id);
        if (state !== "done") return;
      }
      await pageOf(await fieldOf(id));
    },
    putIn: async (job, files) => (await sources.lending(files, () => inTurn("new", () => putIn(job, files)))).id,
    preparing: preparation,
  };
}

const JOB = "job.json";
const MOST_BOUNDARIES = 200;

const textOf = (job: Plain): string => `${JSON.stringify(job, null, 2)}\n`;

const refsOf = (files: ReadonlyMap<string, Uint8Array>): FileRef[] =>
  [...files].map(([name, bytes]) => [name, sha256Of(bytes)] as const);

/** Work on one thing, one piece after another: of two changes at once the second sees what the first made. */
function turns(): <T>(about: string, work: () => Promise<T>) => Promise<T> {
  const last = new Map<string, Promise<unknown>>();
  return (about, work) => {
    const turn = (last.get(about) ?? Promise.resolve()).then(work);
    const done = turn.catch(() => undefined);
    last.set(about, done);
    done.then(() => {
      if (last.get(about) === done) last.delete(about);
    });
    return turn;
  };
}

function checkFiles(job: Job, refs: readonly FileRef[]): void {
  const names = refs.map(([name]) => name);
  const missing = filesOf(job).find((name) => !names.includes(name));
  if (missing === undefined) return;
  const near = nearestName(missing, names);
  throw new FieldError("file/not-found", `The field has no file ${missing}.`, {
    place: {file: missing},
    hint: near ? `Did you mean ${near}?` : "Upload it and attach it to the field.",
  });
}

function changedMeanwhile({version}: ShelfField, seen: number): FieldError {
  return new FieldError(
    "job/changed",
    `The field was changed elsewhere meanwhile: its job is at version ${version}, your change was made to ${seen}.`,
    {hint: "Load the field again and make the change there."},
  );
}
