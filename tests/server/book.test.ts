import {readFileSync} from "node:fs";
import {join} from "node:path";
import {afterAll, describe, expect, it} from "vitest";
import {startBench} from "../../src/cli/start-bench.ts";
import type {FieldCard, FieldPage, ResultCard} from "../../src/server/api-types.ts";
import type {RunningServer} from "../../src/server/listen.ts";
import {cli} from "../hosts/in-process.ts";
import {ended, kilnForty, scratch} from "./running.ts";

const folder = scratch();
const path = join(folder.path, "farm.gpkg");
const open: RunningServer[] = [];
afterAll(async () => {
  for (const server of open) await server.close();
  folder.remove();
});

async function bench(book: string, sample = false): Promise<RunningServer> {
  const server = await startBench({book, sample, port: 0, threads: 1});
  open.push(server);
  return server;
}

const close = async (server: RunningServer): Promise<void> => {
  open.splice(open.indexOf(server), 1);
  await server.close();
};

const get = async <T>({url}: RunningServer, of: string): Promise<T> => (await fetch(url + of)).json() as Promise<T>;
const send = async <T>({url, token}: RunningServer, method: string, to: string, body: unknown): Promise<T> => {
  const response = await fetch(url + to, {method, headers: {"x-loamwright-token": token}, body: JSON.stringify(body)});
  if (!response.ok) throw new Error(await response.text());
  return response.json() as Promise<T>;
};
const run = async (server: RunningServer, field: string, body: unknown): Promise<ResultCard> => {
  const {id} = await send<{id: string}>(server, "POST", `api/fields/${field}/run`, body);
  const task = await ended((at, init) => fetch(server.url + at.slice(1), init), id);
  if (!task.result) throw new Error(JSON.stringify(task));
  return task.result;
};

describe("a book served, closed and served again", () => {
  let before: FieldPage;

  it("opens with the two sample fields", async () => {
    const server = await bench(path, true);
    const fields = await get<FieldCard[]>(server, "api/fields");
    expect(fields.map(({name}) => name)).toEqual(["Kiln Forty", "Millrace"]);
    expect(fields.map(({acres}) => Math.round(acres))).toEqual([38, 154]);
    expect(await get(server, "api/session")).toMatchObject({book: "farm.gpkg"});
    await run(server, fields[0]?.id ?? "", {});
    const page = await get<FieldPage>(server, "api/fields/1");
    await send(server, "PUT", "api/fields/1/job", {...page.job, zones: {count: 2}});
    await run(server, "1", {upTo: "plan"});
    before = await get<FieldPage>(server, "api/fields/1");
    expect(before.result?.id).toMatch(/^preview-/);
    await close(server);
  });

  it("has job, versions, files and the last whole result as they were", async () => {
    const server = await bench(path);
    const page = await get<FieldPage>(server, "api/fields/1");
    expect(page.job).toEqual(before.job);
    expect(page.version).toBe(2);
    expect(page.canUndo).toBe(true);
    expect(page.sources).toEqual(before.sources);
    // A look ahead is gone with the server; what it showed is to be run again.
    expect({...page.card, stations: {}, next: ""}).toEqual({...before.card, stations: {}, next: ""});
    expect([before.card.next, page.card.next]).toEqual(["lab", "zones"]);
    expect(page.result?.version).toBe(1);
    expect(page.result?.evidence?.advice).toBeDefined();
    const served = await (await fetch(`${server.url}api/results/${page.result?.id}/files/run.json`)).arrayBuffer();
    expect(JSON.parse(Buffer.from(served).toString()).job.zones.count).toBe(3);
    const back = await send<FieldPage>(server, "POST", "api/fields/1/undo", {});
    expect(back.job).toEqual(kilnForty().job);
    // Worked out to the end, and nothing has left the office.
    expect(Object.values(back.card.stations).map(({state}) => state)).toEqual([...Array(6).fill("done"), "ready"]);
    await close(server);
  });

  it("is a book like any other to the command line, and not open twice", async () => {
    const server = await bench(path);
    const held = await cli("book", "list", path);
    expect(held.code).toBe(3);
    await close(server);
    const list = await cli("book", "list", path);
    expect(list.stdout).toContain("Kiln Forty");
    const verified = await cli("book", "verify", path);
    expect(verified.stdout + verified.stderr).not.toMatch(/damaged|broken/);
    expect(verified.code).toBe(0);
  });

  it("puts the samples in once, however often it is asked to", async () => {
    const server = await bench(path, true);
    expect(await get<FieldCard[]>(server, "api/fields")).toHaveLength(2);
    await close(server);
  });

  it("says why a file that is no book is not opened", async () => {
    await expect(bench(new URL("../../package.json", import.meta.url).pathname)).rejects.toMatchObject({
      name: "FieldError",
      code: "book/not-one",
    });
  });

  it("serves the same fields from a book made by the command line", async () => {
    const other = join(folder.path, "made.gpkg");
    const job = new URL("../../sample-data/kiln-forty/job.json", import.meta.url).pathname;
    expect((await cli("book", "create", other)).code).toBe(0);
    expect((await cli("book", "import", other, job)).code).toBe(0);
    const server = await bench(other);
    const page = await get<FieldPage>(server, "api/fields/1");
    expect(page.job).toEqual(JSON.parse(readFileSync(job, "utf8")));
    expect(page.sources).toHaveLength(9);
    await close(server);
  });
});

describe("a book with sixty fields", () => {
  it("is listed in under half a second", async () => {
    const {job, files} = kilnForty();
    const server = await bench(join(folder.path, "sixty.gpkg"));
    for (let n = 1; n <= 60; n++) {
      const named = {...job, field: {...(job.field as object), name: `Field ${n}`}};
      await server.service.putIn(JSON.stringify(named), files);
    }
    const times: number[] = [];
    for (let i = 0; i < 5; i++) {
      const start = performance.now();
      const fields = await get<FieldCard[]>(server, "api/fields");
      times.push(performance.now() - start);
      expect(fields).toHaveLength(60);
    }
    // The best of several: others may be at work on the machine. The first also reads sixty jobs.
    expect(Math.min(...times)).toBeLessThan(500);
    await close(server);
  });
});

describe("a job written in other words", () => {
  it("has the results it had, and they are of the version in force", async () => {
    const server = await bench(join(folder.path, "other-words.gpkg"));
    const {text, job, files} = kilnForty();
    await server.service.putIn(text, files);
    const first = await run(server, "1", {evidence: false});
    const {farm, ...others} = job;
    const page = await send<FieldPage>(server, "PUT", "api/fields/1/job", {...others, farm});
    expect(page.version).toBe(2);
    const again = await run(server, "1", {evidence: false});
    // Kept once, because it came to the same.
    expect(again.id).toBe(first.id);
    expect(again.version).toBe(2);
    const after = await get<FieldPage>(server, "api/fields/1");
    expect(after.result?.version).toBe(after.version);
    await close(server);
  });
});
