import {Hono} from "hono";
import {isFieldError} from "../errors.ts";
import type {ErrorBody} from "./api-types.ts";
import type {BodyLimits} from "./body.ts";
import {type EndpointParts, endpointsOf} from "./endpoints.ts";
import {checkCaller, checkToken, type Guard} from "./guard.ts";
import type {PageFile} from "./pages.ts";
import {pagePolicy} from "./preferences.ts";
import {sent} from "./reading.ts";
import {notFound, statusOf} from "./refuse.ts";
import {addRoutes, decoded} from "./routes.ts";
import {apiErrorOf} from "./tasks.ts";

export interface AppParts extends Omit<EndpointParts, "token"> {
  readonly guard: Guard;
  readonly page: (name: string) => PageFile | undefined;
  readonly limits: BodyLimits;
  /** Told of failures that are no user's fault. */
  readonly report: (error: unknown) => void;
}

/** Every address of the server: who may ask, the API, the page, and what is said of everything else. */
export function makeApp(parts: AppParts): Hono {
  const app = new Hono();
  const {guard, limits, report} = parts;

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

  addRoutes(app, endpointsOf({...parts, token: guard.token}), limits);
  app.all("/api/*", () => {
    throw notFound("such address", "See docs/serve.md for what can be asked.");
  });
  addPages(app, parts);
  return app;
}

function addPages(app: Hono, {page, preferences}: AppParts): void {
  app.get("*", async (c) => {
    const name = decoded(c.req.path.replace(/^\/+/, "")) || "index.html";
    const file = page(name);
    c.header("content-security-policy", pagePolicy(await preferences.get()));
    if (!file) return c.html(name === "index.html" ? NOT_BUILT : NOT_THERE, 404);
    if (file.lasting) c.header("cache-control", "public, max-age=31536000, immutable");
    return sent(c, file.bytes, file.type);
  });
}

const NOT_BUILT =
  "<!doctype html><title>Loamwright</title><p>The page has not been built. Run <code>npm run build</code> and load this again; the API under /api answers meanwhile.</p>";
const NOT_THERE = "<!doctype html><title>Loamwright</title><p>There is no such page.</p>";
