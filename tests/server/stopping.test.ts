import {type ChildProcess, spawn} from "node:child_process";
import {createHash} from "node:crypto";
import {once} from "node:events";
import {readdirSync} from "node:fs";
import {join} from "node:path";
import {afterAll, afterEach, beforeAll, describe, expect, it} from "vitest";
import {startBench} from "../../src/cli/start-bench.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import type {Host} from "../../src/pipeline/host.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {runJob} from "../../src/pipeline/run.ts";
import type {FieldPage, TaskState} from "../../src/server/api-types.ts";
import {cli} from "../hosts/in-process.ts";
import {kilnForty, type Running, SAMPLES, sample, scratch, withKilnForty} from "./running.ts";

const ROOT = new URL("../../", import.meta.url).pathname;

describe("a step that is long", () => {
  beforeAll(loadGeos);

  it("such as choosing a number of zones or asking how sure it is, can be stopped within", async () => {
    const {job, files} = kilnForty();
    for (const [long, zones] of [
      ["choosing the number of zones", {count: "choose"}],
      ["asking how sure it is", {count: 2}],
    ] as const) {
      const halts: string[] = [];
      let step = "";
      const host: Host = {
        sha256: async (bytes) => createHash("sha256").update(bytes).digest("hex"),
        memory,
        progress: (what) => {
          step = what;
        },
        pause: async () => {
          halts.push(step);
        },
        isCancelled: () => halts.filter((halt) => halt === long).length === 3,
      };
      const running = runJob(readJob(JSON.stringify({...job, zones}), "job.json"), files, host, {evidence: true});
      await expect(running).rejects.toThrow("cancelled");
      expect(halts.at(-1)).toBe(long);
    }
  });
});

/** Layers are made once. */
const memory = new Map<string, unknown>();

describe("a step that never ends", () => {
  let one: Running & {page(): Promise<FieldPage>};
  beforeAll(async () => {
    one = await withKilnForty({thread: new URL("./stuck-thread.ts", import.meta.url)});
  });
  afterAll(() => one.close());

  const runStuck = async (): Promise<TaskState> => {
    const {job} = await one.page();
    await one.told("PUT", "/api/fields/1/job", {...job, seed: 666});
    const stuck = await one.told<TaskState>("POST", "/api/fields/1/run", {});
    await expect
      .poll(async () => (await one.json<TaskState>(`/api/tasks/${stuck.id}`)).step, {timeout: 20_000})
      .toBe("counting without end");
    return stuck;
  };

  it("is ended with its thread when its run is stopped; other work of the thread is done by the next", async () => {
    const stuck = await runStuck();
    // Waits behind what never ends.
    const looked = one.upload("lab.csv", sample("kiln-forty", "lab-grid.csv"));
    await one.json("/api/fields");
    const stopped = await one.told<TaskState>("DELETE", `/api/tasks/${stuck.id}`);
    expect(stopped.state).toBe("cancelled");
    expect((await looked).looksLike[0]).toBe("lab");
    expect((await one.json<TaskState>(`/api/tasks/${stuck.id}`)).state).toBe("cancelled");
    // Nobody's fault: nothing to report.
    expect(one.reported).toEqual([]);
  });

  it("is left alone when another run is stopped that only waits behind it", {timeout: 180_000}, async () => {
    const stuck = await runStuck();
    await one.told("POST", "/api/fields/1/undo");
    const waiting = await one.told<TaskState>("POST", "/api/fields/1/run", {upTo: "plan"});
    await one.told("DELETE", `/api/tasks/${waiting.id}`);
    // Longer than a step may go on that nobody waits for.
    await new Promise((resolve) => setTimeout(resolve, 3500));
    expect((await one.json<TaskState>(`/api/tasks/${stuck.id}`)).state).toBe("running");
    await one.told("DELETE", `/api/tasks/${stuck.id}`);
    expect((await one.upload("again.csv", sample("kiln-forty", "lab-grid.csv"))).looksLike[0]).toBe("lab");
    expect((await one.json<TaskState>(`/api/tasks/${waiting.id}`)).state).toBe("cancelled");
  });
});

describe("a server that ends while runs are under way", () => {
  const folder = scratch();
  const children: ChildProcess[] = [];
  afterEach(() => {
    for (const child of children.splice(0)) child.kill("SIGKILL");
  });
  afterAll(() => folder.remove());
  /** A book with Kiln Forty in it. */
  const bookNamed = async (name: string): Promise<string> => {
    const book = join(folder.path, name);
    expect((await cli("book", "create", book)).code).toBe(0);
    expect((await cli("book", "import", book, join(SAMPLES, "kiln-forty/job.json"))).code).toBe(0);
    return book;
  };

  it("lets go of everything at once, and its book is whole", async () => {
    const book = await bookNamed("closed.gpkg");
    const server = await startBench({book, port: 0, threads: 2});
    const began = await Promise.all(
      [{evidence: true}, {upTo: "plan"}].map((body) => send(server, "POST", "api/fields/1/run", body)),
    );
    const events = began.map(async (answer) => {
      const {id} = (await answer.json()) as TaskState;
      return fetch(`${server.url}api/tasks/${id}/events`)
        .then((response) => response.text())
        .catch(() => "cut off");
    });
    await expect.poll(async () => (await fetch(`${server.url}api/fields`)).status).toBe(200);
    const start = performance.now();
    await server.close();
    // Threads are ended in the middle of their work; a busy machine may take a while to do it.
    expect(performance.now() - start).toBeLessThan(10_000);
    await Promise.all(events);
    await expect(fetch(server.url)).rejects.toThrow();
    await checkBook(book);
  });

  it("killed loses nothing it had answered for; terminated it ends cleanly", async () => {
    const book = await bookNamed("killed.gpkg");
    let {child, url} = await serving(book);
    let server = {url, token: await tokenOf(url)};
    const {job} = (await (await fetch(`${url}api/fields/1`)).json()) as FieldPage;
    await send(server, "POST", "api/fields/1/run", {evidence: false});
    for (const seed of [1001, 1002, 1003, 1004, 1005, 1006]) {
      expect((await send(server, "PUT", "api/fields/1/job", {...job, seed})).status).toBe(200);
    }
    // One more is on its way, answered or not.
    void send(server, "PUT", "api/fields/1/job", {...job, seed: 1007}).catch(() => undefined);
    child.kill("SIGKILL");
    await once(child, "exit");
    await checkBook(book);

    const left = temporary();
    ({child, url} = await serving(book));
    server = {url, token: await tokenOf(url)};
    const {job: kept} = (await (await fetch(`${url}api/fields/1`)).json()) as FieldPage;
    expect([1006, 1007]).toContain(kept.seed);
    await send(server, "POST", "api/fields/1/run", {evidence: true});
    child.kill("SIGTERM");
    expect(await once(child, "exit")).toEqual([0, null]);
    expect(temporary()).toEqual(left);
    await checkBook(book);
  }, 180_000); // two starts from the sources, which take long on a busy machine

  const temporary = (): string[] => readdirSync(folder.path).filter((name) => name.startsWith("loamwright-"));

  async function serving(book: string): Promise<{child: ChildProcess; url: string}> {
    const args = ["--import", "tsx", "src/cli/main.ts", "serve", "--book", book, "--port", "0"];
    const child = spawn(process.execPath, args, {
      cwd: ROOT,
      env: {...process.env, TMPDIR: folder.path},
    });
    children.push(child);
    let said = "";
    const url = await new Promise<string>((resolve, reject) => {
      child.stderr?.on("data", (chunk) => {
        said += chunk;
        const found = /at (http:\S+)/.exec(said)?.[1];
        if (found) resolve(found);
      });
      child.on("exit", (code) => reject(new Error(`ended with ${code}: ${said}`)));
    });
    return {child, url};
  }
});

interface Asked {
  readonly url: string;
  readonly token: string;
}

const send = ({url, token}: Asked, method: string, path: string, body: unknown): Promise<Response> =>
  fetch(url + path, {method, headers: {"x-loamwright-token": token}, body: JSON.stringify(body)});

const tokenOf = async (url: string): Promise<string> =>
  ((await (await fetch(`${url}api/session`)).json()) as {token: string}).token;

/** As the command line verifies a book; and that it opens. */
async function checkBook(book: string): Promise<void> {
  const {code, stdout, stderr} = await cli("book", "verify", book);
  expect(code, stdout + stderr).toBe(0);
  expect((await cli("book", "list", book)).stdout).toContain("Kiln Forty");
}
