import type {FileSet} from "../formats/file-set.ts";
import {zip} from "../formats/zip.ts";
import type {Field} from "../geo/field.ts";
import {loadGeos} from "../geo/geos.ts";
import {reportOf} from "../pipeline/make-report.ts";
import {type Remarks, readField} from "../pipeline/read-inputs.ts";
import {readJob} from "../pipeline/read-job.ts";
import {inputsOf, type Paper} from "../pipeline/write-reports.ts";
import {growerReportHtml} from "../report/grower-report.ts";
import {recordHtml} from "../report/record-report.ts";
import type {AtPoint, GroundKind, Ramp, SourceCard, TestsPage, WorkingPage} from "./api-types.ts";
import type {CallContext, Handlers} from "./calls.ts";
import {drawnGround} from "./drawn-ground.ts";
import {atPoint, workingOf} from "./explain.ts";
import {type LayerPicture, layerPicture} from "./layer-picture.ts";
import {lookAt} from "./look.ts";
import {packView, type ResultsOptions, resultsOf} from "./make-results.ts";
import {type CardOfRun, layersOf} from "./result-card.ts";
import type {FileRef, RunSpec} from "./run-spec.ts";
import {shapesNamed} from "./shapes.ts";
import type {KeptView, RunToKeep} from "./shelf.ts";
import {testsOf} from "./tests-page.ts";

/** What a working thread does for the server, by name: arguments and answer are plain data. */
export interface Work {
  /** Has layers, zones and plans at hand, so that what rests on them is quickly made in another way. */
  ready(args: {readonly spec: RunSpec}): void;
  look(args: {readonly file: FileRef}): SourceCard;
  field(args: {readonly job: string; readonly files: readonly FileRef[]}): Field;
  card(args: {readonly spec: RunSpec}): CardOfRun;
  keep(args: {readonly spec: RunSpec}): RunToKeep;
  view(args: {readonly spec: RunSpec}): KeptView;
  file(args: {readonly spec: RunSpec; readonly name: string}): Uint8Array | undefined;
  shapes(args: {readonly spec: RunSpec; readonly name: string}): Uint8Array | undefined;
  picture(args: {readonly spec: RunSpec; readonly layer: string; readonly ramp: Ramp}): LayerPicture | undefined;
  working(args: {readonly spec: RunSpec; readonly strategy: string; readonly unit: string}): WorkingPage | undefined;
  tests(args: {readonly spec: RunSpec}): TestsPage;
  at(args: {readonly spec: RunSpec; readonly lon: number; readonly lat: number}): AtPoint;
  drawn(args: {
    readonly job: string;
    readonly files: readonly FileRef[];
    readonly kind: GroundKind;
    readonly entry: number;
  }): Uint8Array | undefined;
  sampling(args: {readonly spec: RunSpec; readonly paper: Paper}): ReadonlyMap<string, Uint8Array>;
  zip(args: {readonly files: ReadonlyMap<string, Uint8Array>}): Uint8Array;
  report(args: {
    readonly spec: RunSpec;
    readonly paper: Paper;
    readonly kind: "field" | "record";
    readonly date?: string | undefined;
  }): string;
}

type Doing = {
  [Name in keyof Work]: (args: Parameters<Work[Name]>[0], context: CallContext) => Promise<ReturnType<Work[Name]>>;
};

/** The handlers of a working thread. GEOS is loaded at once, so that the first run finds it warm. */
export function workOf(options: ResultsOptions): Handlers {
  const ready = loadGeos();
  const results = resultsOf(options);
  const lend = (files: FileSet): FileSet => (options.sqlite ? Object.assign(files, {sqlite: options.sqlite}) : files);
  const doing: Doing = {
    ready: async ({spec}, context) => {
      await results.madeOf({...spec, upTo: "plan", evidence: false}, context);
    },
    look: async ({file}, context) => {
      await ready;
      return lookAt(lend(await results.filesOf([file], context)), ...file);
    },
    field: async ({job, files}, context) => {
      await ready;
      const remarks: Remarks = [];
      return readField(readJob(job, "job.json"), lend(await results.filesOf(files, context)), remarks);
    },
    card: async ({spec}, context) => (await results.viewOf(spec, context)).card,
    view: async ({spec}, context) => packView(await results.viewOf(spec, context)),
    keep: async ({spec}, context) => {
      const {outputs, run} = await results.madeOf(spec, context);
      const {field, zoneMap, strategies, comparison, layers} = run;
      return {
        field,
        ...(layers && {layers: {features: layers.features}}),
        ...(zoneMap && {zoneMap}),
        strategies,
        comparison,
        outputs,
      };
    },
    file: async ({spec, name}, context) => (await results.madeOf(spec, context)).outputs.get(name),
    shapes: async ({spec, name}, context) => {
      const view = await results.viewOf(spec, context);
      return shapesNamed(view, name, async () => lend(await results.filesOf(spec.files, context)));
    },
    picture: async ({spec, layer, ramp}, context) => {
      const view = await results.viewOf(spec, context);
      const found = layersOf(view).find(({id}) => id === layer);
      const {mask} = view.run.layers ?? {};
      return found && mask && layerPicture(found.layer, mask, ramp);
    },
    working: async ({spec, strategy, unit}, context) => workingOf(await results.viewOf(spec, context), strategy, unit),
    tests: async ({spec}, context) => testsOf(await results.viewOf(spec, context)),
    at: async ({spec, lon, lat}, context) => atPoint(await results.viewOf(spec, context), lon, lat),
    drawn: async ({job, files, kind, entry}, context) => {
      await ready;
      return drawnGround(readJob(job, "job.json"), lend(await results.filesOf(files, context)), kind, entry);
    },
    sampling: async ({spec, paper}, context) => results.samplingOf(spec, paper, context),
    zip: async ({files}) => zip(files),
    report: async ({spec, paper, kind, date}, context) => {
      const whole = {...spec, evidence: true};
      const seen = await results.viewOf(whole, context);
      // A run that was ended before it was asked how sure it is.
      const isWhole =
        seen.run.evidence !== undefined || seen.run.comparison.rows.every(({products}) => products.length === 0);
      const {job, run} = isWhole ? seen : await results.madeOf(whole, context);
      const files = await results.filesOf(spec.files, context);
      const model = reportOf(job, run, await inputsOf(files, results.sha256), date);
      return kind === "field" ? growerReportHtml(model, paper) : recordHtml(model, paper);
    },
  };
  return doing as Handlers;
}
