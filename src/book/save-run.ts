import type {Comparison} from "../compare/comparison.ts";
import {encodeUtf8} from "../formats/text.ts";
import type {Field} from "../geo/field.ts";
import type {ClassLayer, Layer} from "../grid/layer.ts";
import type {UnitValue} from "../lab/soil-test.ts";
import type {BuiltPrescription} from "../prescription/prescription.ts";
import type {LimeRecommendation} from "../recommend/lime/recommend-lime.ts";
import type {Recommendation} from "../recommend/recommendation.ts";
import type {SamplingPlan} from "../sampling/plan.ts";
import type {ZoneMap} from "../zones/zone-map.ts";
import {keepBytes} from "./blobs.ts";
import {type Book, change} from "./book.ts";
import type {Deed} from "./log.ts";
import {TABLES, tableNamed} from "./migrations.ts";
import {type BookJob, digestOf, stepsOf} from "./rests-on.ts";
import {addRow} from "./rows.ts";
import {keepLayers, keepPlans, keepTaken, keepZones, zoneLayer} from "./save-ground.ts";
import {keepComparison, keepPrescriptions, keepRates} from "./save-rates.ts";
import {type JobToKeep, keepJob} from "./sources.ts";

/** What a run came to, as far as the book keeps it apart; a run of the pipeline is one. */
export interface RunToKeep {
  readonly field: Field;
  readonly layers?: {
    readonly features: readonly {readonly layer: Layer | ClassLayer; readonly theme: string}[];
  };
  readonly zoneMap?: ZoneMap;
  readonly strategies: readonly StrategyToKeep[];
  readonly comparison: Comparison;
  /** Every file of the run, by name. */
  readonly outputs: ReadonlyMap<string, Uint8Array>;
}

export interface StrategyToKeep {
  readonly plan: SamplingPlan;
  readonly values: ReadonlyMap<string, readonly UnitValue[]>;
  readonly recommendations: readonly Recommendation[];
  readonly lime: readonly LimeRecommendation[];
  readonly prescriptions: readonly BuiltPrescription[];
}

export interface SavedRun {
  readonly fieldId: number;
  readonly runId: number;
  readonly version: number;
  /** False when the version in force is this very run, to the byte. */
  readonly isNew: boolean;
}

/** Which run the rows belong to. */
export interface RunOf {
  readonly runId: number;
  readonly field: Field;
  /** The cells every row of shapes has. */
  readonly shapeCells: Readonly<Record<string, string | number | boolean>>;
}

/**
 * Keeps a run with its job and everything it read, and puts it in force. A run whose results are those in force already
 * makes no new version.
 *
 * @param job - As it ran; `given.job` is the job as its file has it, which differs when the command line overrode
 *   something.
 * @param program - Version of the program that made it.
 * @throws {FieldError} `book/cannot-write`, `book/damaged`.
 */
export function saveRun(book: Book, run: RunToKeep, job: BookJob, given: JobToKeep, program: string): SavedRun {
  const {db, host} = book;
  const tables = TABLES.map(({name}) => name).filter((name) => !["migrations", "book", "notes"].includes(name));
  return change<SavedRun>(book, tables, () => {
    const {fieldId, changed} = keepJob(book, given);
    const graph = graphOf(book, job, given);
    const outputs = [...run.outputs].map(([name, bytes]) => ({
      name,
      size: bytes.length,
      sha256: keepBytes(book, bytes),
    }));
    const digest = host.sha256(encodeUtf8([program, ...graph.map((step) => step.digest)].join("\n")));
    const same = runInForce(book, fieldId, digest, outputs);
    if (same) return {result: {fieldId, ...same, isNew: false}, deed: changedDeed(given, changed)};
    const last = db.all("SELECT max(version) AS version FROM runs WHERE field_id = ?", [fieldId])[0];
    const version = Number(last?.version ?? 0) + 1;
    const runId = addRow(db, "runs", {
      field_id: fieldId,
      version,
      current: false,
      made_at: host.now(),
      made_by: host.who,
      program,
      seed: job.seed,
      job_sha256: host.sha256(given.jobFile.bytes),
      digest,
    });
    for (const {name, size, sha256} of outputs) addRow(db, "results", {run_id: runId, name, sha256, size});
    keepGraph(book, runId, graph);
    const of: RunOf = {
      runId,
      field: run.field,
      shapeCells: {field_id: fieldId, run_id: runId, field: run.field.name, version, current: false},
    };
    keepLayers(book, of, [...(run.layers?.features ?? []), ...(run.zoneMap ? [zoneLayer(run.zoneMap)] : [])]);
    if (run.zoneMap) keepZones(book, of, run.zoneMap, run.outputs.get("run.json"));
    keepPlans(
      book,
      of,
      run.strategies.map(({plan}) => plan),
    );
    keepTaken(book, of, run.outputs);
    for (const strategy of run.strategies) keepRates(book, of, strategy);
    for (const strategy of run.strategies) keepPrescriptions(book, of, strategy.prescriptions);
    keepComparison(book, of, run.comparison);
    putInForce(book, fieldId, runId);
    const deed = {
      what: "ran",
      field: run.field.name,
      detail: {version, program, digest, changed, files: outputs.length},
    };
    return {result: {fieldId, runId, version, isNew: true}, deed};
  });
}

/** Makes one version of a field's results the one in force, in every table. */
export function putInForce({db}: Book, fieldId: number, runId: number): void {
  db.run("UPDATE runs SET current = (id = ?) WHERE field_id = ?", [runId, fieldId]);
  for (const name of TABLES_IN_FORCE) {
    db.run(`UPDATE ${name} SET current = (run_id = ?1) WHERE field_id = ?2 AND current <> (run_id = ?1)`, [
      runId,
      fieldId,
    ]);
  }
}

/** Tables of shapes that say of each row whether it is in force. */
export const TABLES_IN_FORCE = TABLES.map(({name}) => name).filter((name) =>
  ["run_id", "current"].every((wanted) => tableNamed(name).columns.some((column) => column.name === wanted)),
);

interface Node {
  readonly step: string;
  readonly settingsSha256: string;
  readonly inputs: readonly {readonly kind: "source" | "step"; readonly name: string; readonly digest: string}[];
  readonly digest: string;
}

/** The steps of a run with digests of all they rest on. */
function graphOf({host}: Book, job: BookJob, {files, digests: known = new Map()}: JobToKeep): Node[] {
  const digests = new Map([...files].map(([name, bytes]) => [name, host.sha256(bytes)]));
  for (const [name, digest] of known) if (!digests.has(name)) digests.set(name, digest);
  const nodes = new Map<string, Node>();
  for (const {step, settings, sources, steps} of stepsOf(job, [...digests.keys()])) {
    const settingsSha256 = host.sha256(encodeUtf8(settings));
    const inputs = [
      ...sources.map((name) => ({kind: "source" as const, name, digest: digests.get(name) ?? ""})),
      ...steps.map((name) => ({kind: "step" as const, name, digest: nodes.get(name)?.digest ?? ""})),
    ];
    nodes.set(step, {step, settingsSha256, inputs, digest: digestOf(host.sha256, settingsSha256, inputs)});
  }
  return [...nodes.values()];
}

function keepGraph({db}: Book, runId: number, graph: readonly Node[]): void {
  for (const {step, digest, settingsSha256, inputs} of graph) {
    addRow(db, "steps", {run_id: runId, step, digest, settings_sha256: settingsSha256});
    for (const input of inputs) addRow(db, "step_inputs", {run_id: runId, step, ...input});
  }
}

/** The version in force, when it rests on the same and wrote the same. */
function runInForce(
  {db}: Book,
  fieldId: number,
  digest: string,
  outputs: readonly {readonly name: string; readonly sha256: string}[],
): {runId: number; version: number} | undefined {
  const [row] = db.all("SELECT id, version FROM runs WHERE field_id = ? AND current AND digest = ?", [fieldId, digest]);
  if (!row) return undefined;
  const before = db.all("SELECT name, sha256 FROM results WHERE run_id = ? ORDER BY id", [Number(row.id)]);
  const isSame =
    before.length === outputs.length &&
    outputs.every(({name, sha256}, i) => before[i]?.name === name && before[i]?.sha256 === sha256);
  return isSame ? {runId: Number(row.id), version: Number(row.version)} : undefined;
}

function changedDeed({field, jobFile}: JobToKeep, changed: readonly object[]): Deed | undefined {
  if (changed.length === 0) return undefined;
  return {what: "put in", field: field.name, detail: {job: jobFile.name, files: changed}};
}
