import {statSync} from "node:fs";
import {join} from "node:path";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {startBench} from "../../src/cli/start-bench.ts";
import {loadSqlite} from "../../src/formats/geopackage/sqlite.ts";
import type {FieldPage, ResultCard, TestsPage} from "../../src/server/api-types.ts";
import type {RunningServer} from "../../src/server/listen.ts";
import {fullFiles, fullJob} from "../book/small-run.ts";
import {cli} from "../hosts/in-process.ts";
import {type LooseJob, labCsv, layOut} from "../hosts/small-job.ts";
import {ended, kilnForty, scratch} from "./running.ts";

// What the book keeps of results, so that a field opens without a run.

const folder = scratch();
const open: RunningServer[] = [];
afterAll(async () => {
  for (const server of open) await server.close();
  folder.remove();
});

async function bench(book: string): Promise<RunningServer> {
  const server = await startBench({book, port: 0, threads: 1});
  open.push(server);
  return server;
}

async function close(server: RunningServer): Promise<void> {
  open.splice(open.indexOf(server), 1);
  await server.close();
}

const ask = ({url}: RunningServer, of: string): Promise<Response> => fetch(url + of);
const get = async <T>(server: RunningServer, of: string): Promise<T> => (await ask(server, of)).json() as Promise<T>;
const send = async <T>({url, token}: RunningServer, method: string, to: string, body: unknown): Promise<T> => {
  const response = await fetch(url + to, {method, headers: {"x-loamwright-token": token}, body: JSON.stringify(body)});
  if (!response.ok) throw new Error(await response.text());
  return response.json() as Promise<T>;
};
const run = async (server: RunningServer, field: string, body: unknown = {}): Promise<ResultCard> => {
  const {id} = await send<{id: string}>(server, "POST", `api/fields/${field}/run`, body);
  const task = await ended((at, init) => fetch(server.url + at.slice(1), init), id);
  if (!task.result) throw new Error(JSON.stringify(task));
  return task.result;
};

/** Everything that can be looked at of a result, by its address, as bytes. */
async function everything(server: RunningServer, card: ResultCard): Promise<Map<string, string>> {
  const [west, south, east, north] = card.box;
  const addresses = [
    "",
    ...card.shapes.map((name) => `/shapes/${name}`),
    ...card.layers.map(({id}) => `/layers/${id}.png?ramp=blue`),
    ...card.strategies.map(({strategy}) => `/working/${strategy}/whole field`),
    `/at?lon=${(west + east) / 2}&lat=${(south + north) / 2}`,
    "/tests",
    ...card.outputs.map(({name}) => `/files/${encodeURIComponent(name)}`),
    "/report?kind=field&date=today",
    "/report?kind=record&date=today",
  ];
  const found = new Map<string, string>();
  for (const address of addresses) {
    const response = await ask(server, `api/results/${card.id}${address}`);
    const body = Buffer.from(await response.arrayBuffer()).toString("base64");
    found.set(address, `${response.status} ${response.headers.get("x-corners") ?? ""} ${body}`);
  }
  return found;
}

describe("a field opened after the server was started again", () => {
  const path = join(folder.path, "kept.gpkg");
  let before: FieldPage;
  let seen: Map<string, string>;

  beforeAll(async () => {
    const server = await bench(path);
    const {text, files} = kilnForty();
    await server.service.putIn(text, files);
    await run(server, "1");
    before = await get(server, "api/fields/1");
    seen = await everything(server, before.result as ResultCard);
    await close(server);
  });

  it("needs no run: even without its yield logs everything is there to the byte", async () => {
    const engine = await loadSqlite();
    const db = engine.open(path);
    const logs = "SELECT sha256 FROM sources WHERE name LIKE 'yield-%'";
    const kept = db.all(`SELECT * FROM blob_parts WHERE sha256 IN (${logs})`);
    db.run(`DELETE FROM blob_parts WHERE sha256 IN (${logs})`);
    db.close();
    const server = await bench(path);
    const page = await get<FieldPage>(server, "api/fields/1");
    expect(page).toEqual(before);
    const now = await everything(server, page.result as ResultCard);
    // The record names every input and is made from their bytes.
    const differing = [...seen].filter(([address, was]) => now.get(address) !== was).map(([address]) => address);
    expect(differing).toEqual(["/report?kind=field&date=today", "/report?kind=record&date=today"]);
    await close(server);
    const again = engine.open(path);
    for (const {id, sha256, part, content} of kept) {
      again.run("INSERT INTO blob_parts (id, sha256, part, content) VALUES (?, ?, ?, ?)", [
        id,
        sha256,
        part,
        content,
      ] as never);
    }
    again.close();
    const whole = await bench(path);
    expect((await everything(whole, page.result as ResultCard)).get("/report?kind=field&date=today")).toBe(
      seen.get("/report?kind=field&date=today"),
    );
    await close(whole);
  });

  it("is in a book that verifies, and what it keeps adds about a fifth to it", async () => {
    expect((await cli("book", "verify", path)).code).toBe(0);
    const db = (await loadSqlite()).open(path, {readOnly: true});
    const [row] = db.all("SELECT size, length(card) AS card FROM run_views v JOIN blobs b ON b.sha256 = v.sha256");
    db.close();
    const share = (Number(row?.size) + Number(row?.card)) / statSync(path).size;
    expect(share).toBeGreaterThan(0);
    // Measured 0.12 on the sample: layers as doubles are most of it, and logs and layers are in the book besides.
    expect(share).toBeLessThan(0.25);
  });

  it("keeps one view of a field, that of the results in force, and prune leaves nothing behind", async () => {
    const server = await bench(path);
    const page = await get<FieldPage>(server, "api/fields/1");
    await send(server, "PUT", "api/fields/1/job", {
      ...page.job,
      zones: {count: 2},
      rates: {...(page.job.rates as object), missing: "leave out"},
    });
    await run(server, "1", {evidence: false});
    await close(server);
    const db = (await loadSqlite()).open(path, {readOnly: true});
    expect(db.all("SELECT r.version, r.current FROM run_views v JOIN runs r ON r.id = v.run_id")).toEqual([
      {version: 2, current: 1},
    ]);
    db.close();
    expect((await cli("book", "prune", path, "--keep", "0")).code).toBe(0);
    expect((await cli("book", "verify", path)).code).toBe(0);
  });

  it("is made again where another version of the program kept it", async () => {
    const db = (await loadSqlite()).open(path);
    db.run("UPDATE run_views SET made_by = 'another', card = '{}'");
    db.close();
    const server = await bench(path);
    const page = await get<FieldPage>(server, "api/fields/1");
    expect(page.result?.zones).toHaveLength(2);
    await close(server);
  });
});

describe("results made by the command line", () => {
  it("open in the bench as they are, without a run", async () => {
    const path = join(folder.path, "cli.gpkg");
    const job = layOut(join(folder.path, "cli"), fullJob(), fullFiles());
    expect((await cli("book", "create", path)).code).toBe(0);
    expect((await cli("run", job, "--out", join(folder.path, "out"), "--book", path, "--quiet")).code).toBe(0);
    const db = (await loadSqlite()).open(path, {readOnly: true});
    expect(db.all("SELECT count(*) AS n FROM run_views")).toEqual([{n: 1}]);
    db.close();
    const server = await bench(path);
    const {result} = await get<FieldPage>(server, "api/fields/1");
    expect(result?.comparison.rows).toHaveLength(3);
    await close(server);
  });
});

describe("what the maps draw", () => {
  const small = async (
    name: string,
    change: (job: LooseJob) => void,
    given = fullFiles(),
  ): Promise<[RunningServer, ResultCard]> => {
    const server = await bench(join(folder.path, `${name}.gpkg`));
    const files = new Map(Object.entries(given).map(([file, text]) => [file, new Uint8Array(Buffer.from(text))]));
    await server.service.putIn(JSON.stringify(fullJob(change)), files);
    return [server, await run(server, "1")];
  };

  it("has rates also where the job writes no GeoJSON, and the files stay those asked for", async () => {
    const [usual, all] = await small("usual", () => undefined);
    const [server, result] = await small("formats", (job) => {
      job.handOver = {formats: ["shapefile"]};
    });
    const rates = ["rates-whole-field", "rates-grid", "rates-zone"];
    expect(result.outputs.map(({name}) => name).filter((name) => name.startsWith("rates-"))).toEqual(
      rates.map((name) => `${name}.zip`),
    );
    for (const [i, name] of rates.entries()) {
      expect(result.strategies[i]?.shapes).toContain(name);
      const drawn = await (await ask(server, `api/results/${result.id}/shapes/${name}`)).text();
      expect(drawn, name).toBe(await (await ask(usual, `api/results/${all.id}/shapes/${name}`)).text());
    }
    await close(server);
    await close(usual);
    const again = await bench(join(folder.path, "formats.gpkg"));
    expect((await ask(again, `api/results/${result.id}/shapes/rates-zone`)).status).toBe(200);
    await close(again);
  });

  it("has the tests of each bag, and of bags with one rate for all the mean beside them", async () => {
    const lab = labCsv(["WPW01", "WPW02", "WPG01", "WPG02", "WPZ01", "WPZ02"]).replace("WPW01,18,", "WPW01,<5,");
    const one = (job: LooseJob): void => {
      job.sampling = {...job.sampling, wholeField: {rate: "one", maxArea: "3 ac"}};
    };
    const [server, result] = await small("bags", one, fullFiles(lab));
    const {bags, pooled} = await get<TestsPage>(server, `api/results/${result.id}/tests`);
    const grid = bags.filter(({strategy}) => strategy === "grid");
    expect(grid.map(({unit}) => unit)).toEqual(["WPG01", "WPG02"]);
    for (const {values, read} of grid) {
      const phosphorus = values.find(({analyte}) => analyte === "P");
      expect(phosphorus?.samples[0]?.source.file).toBe("lab.csv");
      expect(read.find(({nutrient}) => nutrient === "P2O5")).toMatchObject({
        value: phosphorus?.value,
        unit: "ppm",
        method: phosphorus?.method,
        testClass: expect.any(String),
      });
    }
    // Two bags of equal ground, 2.5 (half of the limit of 5) and 21 ppm: their mean is 11.75.
    const whole = bags.filter(({strategy}) => strategy === "whole-field");
    expect(whole.map(({unit, read}) => [unit, read.find(({nutrient}) => nutrient === "P2O5")])).toEqual([
      ["WPW01", {nutrient: "P2O5", value: 2.5, unit: "ppm", method: "mehlich-3 icp", qualifier: "<"}],
      ["WPW02", {nutrient: "P2O5", value: 21, unit: "ppm", method: "mehlich-3 icp"}],
    ]);
    const mean = pooled.find(({nutrient}) => nutrient === "P2O5");
    expect(mean).toMatchObject({strategy: "whole-field", bags: 2, unit: "ppm", testClass: expect.any(String)});
    // The two halves of a rectangle are equal to within their drawing.
    expect(mean?.value).toBeCloseTo(11.75, 1);
    expect(pooled.every(({strategy}) => strategy === "whole-field")).toBe(true);
    await close(server);
  });
});
