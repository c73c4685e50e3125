import {randomBytes} from "node:crypto";
import type {Server} from "node:http";
import type {AddressInfo} from "node:net";
import {availableParallelism} from "node:os";
import {serve} from "@hono/node-server";
import {FieldError} from "../errors.ts";
import {makeApp} from "./app.ts";
import {getReady} from "./get-ready.ts";
import {VIEW_FORM} from "./make-results.ts";
import {pageFiles} from "./pages.ts";
import {poolOf} from "./pool.ts";
import {preferencesOn} from "./preferences.ts";
import {makeResults} from "./results.ts";
import {makeService, type Service} from "./service.ts";
import type {Shelf} from "./shelf.ts";
import {endSlowReaders} from "./slow-readers.ts";
import {sourcesOf} from "./sources.ts";
import {makeTasks} from "./tasks.ts";
import {isThreadStopped, startThread} from "./thread.ts";
import {makeTray} from "./tray.ts";
import {USUAL_PORT} from "./usual-port.ts";

export interface ServerOptions {
  readonly shelf: Shelf;
  /** First file of a working thread; see `workOf`. */
  readonly thread: URL;
  /** Where the page was built to. */
  readonly web: string;
  /** 0 takes any that is free. Default 4173. */
  readonly port?: number;
  /** Working threads. Default: one less than the machine can run at once, two to four. */
  readonly threads?: number;
  /** Most bytes of a file sent in. Default 1 GiB. */
  readonly fileBytes?: number;
  /** Most bytes of any other request. Default 4 MB. */
  readonly jsonBytes?: number;
  /** Longest silence in the middle of a request, and longest time for its headers. Default 10 s. */
  readonly idleMs?: number;
  /** Longest time for a whole request, a large file included. Default 10 min. */
  readonly requestMs?: number;
  /** How long somebody may read nothing of an answer that lies ready. Default 20 s, checked as often. */
  readonly readMs?: number;
  /** Told of failures that are no user's fault. */
  readonly report?: (error: unknown) => void;
}

export interface RunningServer {
  readonly url: string;
  readonly port: number;
  readonly token: string;
  readonly service: Service;
  /** Lets go of the port, the threads, the tray and the shelf. */
  close(): Promise<void>;
}

/**
 * Serves a shelf on this machine alone: it listens on 127.0.0.1 and on nothing else.
 *
 * @throws {FieldError} `server/port-taken`, `server/port-forbidden`.
 */
export async function startServer(options: ServerOptions): Promise<RunningServer> {
  const {shelf, thread, web, port = USUAL_PORT} = options;
  let closing = false;
  const report = (error: unknown): void => {
    if (!closing) options.report?.(error);
  };
  const {fileBytes = 2 ** 30, jsonBytes = 4_000_000, idleMs = 10_000, requestMs = 600_000} = options;
  const size = options.threads ?? Math.max(2, Math.min(4, availableParallelism() - 1));
  const tray = makeTray(4 * fileBytes);
  process.once("exit", tray.close);
  const answers = (name: string, args: unknown): Promise<unknown> => {
    if (name === "bytes") return sources.bytes(args as string);
    if (name === "view") return shelf.viewOf(args as string, VIEW_FORM);
    throw new Error(`threads may not ask for ${name}`);
  };
  const pool = poolOf(size, (onEnd) =>
    startThread(thread, {}, answers, (error) => {
      if (!isThreadStopped(error)) report(error);
      onEnd();
    }),
  );
  const tasks = makeTasks(report);
  const sources = sourcesOf(shelf, tray, () => pool);
  const results = makeResults(shelf, () => pool, report);
  const ready = getReady(pool);
  const service = makeService({shelf, pool, sources, results, tasks, getReady: ready, report});
  const token = randomBytes(32).toString("base64url");
  let bound = port;
  const guard = {token, port: () => bound};
  const limits = {fileBytes, jsonBytes, idleMs};
  const preferences = preferencesOn(shelf);
  const app = makeApp({
    service,
    preferences,
    sources,
    results,
    tasks,
    shelf,
    pool,
    guard,
    page: pageFiles(web),
    limits,
    report,
  });
  const close = async (): Promise<void> => {
    closing = true;
    tasks.close();
    ready.close();
    await within(SETTLE_MS, results.settle());
    await pool.end();
    tray.close();
    process.removeListener("exit", tray.close);
    await shelf.close();
  };
  let server: Server;
  try {
    server = await listening(app.fetch, port, {idleMs, requestMs});
  } catch (error) {
    await close();
    throw error;
  }
  bound = (server.address() as AddressInfo).port;
  server.maxConnections = MOST_CONNECTIONS;
  // Where nothing moves for two minutes nobody is left; runs that are watched send signs of life.
  server.setTimeout(SILENCE_MS);
  endSlowReaders(server, options.readMs ?? 20_000);
  // What the first page asks for: by then it is read, and what that takes is at hand.
  preferences.get().then(service.fields).catch(report);
  return {
    url: `http://127.0.0.1:${bound}/`,
    port: bound,
    token,
    service,
    close: async () => {
      const closed = new Promise<void>((resolve) => server.close(() => resolve()));
      server.closeAllConnections();
      await close();
      await closed;
    },
  };
}

/** Longest wait at the end for what is to be kept of results; what is not kept is made again. */
const SETTLE_MS = 3000;

async function within(ms: number, work: Promise<void>): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  await Promise.race([work, new Promise<void>((resolve) => (timer = setTimeout(resolve, ms)))]);
  clearTimeout(timer);
}

const KEEP_ALIVE_MS = 60_000;
const SILENCE_MS = 120_000;
const MOST_CONNECTIONS = 200;

function listening(
  fetch: (request: Request) => Response | Promise<Response>,
  port: number,
  {idleMs, requestMs}: {readonly idleMs: number; readonly requestMs: number},
): Promise<Server> {
  const serverOptions = {
    headersTimeout: Math.min(idleMs, requestMs),
    requestTimeout: requestMs,
    keepAliveTimeout: KEEP_ALIVE_MS,
    // How often it is looked whether somebody is late.
    connectionsCheckingInterval: Math.max(100, Math.min(idleMs, requestMs) / 4),
  };
  return new Promise((resolve, reject) => {
    const server = serve({fetch, port, hostname: "127.0.0.1", serverOptions}, () => resolve(server as Server));
    server.on("error", (error: {code?: string}) => {
      const hint = "Choose another with --port, as in --port 4180.";
      if (error.code === "EADDRINUSE") reject(new FieldError("server/port-taken", `Port ${port} is in use.`, {hint}));
      else if (error.code === "EACCES")
        reject(new FieldError("server/port-forbidden", `Port ${port} is not for us.`, {hint}));
      else reject(error);
    });
  });
}
