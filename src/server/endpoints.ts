import {jobJsonSchema} from "../pipeline/job.ts";
import {CAUTION} from "../pipeline/run-record.ts";
import {VERSION} from "../pipeline/version.ts";
import {GUIDES} from "../recommend/find-guide.ts";
import type {Paper} from "../report/page-html.ts";
import {columnRoles} from "./column-roles.ts";
import {guideCard} from "./guide-card.ts";
import {FOLDER, handOver} from "./hand-over.ts";
import {typeOf} from "./pages.ts";
import type {Pool} from "./pool.ts";
import type {preferencesOn} from "./preferences.ts";
import {notFound} from "./refuse.ts";
import type {KnownResult, Results} from "./results.ts";
import type {Endpoints} from "./routes.ts";
import type {RunSpec} from "./run-spec.ts";
import {isOfPlan, samplingCards} from "./sampling-cards.ts";
import type {Service} from "./service.ts";
import type {Shelf} from "./shelf.ts";
import type {Sources} from "./sources.ts";
import {taskEvents} from "./task-events.ts";
import type {Tasks} from "./tasks.ts";

export interface EndpointParts {
  readonly service: Service;
  readonly sources: Sources;
  readonly results: Results;
  readonly tasks: Tasks;
  readonly shelf: Shelf;
  readonly preferences: ReturnType<typeof preferencesOn>;
  readonly pool: Pool;
  readonly token: string;
}

/** What every address leads to. */
export function endpointsOf(parts: EndpointParts): Endpoints {
  const {service, sources, tasks, shelf, preferences, token} = parts;
  return {
    ...service,
    session: () => {
      const words = service.preparing.words();
      return {
        token,
        version: VERSION,
        book: shelf.name,
        caution: CAUTION,
        ...(words !== undefined && {preparing: words}),
      };
    },
    preferences: preferences.get,
    putPreferences: preferences.put,
    guides: () => GUIDES.map(guideCard),
    columnRoles,
    jobSchema: jobJsonSchema,
    takeFile: sources.take,
    task: (id) => tasks.get(id) ?? missing("run"),
    taskEvents: (id) => (tasks.get(id) ? taskEvents(tasks, id) : missing("run")),
    cancel: (id) => tasks.cancel(id) ?? missing("run"),
    ...resultEndpoints(parts),
  };
}

type OfResults =
  | "result"
  | "shapes"
  | "picture"
  | "working"
  | "tests"
  | "at"
  | "file"
  | "zip"
  | "handOver"
  | "sampling"
  | "samplingFile"
  | "samplingZip"
  | "report";

function resultEndpoints({service, results, shelf, pool}: EndpointParts): Pick<Endpoints, OfResults> {
  /** Has a thread work on a result, the one that has it at hand. */
  const on = async <T>(id: string, work: (spec: RunSpec, field: string) => Promise<T>): Promise<T> => {
    const {spec, field} = await results.known(id);
    return work(spec, field);
  };
  const fileOf = async (result: KnownResult, name: string): Promise<Uint8Array> =>
    (await results.file(result, name)) ?? missing("such file among the outputs");
  const samplingOf = (id: string, paper: Paper): Promise<ReadonlyMap<string, Uint8Array>> =>
    on(id, (spec, field) => pool.call("sampling", {spec, paper}, field));
  return {
    result: async (id) => results.card(await results.known(id)),
    shapes: async (id, name) => (await results.shapes(await results.known(id), name)) ?? missing("such shapes"),
    picture: (id, layer, ramp) =>
      on(id, async (spec, field) => (await pool.call("picture", {spec, layer, ramp}, field)) ?? missing("such layer")),
    working: (id, strategy, unit) =>
      on(
        id,
        async (spec, field) => (await pool.call("working", {spec, strategy, unit}, field)) ?? missing("such unit"),
      ),
    tests: (id) => on(id, (spec, field) => pool.call("tests", {spec}, field)),
    at: (id, lon, lat) => on(id, (spec, field) => pool.call("at", {spec, lon, lat}, field)),
    file: async (id, name) => ({
      name: name.split("/").at(-1) ?? name,
      type: typeOf(name),
      bytes: await fileOf(await results.known(id), name),
    }),
    zip: async (id, of) => {
      const result = await results.known(id);
      const {comparison, outputs} = await results.card(result);
      const root = of === "folder" ? FOLDER : "";
      const names = outputs.map(({name}) => name).filter((name) => name.startsWith(root));
      if (names.length === 0) missing(of === "folder" ? "folder for the applicator among the outputs" : "output");
      const files = new Map<string, Uint8Array>();
      for (const name of names) files.set(name.slice(root.length), await fileOf(result, name));
      const name = `${comparison.field}${of === "folder" ? " for the applicator" : ""}.zip`;
      return {name, type: typeOf(name), bytes: await pool.call("zip", {files}, result.field)};
    },
    handOver: async (id, request) => {
      const result = await results.known(id);
      await handOver({shelf, results}, result, request);
      return service.page(result.field);
    },
    sampling: async (id, paper) => samplingCards(await samplingOf(id, paper)),
    samplingFile: async (id, name, paper) => ({
      name,
      type: typeOf(name),
      bytes: (await samplingOf(id, paper)).get(name) ?? missing("such file for the sampler"),
    }),
    samplingZip: async (id, paper, of) => {
      const result = await results.known(id);
      const papers = [...(await samplingOf(id, paper))].filter(([name]) => of === "all" || isOfPlan(name, of));
      if (papers.length === 0) missing(`${of} plan among the strategies`);
      const name = `${(await results.card(result)).comparison.field} for the sampler${of === "all" ? "" : `, ${of}`}.zip`;
      return {name, type: typeOf(name), bytes: await pool.call("zip", {files: new Map(papers)}, result.field)};
    },
    report: (id, how) => on(id, (spec, field) => pool.call("report", {spec, ...how}, field)),
  };
}

function missing(what: string): never {
  throw notFound(what);
}
