import type {FeatureCollection} from "geojson";
import type {Context, Hono} from "hono";
import type {LonLat} from "../geo/shapes.ts";
import type {Paper} from "../report/page-html.ts";
import type {Strategy} from "../sampling/plan.ts";
import type {
  AtPoint,
  AttachRequest,
  ColumnRoles,
  DetachRequest,
  FieldCard,
  FieldPage,
  GroundKind,
  GuideCard,
  HandOverRequest,
  NewFieldRequest,
  Preferences,
  Ramp,
  ResultCard,
  RunRequest,
  SamplingFileCard,
  Session,
  SourceCard,
  TaskState,
  TestsPage,
  WorkingPage,
} from "./api-types.ts";
import {type BodyLimits, chunksOf} from "./body.ts";
import {preferencesShape} from "./preferences.ts";
import {headers, json, jsonReader, query, sent, written} from "./reading.ts";
import * as shapes from "./request-shapes.ts";

// Every address of the API. The type of the chain below is all that the page knows of it: a wrong path, body or answer
// does not compile there. To add an address: a line in `Endpoints`, a line in the chain, what it does in `endpoints.ts`,
// and the shape of what it is sent in `request-shapes.ts`. This file and those it imports know neither Node nor a browser.

/** What the addresses lead to. Whatever is not there is refused with `server/not-found`. */
export interface Endpoints {
  session(): Session;
  preferences(): Promise<Preferences>;
  putPreferences(wanted: Preferences): Promise<Preferences>;
  guides(): GuideCard[];
  columnRoles(): ColumnRoles;
  /** JSON Schema of a job. */
  jobSchema(): Readonly<Record<string, unknown>>;
  fields(): Promise<FieldCard[]>;
  addField(request: NewFieldRequest): Promise<FieldPage>;
  page(id: string): Promise<FieldPage>;
  /** @param seen - The version the change was made to. */
  putJob(id: string, job: Readonly<Record<string, unknown>>, seen: number | undefined): Promise<FieldPage>;
  undo(id: string, seen: number | undefined): Promise<FieldPage>;
  redo(id: string, seen: number | undefined): Promise<FieldPage>;
  attach(id: string, request: AttachRequest, seen: number | undefined): Promise<FieldPage>;
  detach(id: string, request: DetachRequest): Promise<FieldPage>;
  /** GeoJSON. @param entry - Counts from 0 in the job's list. */
  drawn(id: string, kind: GroundKind, entry: number): Promise<Uint8Array>;
  run(id: string, request: RunRequest): Promise<TaskState>;
  takeFile(name: string, chunks: AsyncIterable<Uint8Array>): Promise<SourceCard>;
  task(id: string): TaskState;
  /** As server-sent events. */
  taskEvents(id: string): ReadableStream<Uint8Array<ArrayBuffer>>;
  cancel(id: string): TaskState;
  result(id: string): Promise<ResultCard>;
  /** GeoJSON. */
  shapes(id: string, name: string): Promise<Uint8Array>;
  picture(id: string, layer: string, ramp: Ramp): Promise<{png: Uint8Array; corners: readonly LonLat[]}>;
  working(id: string, strategy: string, unit: string): Promise<WorkingPage>;
  tests(id: string): Promise<TestsPage>;
  at(id: string, lon: number, lat: number): Promise<AtPoint>;
  file(id: string, name: string): Promise<ServedFile>;
  zip(id: string, of: "all" | "folder"): Promise<ServedFile>;
  handOver(id: string, request: HandOverRequest): Promise<FieldPage>;
  sampling(id: string, paper: Paper): Promise<SamplingFileCard[]>;
  samplingFile(id: string, name: string, paper: Paper): Promise<ServedFile>;
  samplingZip(id: string, paper: Paper, of: "all" | Strategy): Promise<ServedFile>;
  /** HTML. */
  report(id: string, how: {paper: Paper; kind: "field" | "record"; date?: string | undefined}): Promise<string>;
}

export interface ServedFile {
  /** Under which it is saved. */
  readonly name: string;
  readonly type: string;
  readonly bytes: Uint8Array;
}

/** For documents made from people's files: no scripts, nothing loaded. */
const DOCUMENT_POLICY =
  "default-src 'none'; img-src data:; font-src data:; style-src 'unsafe-inline'; frame-ancestors 'self'; sandbox allow-modals allow-popups";

/**
 * For the reports that the bench shows in a frame and prints from there. `allow-same-origin` lets the bench reach into
 * its own frame to print it; alone it gives the document nothing, because scripts stay forbidden twice over (no
 * `allow-scripts`, and `default-src 'none'`): what does not run cannot use an origin. With `allow-scripts` beside it the
 * sandbox would be worth nothing, so the two must never stand together.
 */
const REPORT_POLICY = `${DOCUMENT_POLICY} allow-same-origin`;

export type Routes = ReturnType<typeof addRoutes>;

export function addRoutes(app: Hono, to: Endpoints, limits: BodyLimits) {
  const body = jsonReader(limits);
  return app
    .get("/api/session", (c) => json(c, to.session()))
    .get("/api/preferences", async (c) => json(c, await to.preferences()))
    .put("/api/preferences", body(preferencesShape), async (c) => json(c, await to.putPreferences(c.req.valid("json"))))
    .get("/api/guides", (c) => json(c, to.guides()))
    .get("/api/column-roles", (c) => json(c, to.columnRoles()))
    .get("/api/job-schema", (c) => json(c, to.jobSchema()))
    .get("/api/fields", async (c) => json(c, await to.fields()))
    .post("/api/fields", body(shapes.newField), async (c) => json(c, await to.addField(c.req.valid("json")), 201))
    .get("/api/fields/:id", async (c) => json(c, await to.page(c.req.param("id"))))
    .put("/api/fields/:id/job", headers(shapes.jobHeader), body(shapes.plainObject), async (c) =>
      json(c, await to.putJob(c.req.param("id"), c.req.valid("json"), c.req.valid("header")["x-job-version"])),
    )
    .post("/api/fields/:id/undo", headers(shapes.jobHeader), async (c) =>
      json(c, await to.undo(c.req.param("id"), c.req.valid("header")["x-job-version"])),
    )
    .post("/api/fields/:id/redo", headers(shapes.jobHeader), async (c) =>
      json(c, await to.redo(c.req.param("id"), c.req.valid("header")["x-job-version"])),
    )
    .post("/api/fields/:id/attach", headers(shapes.jobHeader), body(shapes.attachment), async (c) =>
      json(c, await to.attach(c.req.param("id"), c.req.valid("json"), c.req.valid("header")["x-job-version"])),
    )
    .post("/api/fields/:id/detach", body(shapes.detachment), async (c) =>
      json(c, await to.detach(c.req.param("id"), c.req.valid("json"))),
    )
    .get("/api/fields/:id/drawn", query(shapes.drawnQuery), async (c) => {
      const {kind, entry} = c.req.valid("query");
      return written<FeatureCollection>(c, await to.drawn(c.req.param("id"), kind, entry), "application/geo+json");
    })
    .post("/api/fields/:id/run", body(shapes.runRequest), async (c) =>
      json(c, await to.run(c.req.param("id"), c.req.valid("json")), 202),
    )
    .post("/api/files", headers(shapes.fileHeader), async (c) => {
      const name = decoded(c.req.valid("header")["x-file-name"]);
      const chunks = chunksOf(c.req.raw, {
        what: name || "The file",
        mostBytes: limits.fileBytes,
        idleMs: limits.idleMs,
      });
      return json(c, await to.takeFile(name, chunks), 201);
    })
    .get("/api/tasks/:id", (c) => json(c, to.task(c.req.param("id"))))
    .get("/api/tasks/:id/events", (c) =>
      c.body(to.taskEvents(c.req.param("id")), 200, {"content-type": "text/event-stream"}),
    )
    .delete("/api/tasks/:id", (c) => json(c, to.cancel(c.req.param("id"))))
    .get("/api/results/:id", async (c) => json(c, await to.result(c.req.param("id"))))
    .get("/api/results/:id/shapes/:name", async (c) => {
      const {id, name} = c.req.param();
      return written<FeatureCollection>(c, await to.shapes(id, name), "application/geo+json");
    })
    .get("/api/results/:id/layers/:picture{.+\\.png}", query(shapes.pictureQuery), async (c) => {
      const layer = c.req.param("picture").replace(/\.png$/, "");
      const {png, corners} = await to.picture(c.req.param("id"), layer, c.req.valid("query").ramp);
      c.header("x-corners", corners.flatMap((corner) => corner.map((degrees) => degrees.toFixed(8))).join(","));
      return sent(c, png, "image/png");
    })
    .get("/api/results/:id/working/:strategy/:unit", async (c) => {
      const {id, strategy, unit} = c.req.param();
      return json(c, await to.working(id, strategy, unit));
    })
    .get("/api/results/:id/tests", async (c) => json(c, await to.tests(c.req.param("id"))))
    .get("/api/results/:id/at", query(shapes.placeQuery), async (c) => {
      const {lon, lat} = c.req.valid("query");
      return json(c, await to.at(c.req.param("id"), lon, lat));
    })
    .get("/api/results/:id/files/:name{.+}", async (c) =>
      download(c, await to.file(c.req.param("id"), c.req.param("name"))),
    )
    .get("/api/results/:id/files.zip", query(shapes.zipQuery), async (c) =>
      download(c, await to.zip(c.req.param("id"), c.req.valid("query").of)),
    )
    .get("/api/results/:id/sampling", query(shapes.samplingQuery), async (c) =>
      json(c, await to.sampling(c.req.param("id"), c.req.valid("query").paper)),
    )
    .get("/api/results/:id/sampling/:name", query(shapes.samplingQuery), async (c) => {
      const {id, name} = c.req.param();
      return toPrintOrKeep(c, await to.samplingFile(id, name, c.req.valid("query").paper));
    })
    .get("/api/results/:id/sampling.zip", query(shapes.samplingZipQuery), async (c) => {
      const {paper, of} = c.req.valid("query");
      return download(c, await to.samplingZip(c.req.param("id"), paper, of));
    })
    .post("/api/results/:id/handed-over", body(shapes.handOverRequest), async (c) =>
      json(c, await to.handOver(c.req.param("id"), c.req.valid("json")), 201),
    )
    .get("/api/results/:id/report", query(shapes.reportQuery), async (c) => {
      c.header("content-security-policy", REPORT_POLICY);
      return c.html(await to.report(c.req.param("id"), c.req.valid("query")));
    });
}

/** Sheets and labels open in the browser, from where they are printed. */
const toPrintOrKeep = (c: Context, file: ServedFile): Response =>
  download(c, file, file.type.startsWith("text/html") ? "inline" : "attachment");

function download(c: Context, {name, type, bytes}: ServedFile, how: "attachment" | "inline" = "attachment"): Response {
  c.header("content-security-policy", DOCUMENT_POLICY);
  c.header("content-disposition", `${how}; filename*=UTF-8''${encodeURIComponent(name)}`);
  return sent(c, bytes, type);
}

/** What was written for a header or an address; as it stands where it was not. */
export function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}
