import {createHash} from "node:crypto";
import {readdirSync, readFileSync} from "node:fs";
import {join} from "node:path";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {startBench} from "../../src/cli/start-bench.ts";
import {unzip} from "../../src/formats/zip.ts";
import type {FieldPage, ResultCard, SamplingFileCard} from "../../src/server/api-types.ts";
import type {RunningServer} from "../../src/server/listen.ts";
import {cli} from "../hosts/in-process.ts";
import {ended, kilnForty, SAMPLES, scratch, withKilnForty} from "./running.ts";

const folder = scratch();
const path = join(folder.path, "farm.gpkg");
let server: RunningServer;
let result: ResultCard;

const ask = (of: string): Promise<Response> => fetch(server.url + of);
const bytesOf = async (of: string): Promise<Uint8Array> => new Uint8Array(await (await ask(of)).arrayBuffer());
const send = (method: string, to: string, body: unknown): Promise<Response> =>
  fetch(server.url + to, {method, headers: {"x-loamwright-token": server.token}, body: JSON.stringify(body)});
const handOver = (id: string, body: unknown): Promise<Response> => send("POST", `api/results/${id}/handed-over`, body);
const page = async (): Promise<FieldPage> => (await ask("api/fields/1")).json() as Promise<FieldPage>;
const station = async (): Promise<string> => {
  const {state, line} = (await page()).card.stations["hand-over"];
  return `${state}: ${line}`;
};
const run = async (how: {upTo?: "plan"} = {}): Promise<ResultCard> => {
  const {id} = (await (await send("POST", "api/fields/1/run", {evidence: false, ...how})).json()) as {id: string};
  const task = await ended((at, init) => fetch(server.url + at.slice(1), init), id);
  if (!task.result) throw new Error(JSON.stringify(task));
  return task.result;
};
const put = async (job: unknown): Promise<void> => {
  expect((await send("PUT", "api/fields/1/job", job)).status).toBe(200);
};
const today = (): string => {
  const now = new Date();
  return `${now.getDate()} ${now.toLocaleDateString("en-US", {month: "short"})} ${now.getFullYear()}`;
};
const sha256 = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");

beforeAll(async () => {
  const {text, job, files} = kilnForty();
  server = await startBench({book: path, port: 0, threads: 1});
  await server.service.putIn(text, files);
  await put({...job, handOver: {folder: true, strategy: "zone"}});
  result = await run();
}, 60_000);
afterAll(async () => {
  await server.close();
  folder.remove();
});

describe("files that leave", () => {
  it("carry the digests of the bytes that are served", async () => {
    expect(result.outputs.length).toBeGreaterThan(10);
    for (const {name, sha256: said, bytes} of result.outputs) {
      const served = await bytesOf(`api/results/${result.id}/files/${name}`);
      expect([served.length, sha256(served)], name).toEqual([bytes, said]);
    }
  });

  it("come as one zip, each the same to the byte", async () => {
    const response = await ask(`api/results/${result.id}/files.zip`);
    expect(response.headers.get("content-disposition")).toContain("Kiln%20Forty.zip");
    const inside = unzip(new Uint8Array(await response.arrayBuffer()), "all.zip");
    expect([...inside.keys()]).toEqual(result.outputs.map(({name}) => name));
    for (const {name, sha256: said} of result.outputs) expect(sha256(inside.get(name) as Uint8Array)).toBe(said);
  });

  it("come as the applicator's folder alone, with paths as on the stick", async () => {
    const inside = unzip(await bytesOf(`api/results/${result.id}/files.zip?of=folder`), "folder.zip");
    expect([...inside.keys()]).toEqual(["rates-zone.geojson", "rates-zone.zip", "applicator-sheet.html", "SHA256SUMS"]);
  });

  it("are told by acres of each rate, which add up to the field and the pounds", () => {
    for (const {products} of result.strategies) {
      for (const {byRate, totalLb, leastLbPerAcre, mostLbPerAcre} of products) {
        expect(byRate.reduce((sum, {acres}) => sum + acres, 0)).toBeCloseTo(result.comparison.acres, 6);
        expect(byRate.reduce((sum, {acres, lbPerAcre}) => sum + acres * lbPerAcre, 0)).toBeCloseTo(totalLb, 3);
        expect([byRate[0]?.lbPerAcre, byRate.at(-1)?.lbPerAcre]).toEqual([leastLbPerAcre, mostLbPerAcre]);
      }
    }
  });
});

describe("what the sampler carries", () => {
  const written = async (paper: string): Promise<Map<string, string>> => {
    const out = join(folder.path, `papers-${paper}`);
    const made = await cli(
      "sample",
      join(SAMPLES, "kiln-forty", "job.json"),
      "--out",
      out,
      "--paper",
      paper,
      "--quiet",
    );
    expect(made.code).toBe(0);
    return new Map(readdirSync(out).map((name) => [name, sha256(new Uint8Array(readFileSync(join(out, name))))]));
  };
  const byName = (files: Iterable<readonly [string, string]>): [string, string][] =>
    [...files].map(([name, sha]): [string, string] => [name, sha]).sort(([a], [b]) => (a < b ? -1 : 1));

  it.each(["letter", "a4"])("is the command's to the byte, on %s, with rates and without", async (paper) => {
    const one = await withKilnForty();
    try {
      const files = await written(paper);
      expect(files.size).toBeGreaterThan(30);
      for (const body of [{upTo: "plan"}, {evidence: false}]) {
        const {id} = await one.run("1", body);
        const listed = await one.json<SamplingFileCard[]>(`/api/results/${id}/sampling?paper=${paper}`);
        expect(byName(listed.map(({name, sha256: said}) => [name, said]))).toEqual(byName(files));
        for (const {name, bytes} of listed) {
          const served = await one.ask(`/api/results/${id}/sampling/${name}?paper=${paper}`);
          const body = new Uint8Array(await served.arrayBuffer());
          expect([name, body.length, sha256(body)]).toEqual([name, bytes, files.get(name)]);
          const how = name.endsWith(".html") ? "inline" : "attachment";
          expect(served.headers.get("content-disposition"), name).toMatch(new RegExp(`^${how}; `));
        }
        const zipOf = async (of: string) => {
          const zipped = await one.ask(`/api/results/${id}/sampling.zip?paper=${paper}&of=${of}`);
          const inside = unzip(new Uint8Array(await zipped.arrayBuffer()), "sampling.zip");
          return byName([...inside].map(([name, bytes]) => [name, sha256(bytes)]));
        };
        expect(await zipOf("all")).toEqual(byName(files));
        expect(await zipOf("grid")).toEqual(byName([...files].filter(([name]) => /^plan-grid[-.]/.test(name))));
      }
    } finally {
      await one.close();
    }
  });

  it("is not there by another name, of another result or on other paper", async () => {
    const status = async (of: string) => (await ask(`api/results/${of}`)).status;
    expect(await status(`${result.id}/sampling/plan-grid-sheets.html`)).toBe(404);
    expect(await status(`${result.id}/sampling/..%2F..%2Fjob.json`)).toBe(404);
    expect(await status("none/sampling")).toBe(404);
    expect(await status("none/sampling.zip")).toBe(404);
    expect(await status(`${result.id}/sampling?paper=legal`)).toBe(400);
  });
});

describe("a hand-over", () => {
  it("is ready once there are rates, and not done before anything has left", async () => {
    expect(await station()).toBe("ready: Files for 11-52-0 and 0-0-60.");
    expect((await page()).handOvers).toEqual([]);
  });

  it("is refused for rates whose caution was not read, and for files that are not there", async () => {
    const codes = [
      {files: ["rates-zone.zip"]},
      {files: ["hand-over/rates-zone.zip"]},
      {files: ["rates-zones.zip"], acknowledged: true},
      {files: [], acknowledged: true},
    ].map(async (body) => ((await (await handOver(result.id, body)).json()) as {error: {code: string}}).error.code);
    expect(await Promise.all(codes)).toEqual([
      "hand-over/caution",
      "hand-over/caution",
      "hand-over/no-such-file",
      "hand-over/no-files",
    ]);
    expect((await page()).handOvers).toEqual([]);
  });

  it("of sampling files alone needs no caution and does not end the hand-over", async () => {
    expect((await handOver(result.id, {files: ["plan-grid-cores.geojson"], to: "crew"})).status).toBe(201);
    expect(await station()).toBe("ready: Files for 11-52-0 and 0-0-60.");
  });

  it("of rates stands at the station and in the log, with the digest of each file", async () => {
    const answer = await handOver(result.id, {
      files: ["rates-zone.zip", "comparison.csv", "rates-zone.zip"],
      to: "the co-op",
      acknowledged: true,
    });
    expect(answer.status).toBe(201);
    expect(await station()).toBe(`done: Handed over ${today()} to the co-op.`);
    const [last, first] = (await page()).handOvers;
    const shaOf = (name: string) => result.outputs.find((output) => output.name === name)?.sha256;
    expect(last).toMatchObject({
      to: "the co-op",
      strategies: ["zone"],
      products: ["11-52-0", "0-0-60"],
      rates: ["rates-zone.zip"],
      inForce: true,
      files: [
        {name: "rates-zone.zip", sha256: shaOf("rates-zone.zip")},
        {name: "comparison.csv", sha256: shaOf("comparison.csv")},
      ],
    });
    expect(first?.rates).toEqual([]);
  });

  it("stays done when only prices change, goes stale with the rates, and comes back with them", async () => {
    const before = await page();
    await put({...before.job, prices: {...(before.job.prices as object), lab: "99 $/sample"}});
    await run();
    expect(await station()).toBe(`done: Handed over ${today()} to the co-op.`);
    await put({...before.job, machine: {...(before.job.machine as object), max: "300 lb/ac"}});
    expect(await station()).toBe(`stale: Handed over ${today()}; the job has changed since.`);
    await run();
    expect(await station()).toBe(`stale: Handed over ${today()}; the rates have changed since.`);
    await put(before.job);
    await run();
    expect(await station()).toMatch(/^done: /);
  });

  it("says whose rates the applicator's folder held, by any of its files", async () => {
    const {id} = (await page()).result as ResultCard;
    const inside = ["rates-zone.geojson", "SHA256SUMS"].map((name) => `hand-over/${name}`);
    for (const files of [inside, inside.slice(0, 1), inside.slice(1), ["rates-grid.zip", "comparison.csv"]]) {
      expect((await handOver(id, {files, to: "the co-op", acknowledged: true})).status).toBe(201);
      expect((await page()).handOvers[0]).toMatchObject({
        strategies: [files === inside || files[0]?.startsWith("hand-over/") ? "zone" : "grid"],
        products: ["11-52-0", "0-0-60"],
      });
    }
  });

  it("of the grid stays done while only the zones change, before and after they are worked out", async () => {
    const before = await page();
    const done = `done: Handed over ${today()} to the grid's spreader.`;
    const first = await run();
    await handOver(first.id, {files: ["rates-grid.zip"], to: "the grid's spreader", acknowledged: true});
    await put({...before.job, zones: {count: 2}});
    expect(await station()).toBe(done);
    // Results for three zones are refused for two, unless one says that they fit.
    const second = await run({upTo: "plan"});
    expect(await station()).toBe(done);
    const labBy = ({strategies}: ResultCard) => ({
      ...(before.job.lab as object),
      plans: Object.fromEntries(strategies.map(({strategy, mark}) => [strategy, mark])),
    });
    const job = {...before.job, zones: {count: 2}, lab: labBy(second)};
    await put(job);
    expect(await station()).toBe(done);
    expect((await run()).zones).toHaveLength(2);
    expect(await station()).toBe(done);
    await put({...job, sampling: {...(before.job.sampling as object), depth: "7 in"}});
    expect(await station()).toBe(`stale: Handed over ${today()}; the job has changed since.`);
    await put({...before.job, lab: labBy(first)});
    await run();
    expect(await station()).toBe(done);
  });

  it("is in the log of the book for good, which still holds together", async () => {
    await server.close();
    const log = JSON.parse((await cli("book", "log", path, "--json")).stdout) as {
      what: string;
      field: string;
      detail: {to: string; caution?: string; files: {name: string}[]};
    }[];
    const out = log.filter(({what}) => what === "handed over");
    expect(out.map(({field, detail}) => `${field}, ${detail.to}, caution ${detail.caution}`)).toEqual([
      "Kiln Forty, crew, caution undefined",
      ...Array(5).fill("Kiln Forty, the co-op, caution read"),
      "Kiln Forty, the grid's spreader, caution read",
    ]);
    expect((await cli("book", "log", path)).stdout).toContain("handed over");
    expect((await cli("book", "verify", path)).code).toBe(0);
    server = await startBench({book: path, port: 0, threads: 1});
    expect(await station()).toMatch(/^done: Handed over /);
  });

  it("is kept by a shelf in memory as by a book", async () => {
    const one = await withKilnForty();
    try {
      const made = await one.run("1", {evidence: false});
      const files = ["rates-grid.geojson"];
      const after = await one.told<FieldPage>("POST", `/api/results/${made.id}/handed-over`, {
        files,
        acknowledged: true,
      });
      expect(after.card.stations["hand-over"]).toEqual({state: "done", line: `Handed over ${today()}.`});
      const plan = await one.run("1", {upTo: "plan"});
      const refused = await one.tell("POST", `/api/results/${plan.id}/handed-over`, {files: ["zones.geojson"]});
      expect(((await refused.json()) as {error: {code: string}}).error.code).toBe("hand-over/not-kept");
    } finally {
      await one.close();
    }
  });
});

it("a report may be reached into by the page around it and runs no scripts", async () => {
  const policy =
    (await ask(`api/results/${(await page()).result?.id}/report`)).headers.get("content-security-policy") ?? "";
  expect(policy).toContain("default-src 'none'");
  expect(policy).toMatch(/sandbox [^;]*allow-same-origin/);
  expect(policy).not.toContain("allow-scripts");
  const file = (await ask(`api/results/${result.id}/files/run.json`)).headers.get("content-security-policy") ?? "";
  expect(file).not.toContain("allow-same-origin");
});
