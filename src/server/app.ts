import {Hono} from "hono";
import {isFieldError} from "../errors.ts";
import {z} from "../pipeline/job/shared.ts";
import {CAUTION} from "../pipeline/run-record.ts";
import {VERSION} from "../pipeline/version.ts";
import type {ErrorBody, Session} from "./api-types.ts";
import {checked, chunksOf, jsonOf} from "./body.ts";
import {checkCaller, checkToken, type Guard} from "./guard.ts";
import {FOLDER, handOver} from "./hand-over.ts";
import type {PageFile} from "./pages.ts";
import {typeOf} from "./pages.ts";
import type {Pool} from "./pool.ts";
import {notFound, statusOf} from "./refuse.ts";
import type {KnownResult, Results} from "./results.ts";
import type {Service} from "./service.ts";
import type {Shelf} from "./shelf.ts";
import type {Sources} from "./sources.ts";
import {taskEvents} from "./task-events.ts";
import {apiErrorOf, type Tasks} from "./tasks.ts";
import {tooLarge} from "./tray.ts";

export interface AppParts {
  readonly service: Service;
  readonly sources: Sources;
  readonly results: Results;
  readonly tasks: Tasks;
  readonly shelf: Shelf;
  readonly pool: Pool;
  readonly guard: Guard;
  readonly page: (name: string) => PageFile | undefined;
  readonly limits: {readonly jsonBytes: number; readonly fileBytes: number; readonly idleMs: number};
  /** Told of failures that are no user's fault. */
  readonly report: (error: unknown) => void;
}

const newField = z.strictObject({
  name: z.string().trim().min(1).max(200),
  farm: z.string().max(200).optional(),
  boundary: z.string(),
});
const plainObject = z.record(z.string(), z.unknown());
const attachment = z.strictObject({
  source: z.string(),
  as: z.enum(["yield", "soil map", "elevation", "lab", "raster", "points", "keep-out", "setback", "zones", "boundary"]),
  settings: plainObject.optional(),
});
const runRequest = z.strictObject({evidence: z.boolean().optional(), upTo: z.enum(["plan", "all"]).optional()});
const place = z.object({lon: z.coerce.number().min(-180).max(180), lat: z.coerce.number().min(-90).max(90)});
const pictureQuery = z.object({ramp: z.enum(["blue", "ochre", "grey", "diverging"]).default("blue")});
const handOverRequest = z.strictObject({
  files: z.array(z.string().max(300)).max(1000),
  to: z.string().trim().max(200).optional(),
  acknowledged: z.boolean().optional(),
});
const zipQuery = z.object({of: z.enum(["all", "folder"]).default("all")});
const reportQuery = z.object({
  paper: z.enum(["letter", "a4"]).default("letter"),
  kind: z.enum(["field", "record"]).default("field"),
  date: z.string().max(40).optional(),
});

/** For the pages of the bench: nothing from elsewhere, no frames of others around it. */
const PAGE_POLICY =
  "default-src 'self'; img-src 'self' data: blob:; style-src 'self' 'unsafe-inline'; worker-src 'self' blob:; object-src 'none'; base-uri 'self'; form-action 'self'; frame-ancestors 'self'";
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

/** Every address of the server. */
export function makeApp(parts: AppParts): Hono {
  const app = new Hono();
  const {guard, report} = parts;

  app.use("*", async (c, next) => {
    c.header("x-content-type-options", "nosniff");
    c.header("referrer-policy", "no-referrer");
    c.header("cross-origin-resource-policy", "same-origin");
    c.header("cache-control", "no-store");
    checkCaller(c.req.raw.headers, guard);
    if (!["GET", "HEAD"].includes(c.req.method)) checkToken(c.req.raw.headers, guard);
    await next();
  });

  app.onError((error, c) => {
    // Who gave up is told nothing.
    if (error.name === "AbortError") return c.body(null, 204);
    if (!isFieldError(error)) report(error);
    return c.json({error: apiErrorOf(error)} satisfies ErrorBody, statusOf(error));
  });

  addFields(app, parts);
  addTasks(app, parts);
  addResults(app, parts);
  app.all("/api/*", () => {
    throw notFound("such address", "See docs/serve.md for what can be asked.");
  });
  addPages(app, parts);
  return app;
}

function addFields(app: Hono, {service, sources, shelf, guard, limits}: AppParts): void {
  app.get("/api/session", (c) =>
    c.json({token: guard.token, version: VERSION, book: shelf.name, caution: CAUTION} satisfies Session),
  );
  app.get("/api/fields", async (c) => c.json(await service.fields()));
  app.post("/api/fields", async (c) => c.json(await service.addField(await jsonOf(c.req.raw, newField, limits)), 201));
  app.get("/api/fields/:id", async (c) => c.json(await service.page(c.req.param("id"))));
  app.put("/api/fields/:id/job", async (c) => {
    const job = await jsonOf(c.req.raw, plainObject, limits);
    const seen = c.req.header("x-job-version");
    return c.json(await service.putJob(c.req.param("id"), job, seen === undefined ? undefined : Number(seen)));
  });
  app.post("/api/fields/:id/undo", async (c) => c.json(await service.undo(c.req.param("id"))));
  app.post("/api/fields/:id/redo", async (c) => c.json(await service.redo(c.req.param("id"))));
  app.post("/api/fields/:id/attach", async (c) =>
    c.json(await service.attach(c.req.param("id"), await jsonOf(c.req.raw, attachment, limits))),
  );
  app.post("/api/fields/:id/run", async (c) =>
    c.json(await service.run(c.req.param("id"), await jsonOf(c.req.raw, runRequest, limits)), 202),
  );
  app.post("/api/files", async (c) => {
    const name = decoded(c.req.header("x-file-name") ?? "");
    if (Number(c.req.header("content-length") ?? 0) > limits.fileBytes) throw tooLarge(name, limits.fileBytes);
    return c.json(await sources.take(name, chunksOf(c.req.raw, limits.idleMs)), 201);
  });
}

function addTasks(app: Hono, {tasks}: AppParts): void {
  app.get("/api/tasks/:id", (c) => c.json(tasks.get(c.req.param("id")) ?? missing("run")));
  app.get("/api/tasks/:id/events", (c) => {
    const id = c.req.param("id");
    if (!tasks.get(id)) missing("run");
    c.header("content-type", "text/event-stream");
    return c.body(taskEvents(tasks, id));
  });
  app.delete("/api/tasks/:id", (c) => c.json(tasks.cancel(c.req.param("id")) ?? missing("run")));
}

function addResults(app: Hono, {results, service, shelf, pool, limits}: AppParts): void {
  const known = (id: string): Promise<KnownResult> => results.known(id);
  app.get("/api/results/:id", async (c) => c.json(await results.card(await known(c.req.param("id")))));
  app.get("/api/results/:id/shapes/:name", async (c) => {
    const {spec, field} = await known(c.req.param("id"));
    const bytes = await pool.call("shapes", {spec, name: c.req.param("name")}, field);
    c.header("content-type", "application/geo+json");
    return c.body(bodyOf(bytes ?? missing("such shapes")));
  });
  app.get("/api/results/:id/layers/:file{.+\\.png}", async (c) => {
    const {spec, field} = await known(c.req.param("id"));
    const {ramp} = checked(c.req.query(), pictureQuery, "the address");
    const layer = c.req.param("file").replace(/\.png$/, "");
    const picture = (await pool.call("picture", {spec, layer, ramp}, field)) ?? missing("such layer");
    c.header("content-type", "image/png");
    c.header(
      "x-corners",
      picture.corners
        .flat()
        .map((degrees) => degrees.toFixed(8))
        .join(","),
    );
    return c.body(bodyOf(picture.png));
  });
  app.get("/api/results/:id/working/:strategy/:unit", async (c) => {
    const {spec, field} = await known(c.req.param("id"));
    const {strategy, unit} = c.req.param();
    return c.json((await pool.call("working", {spec, strategy, unit}, field)) ?? missing("such unit"));
  });
  app.get("/api/results/:id/at", async (c) => {
    const {spec, field} = await known(c.req.param("id"));
    return c.json(await pool.call("at", {spec, ...checked(c.req.query(), place, "the address")}, field));
  });
  app.get("/api/results/:id/files/:name{.+}", async (c) => {
    const name = c.req.param("name");
    const bytes = await results.file(await known(c.req.param("id")), name);
    c.header("content-type", typeOf(name));
    c.header("content-security-policy", DOCUMENT_POLICY);
    c.header(
      "content-disposition",
      `attachment; filename*=UTF-8''${encodeURIComponent(name.split("/").at(-1) ?? name)}`,
    );
    return c.body(bodyOf(bytes ?? missing("such file among the outputs")));
  });
  app.get("/api/results/:id/report", async (c) => {
    const {spec, field} = await known(c.req.param("id"));
    const html = await pool.call("report", {spec, ...checked(c.req.query(), reportQuery, "the address")}, field);
    c.header("content-security-policy", REPORT_POLICY);
    return c.html(html);
  });
  app.get("/api/results/:id/files.zip", async (c) => {
    const {of} = checked(c.req.query(), zipQuery, "the address");
    const result = await known(c.req.param("id"));
    const {comparison, outputs} = await results.card(result);
    const root = of === "folder" ? FOLDER : "";
    const names = outputs.map(({name}) => name).filter((name) => name.startsWith(root));
    if (names.length === 0) missing(of === "folder" ? "folder for the applicator among the outputs" : "output");
    const files = new Map<string, Uint8Array>();
    for (const name of names) {
      files.set(name.slice(root.length), (await results.file(result, name)) ?? missing("such file among the outputs"));
    }
    c.header("content-type", "application/zip");
    const name = `${comparison.field}${of === "folder" ? " for the applicator" : ""}.zip`;
    c.header("content-disposition", `attachment; filename*=UTF-8''${encodeURIComponent(name)}`);
    return c.body(bodyOf(await pool.call("zip", {files}, result.field)));
  });
  app.post("/api/results/:id/handed-over", async (c) => {
    const result = await known(c.req.param("id"));
    await handOver({shelf, results}, result, await jsonOf(c.req.raw, handOverRequest, limits));
    return c.json(await service.page(result.field), 201);
  });
}

function addPages(app: Hono, {page}: AppParts): void {
  app.get("*", (c) => {
    const name = decoded(c.req.path.replace(/^\/+/, "")) || "index.html";
    const file = page(name);
    c.header("content-security-policy", PAGE_POLICY);
    if (!file) return c.html(name === "index.html" ? NOT_BUILT : NOT_THERE, 404);
    c.header("content-type", file.type);
    if (file.lasting) c.header("cache-control", "public, max-age=31536000, immutable");
    return c.body(bodyOf(file.bytes));
  });
}

const NOT_BUILT =
  "<!doctype html><title>Loamwright</title><p>The page has not been built. Run <code>npm run build</code> and load this again; the API under /api answers meanwhile.</p>";
const NOT_THERE = "<!doctype html><title>Loamwright</title><p>There is no such page.</p>";

function missing(what: string): never {
  throw notFound(what);
}

/** As the platform wants it: bytes that are all of their buffer's or a copy of them. */
const bodyOf = (bytes: Uint8Array): Uint8Array<ArrayBuffer> => bytes as Uint8Array<ArrayBuffer>;

/** What was written for a header or an address; as it stands where it was not. */
function decoded(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}
