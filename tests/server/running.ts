import {mkdtempSync, readFileSync, rmSync} from "node:fs";
import {request} from "node:http";
import {connect} from "node:net";
import {tmpdir} from "node:os";
import {join} from "node:path";
import type {FieldPage, ResultCard, SourceCard, TaskState} from "../../src/server/api-types.ts";
import {type RunningServer, type ServerOptions, startServer} from "../../src/server/listen.ts";
import {memoryShelf} from "../../src/server/memory-shelf.ts";

export const SAMPLES = new URL("../../sample-data/", import.meta.url).pathname;
/** A thread for servers that are asked for no work. */
export const IDLE_THREAD = new URL(
  "data:text/javascript,import {parentPort} from 'node:worker_threads'; parentPort.on('message', () => {});",
);
export const RUN_THREAD = new URL("../../src/cli/run-thread.ts", import.meta.url);

/** A server on a random port of this machine, and a client that has its token. */
export interface Running {
  readonly server: RunningServer;
  readonly reported: unknown[];
  ask(path: string, init?: RequestInit): Promise<Response>;
  json<T>(path: string, init?: RequestInit): Promise<T>;
  tell(method: string, path: string, body?: unknown, headers?: Record<string, string>): Promise<Response>;
  told<T>(method: string, path: string, body?: unknown): Promise<T>;
  upload(name: string, bytes: Uint8Array): Promise<SourceCard>;
  /** Runs a field to the end. */
  run(field: string, body?: unknown): Promise<ResultCard>;
  close(): Promise<void>;
}

export async function running(options: Partial<ServerOptions> = {}): Promise<Running> {
  const reported: unknown[] = [];
  const server = await startServer({
    shelf: memoryShelf(),
    thread: RUN_THREAD,
    web: "/nowhere",
    port: 0,
    threads: 1,
    report: (error) => reported.push(error),
    ...options,
  });
  const base = server.url.replace(/\/$/, "");
  const ask: Running["ask"] = (path, init) => fetch(base + path, init);
  const tell: Running["tell"] = (method, path, body, headers = {}) =>
    ask(path, {
      method,
      headers: {"x-loamwright-token": server.token, ...headers},
      ...(body !== undefined && {body: typeof body === "string" ? body : JSON.stringify(body)}),
    });
  const good = async <T>(response: Response): Promise<T> => {
    if (!response.ok) throw new Error(`${response.status}: ${await response.text()}`);
    return (await response.json()) as T;
  };
  return {
    server,
    reported,
    ask,
    tell,
    json: async (path, init) => good(await ask(path, init)),
    told: async (method, path, body) => good(await tell(method, path, body)),
    upload: async (name, bytes) =>
      good(
        await ask("/api/files", {
          method: "POST",
          headers: {"x-loamwright-token": server.token, "x-file-name": encodeURIComponent(name)},
          body: bytes as Uint8Array<ArrayBuffer>,
        }),
      ),
    run: async (field, body = {}) => {
      const {id} = await good<TaskState>(await tell("POST", `/api/fields/${field}/run`, body));
      const task = await ended(ask, id);
      if (task.result) return task.result;
      throw new Error(JSON.stringify(task.error ?? task));
    },
    close: () => server.close(),
  };
}

/** The last state of a run, from its events. */
export async function ended(ask: Running["ask"], id: string): Promise<TaskState> {
  const text = await (await ask(`/api/tasks/${id}/events`)).text();
  const states = text.split("\n\n").filter((event) => event.startsWith("data: "));
  return JSON.parse((states.at(-1) ?? "").slice("data: ".length)) as TaskState;
}

export const sample = (field: string, name: string): Uint8Array =>
  new Uint8Array(readFileSync(join(SAMPLES, field, name)));

/** Kiln Forty's job and everything it reads. */
export function kilnForty(): {text: string; job: Record<string, unknown>; files: Map<string, Uint8Array>} {
  const text = new TextDecoder().decode(sample("kiln-forty", "job.json"));
  const names = [
    "boundary.geojson",
    "yield-2023-corn.csv",
    "yield-2024-soybean.csv",
    "yield-2025-corn.csv",
    "soil.geojson",
    "elevation.tif",
    "lab-whole-field.csv",
    "lab-grid.csv",
    "lab-zone.csv",
  ];
  return {text, job: JSON.parse(text), files: new Map(names.map((name) => [name, sample("kiln-forty", name)]))};
}

/** A server with Kiln Forty in its book. */
export async function withKilnForty(
  options: Partial<ServerOptions> = {},
): Promise<Running & {page(): Promise<FieldPage>}> {
  const one = await running(options);
  const {text, files} = kilnForty();
  await one.server.service.putIn(text, files);
  return {...one, page: () => one.json<FieldPage>("/api/fields/1")};
}

export function scratch(): {path: string; remove(): void} {
  const path = mkdtempSync(join(tmpdir(), "loamwright-server-test-"));
  return {path, remove: () => rmSync(path, {recursive: true, force: true})};
}

/** A request with any headers at all: `fetch` sets some of them itself. */
export function raw(
  port: number,
  path: string,
  {method = "GET", headers = {}}: {method?: string; headers?: Record<string, string>} = {},
): Promise<{status: number; body: string}> {
  return new Promise((resolve, reject) => {
    const sent = request({host: "127.0.0.1", port, path, method, headers}, (response) => {
      let body = "";
      response.on("data", (chunk) => {
        body += chunk;
      });
      response.on("end", () => resolve({status: response.statusCode ?? 0, body}));
    });
    sent.on("error", reject);
    sent.end();
  });
}

/** Writes bytes of any kind to the port and gives what comes back, until it says so much, or the connection ends. */
export function spoken(port: number, text: string, {until = /$^/}: {until?: RegExp} = {}): Promise<string> {
  return new Promise((resolve, reject) => {
    const socket = connect(port, "127.0.0.1", () => socket.write(text));
    let said = "";
    socket.on("data", (chunk) => {
      said += String(chunk);
      if (!until.test(said)) return;
      socket.destroy();
      resolve(said);
    });
    socket.on("error", reject);
    socket.on("close", () => resolve(said));
  });
}
