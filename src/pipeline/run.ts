import type {Comparison} from "../compare/comparison.ts";
import type {Issue} from "../errors.ts";
import type {FileSet} from "../formats/file-set.ts";
import {encodeUtf8} from "../formats/text.ts";
import {writeTable} from "../formats/write-table.ts";
import type {Field} from "../geo/field.ts";
import {loadGeos} from "../geo/geos.ts";
import type {Layer} from "../grid/layer.ts";
import type {Receipt} from "../prescription/receipt.ts";
import type {Provenance} from "../provenance.ts";
import {ledgerJson} from "../report/ledger-json.ts";
import {ledgerCsvRows} from "../report/ledger-rows.ts";
import type {MoveOutcome} from "../sampling/move-cores.ts";
import type {Judgement} from "../zones/judge/judgement.ts";
import type {ZoneMap} from "../zones/zone-map.ts";
import {checkPlans} from "./check-plans.ts";
import {handOverFolder, type RatedFiles, rateFileOptions} from "./hand-over.ts";
import {type Host, lendTo, step} from "./host.ts";
import type {Job} from "./job.ts";
import {judgeMadeZones, profileOf} from "./judge-made-zones.ts";
import {compareRun} from "./make-comparison.ts";
import {type Evidence, evidenceOf} from "./make-evidence.ts";
import type {FieldLayers} from "./make-layers.ts";
import {makePlans} from "./make-plans.ts";
import {takenOfPlans} from "./make-taken.ts";
import {type MadeZones, zonesOf} from "./make-zones.ts";
import {rateFiles} from "./rate-files.ts";
import {type RatedPlan, ratePlans} from "./rate-plans.ts";
import {judgeHoldOuts} from "./read-hold-outs.ts";
import {type Remarks, readField} from "./read-inputs.ts";
import {type Digest, runRecord} from "./run-record.ts";
import {planFiles, zoneFile} from "./write-outputs.ts";
import {agreementRaster, plainJudgement, zonesRecord} from "./zone-outputs.ts";

/** One strategy's results on the way to the ledger. */
export interface StrategyRun extends RatedPlan {
  readonly receipts: readonly Receipt[];
}

export interface RunResult {
  readonly field: Field;
  readonly layers?: FieldLayers;
  readonly zoneMap?: ZoneMap;
  /** How the zones came about: how their number was chosen, what came of edits. */
  readonly zones?: MadeZones;
  /** Of the zones, where the job asks for it. */
  readonly judgement?: Judgement;
  readonly strategies: readonly StrategyRun[];
  /** What became of moves of cores by hand. */
  readonly moves: readonly MoveOutcome[];
  readonly comparison: Comparison;
  /** How sure the comparison is and what finer sampling is worth; absent without rates. */
  readonly evidence?: Evidence;
  readonly steps: readonly Provenance[];
  readonly labSentences: readonly string[];
  /** Every file of the run, by name: to be written whole or not at all. */
  readonly outputs: ReadonlyMap<string, Uint8Array>;
  readonly issues: readonly Issue[];
  /** The run in short, for machines. */
  readonly summary: Readonly<Record<string, unknown>>;
}

/**
 * Runs a job from its files to prescriptions and the ledger. Touches no disk and no clock: same job, same files, same
 * bytes.
 *
 * @param given - Everything `filesOf(job)` names.
 * @param want.evidence - Also works out how sure the comparison is, which takes as long as all the rest.
 * @throws {FieldError} whatever a reader or stage refuses, with the file it stands in; `AbortError` when cancelled.
 */
export async function runJob(
  job: Job,
  given: FileSet,
  host: Host,
  want: {readonly evidence?: boolean} = {},
): Promise<RunResult> {
  await loadGeos();
  const files = lendTo(given, host);
  const remarks: Remarks = [];
  await step(host, "reading the boundary");
  const field = await readField(job, files, remarks);
  const {layers, zoneMap, zones} = await zonesOf(job, field, files, host, remarks);
  await step(host, "planning the sampling");
  const planned = await makePlans(job, field, zoneMap, files, remarks, host);
  const {plans} = planned;
  const others = checkPlans(job, plans, remarks);
  const asTaken = await takenOfPlans(job, field, plans, files, remarks, planned.validation);
  const rated = await ratePlans(job, field, plans, files, host, remarks, others, yieldHistory(layers));
  const {strategies} = rated;
  const judgement =
    job.zones.judge && layers && zones
      ? await judgeMadeZones(job, field, layers, zones, files, host, remarks)
      : undefined;
  await step(host, "comparing");
  const holdOuts =
    want.evidence && rated.setting
      ? await judgeHoldOuts(job, field, rated.setting, strategies, planned.validation, files, remarks)
      : [];
  const comparison = compareRun(job, field, strategies, want.evidence, remarks);
  if (want.evidence) await step(host, "asking how sure it is");
  const evidence = want.evidence
    ? await evidenceOf(host, job, field, rated.setting, strategies, comparison, holdOuts)
    : undefined;
  const outputs = new Map<string, Uint8Array>();
  for (const [name, bytes] of layers?.outputs ?? []) outputs.set(name, bytes);
  if (zoneMap) outputs.set("zones.geojson", zoneFile(field, zoneMap));
  if (layers && zones)
    for (const [name, bytes] of judgedFiles(job, field, layers, zones, judgement)) outputs.set(name, bytes);
  for (const plan of plans) for (const [name, bytes] of planFiles(field, plan)) outputs.set(name, bytes);
  for (const [name, bytes] of planned.outputs) outputs.set(name, bytes);
  for (const [name, bytes] of asTaken.outputs) outputs.set(name, bytes);
  const runs: StrategyRun[] = [];
  const ratedFiles: RatedFiles[] = [];
  for (const strategy of strategies) {
    const prescriptions = [...strategy.prescriptions, ...(strategy.limeRates ? [strategy.limeRates] : [])];
    const written = await rateFiles(field, prescriptions, rateFileOptions(job, files));
    for (const [name, bytes] of written.files) outputs.set(name, bytes);
    remarks.push(...written.issues);
    ratedFiles.push({strategy: strategy.plan.strategy, prescriptions, files: written.files});
    runs.push({...strategy, receipts: written.receipts});
  }
  for (const [name, bytes] of await handOverFolder(job, field, ratedFiles, host)) outputs.set(name, bytes);
  const rows = ledgerCsvRows(comparison);
  outputs.set("comparison.json", encodeUtf8(ledgerJson(comparison)));
  outputs.set("comparison.csv", writeTable(rows.header, rows.rows));
  const issues = unique(remarks);
  const steps = [
    ...(layers?.steps ?? []),
    ...(zoneMap ? [zoneMap.madeFrom] : []),
    ...plans.map(({madeFrom}) => madeFrom),
    ...(planned.validation ? [planned.validation.madeFrom] : []),
  ];
  const record = runRecord(
    {
      job,
      field: {name: field.name, areaM2: field.area, frame: field.frame},
      steps,
      strategies: runs.map((run) => ({...run, strategy: run.plan.strategy})),
      labSentences: rated.labSentences,
      choices: rated.choices,
      ...(zones && {zones: zonesFacts(zones, judgement)}),
      ...(asTaken.taken.length > 0 && {taken: asTaken.taken}),
      issues,
    },
    await digests(files, host),
    await digests(outputs, host),
  );
  outputs.set("run.json", encodeUtf8(record));
  return {
    field,
    ...(layers && {layers}),
    ...(zoneMap && {zoneMap}),
    ...(zones && {zones}),
    ...(judgement && {judgement}),
    strategies: runs,
    moves: planned.moves,
    comparison,
    ...(evidence && {evidence}),
    steps,
    labSentences: rated.labSentences,
    outputs,
    issues,
    summary: {
      field: field.name,
      acres: comparison.acres,
      ...(zoneMap && {zones: zoneMap.zones.length}),
      ...(judgement && {zoneVerdict: judgement.verdict}),
      comparison,
      files: [...outputs.keys()],
      receipts: runs.flatMap(({receipts}) =>
        receipts.map(({file, product, passed, totalLb}) => ({file, product, passed, totalLb})),
      ),
      issues,
    },
  };
}

/** What was found about the zones, where the job has them judged. */
function judgedFiles(
  job: Job,
  field: Field,
  layers: FieldLayers,
  zones: MadeZones,
  judgement: Judgement | undefined,
): Map<string, Uint8Array> {
  const files = new Map<string, Uint8Array>();
  if (!judgement) return files;
  const found = {zones, profile: profileOf(job, layers, zones), judgement};
  files.set("zones.json", zonesRecord(field, found, zones.map.issues));
  if (judgement.stability) files.set("zones-agreement.tif", agreementRaster(found, judgement.stability.agreement));
  return files;
}

/** For the record, where the zones are not simply built as asked. */
function zonesFacts({choice, edits}: MadeZones, judgement: Judgement | undefined): object | undefined {
  const facts = {
    ...(choice && {choice}),
    ...(edits.length > 0 && {edits}),
    ...(judgement && {judgement: plainJudgement(judgement)}),
  };
  return Object.keys(facts).length > 0 ? facts : undefined;
}

/** Mean relative yield, where the job has yield logs. */
function yieldHistory(layers: FieldLayers | undefined): Layer<"% of mean"> | undefined {
  const found = layers?.features.find(({layer}) => layer.id === "yield-mean")?.layer;
  return found?.unit === "% of mean" ? (found as Layer<"% of mean">) : undefined;
}

export async function digests(files: FileSet, host: Host): Promise<Record<string, Digest>> {
  const out: Record<string, Digest> = {};
  for (const [name, bytes] of files) out[name] = {sha256: await host.sha256(bytes), bytes: bytes.length};
  return out;
}

/** Each remark once, in order of first appearance. */
function unique(issues: readonly Issue[]): Issue[] {
  return [...new Map(issues.map((issue) => [JSON.stringify(issue), issue])).values()];
}
