import {afterAll, beforeAll, describe, expect, it} from "vitest";
import type {FieldCard, FieldPage, Session} from "../../src/server/api-types.ts";
import {kilnForty, type Running, running, sample} from "./running.ts";

let one: Running;
beforeAll(async () => {
  one = await running();
});
afterAll(() => one.close());

const error = async (response: Response) => ((await response.json()) as {error: {code: string; message: string}}).error;

describe("a field made on the bench, from its boundary to the ledger", () => {
  let page: FieldPage;

  it("begins with an empty book and a session of its own", async () => {
    expect(await one.json<FieldCard[]>("/api/fields")).toEqual([]);
    const session = await one.json<Session>("/api/session");
    expect(session.token).toBe(one.server.token);
    expect(session.caution).toContain("certified adviser");
  });

  it("tells what an uploaded boundary is", async () => {
    const boundary = await one.upload("boundary.geojson", sample("kiln-forty", "boundary.geojson"));
    expect(boundary.looksLike[0]).toBe("boundary");
    expect(boundary.lines.join(" ")).toContain("38.0 ac");
    const response = await one.tell("POST", "/api/fields", {
      name: "Kiln Forty",
      farm: "Sedgewater Farm",
      boundary: boundary.id,
    });
    expect(response.status).toBe(201);
    page = (await response.json()) as FieldPage;
    expect(page.card.acres).toBeCloseTo(38.04, 1);
    expect(page.card.next).toBe("layers");
    expect(page.card.stations.layers).toEqual({state: "waiting", line: "Add a yield log, a soil map or elevation."});
    expect(page.version).toBe(1);
    expect(page.canUndo).toBe(false);
  });

  it("refuses a second field of that name", async () => {
    const response = await one.tell("POST", "/api/fields", {
      name: "Kiln Forty",
      farm: "Sedgewater Farm",
      boundary: page.sources[0]?.id,
    });
    expect(response.status).toBe(409);
    expect((await error(response)).code).toBe("book/field-exists");
  });

  it("reads a yield log's columns, crop and year, and attaches it by what it proposed", async () => {
    const log = await one.upload("yield-2023-corn.csv", sample("kiln-forty", "yield-2023-corn.csv"));
    expect(log.looksLike).toEqual(["yield"]);
    expect(log.questions).toEqual([]);
    expect(log.columns?.find(({heading}) => heading === "Flow (lb/s)")).toMatchObject({
      readAs: "grain flow",
      unit: "lb/s",
    });
    expect(log.proposed.yield).toMatchObject({crop: "corn", season: 2023, columns: {x: "Longitude", y: "Latitude"}});
    page = await one.told("POST", "/api/fields/1/attach", {source: log.id, as: "yield"});
    expect(page.version).toBe(2);
    expect(page.canUndo).toBe(true);
    expect(page.card.season).toBe(2023);
    expect(page.card.stations.layers.state).toBe("ready");
    expect((page.job.layers as {yield: object[]}).yield).toHaveLength(1);
  });

  it("attaches the same log again in its place, with other settings", async () => {
    const log = page.sources.find(({name}) => name === "yield-2023-corn.csv");
    page = await one.told("POST", "/api/fields/1/attach", {
      source: log?.id,
      as: "yield",
      settings: {...log?.proposed.yield, delay: "12 s"},
    });
    const logs = (page.job.layers as {yield: {delay: string}[]}).yield;
    expect(logs).toHaveLength(1);
    expect(logs[0]?.delay).toBe("12 s");
  });

  it("gives another file of the same name a name of its own", async () => {
    const half = sample("kiln-forty", "yield-2024-soybean.csv").subarray(0, 100_000);
    const other = await one.upload("yield-2023-corn.csv", half);
    const changed = await one.told<FieldPage>("POST", "/api/fields/1/attach", {
      source: other.id,
      as: "yield",
      settings: {crop: "soybean", season: 2024},
    });
    expect(changed.sources.map(({name}) => name)).toContain("yield-2023-corn 2.csv");
    await one.told("POST", "/api/fields/1/undo");
  });

  it("refuses an attachment that the job cannot take, and changes nothing", async () => {
    const log = page.sources.find(({name}) => name === "yield-2023-corn.csv");
    const response = await one.tell("POST", "/api/fields/1/attach", {
      source: log?.id,
      as: "yield",
      settings: {crop: "corn", seasn: 2023},
    });
    expect(response.status).toBe(422);
    expect((await error(response)).message).toBe('"seasn" is not a setting of layers.yield.0.');
    expect((await one.json<FieldPage>("/api/fields/1")).job).toEqual(page.job);
  });

  it("runs up to the plan before there are lab results", async () => {
    const result = await one.run("1", {upTo: "plan"});
    expect(result.upTo).toBe("plan");
    expect(result.zones?.reduce((sum, {acres}) => sum + acres, 0)).toBeCloseTo(page.card.acres, 2);
    expect(result.strategies.map(({strategy}) => strategy)).toEqual(["whole-field", "grid", "zone"]);
    expect(result.shapes).toContain("plan-grid-cores");
  });

  it("takes the whole job, with all its files, and runs it", async () => {
    const {job, files} = kilnForty();
    const uploads = await Promise.all(
      [...files].filter(([name]) => !/boundary|2023/.test(name)).map(([name, bytes]) => one.upload(name, bytes)),
    );
    for (const {id, name} of uploads) {
      const as = /^yield/.test(name)
        ? "yield"
        : /^lab/.test(name)
          ? "lab"
          : name === "soil.geojson"
            ? "soil map"
            : "elevation";
      const settings =
        as === "yield"
          ? {crop: "corn", season: 2020}
          : as === "lab"
            ? {sampleId: "Sample ID"}
            : as === "soil map"
              ? {class: "unit"}
              : {};
      await one.told("POST", "/api/fields/1/attach", {source: id, as, settings});
    }
    page = await one.told("PUT", "/api/fields/1/job", job);
    // The run of plans alone made no ledger that could be behind.
    expect(page.card.stations.compare).toEqual({
      state: "ready",
      line: "3 strategies side by side. Ready to run.",
    });
    const result = await one.run("1", {evidence: false});
    expect(result.strategies.map(({tested}) => tested)).toEqual([2, 15, 3]);
    expect(result.evidence).toBeUndefined();
    expect(result.comparison.rows.map(({samples}) => samples)).toEqual([2, 15, 3]);
    page = await one.json("/api/fields/1");
    expect(Object.values(page.card.stations).map(({state}) => state)).toEqual([...Array(6).fill("done"), "ready"]);
    expect(page.card.next).toBe("hand-over");
    expect(page.result?.id).toBe(result.id);
    expect(page.result?.version).toBe(page.version);
  });

  it("shows what a change makes stale, and nothing else", async () => {
    page = await one.told("PUT", "/api/fields/1/job", {...page.job, zones: {count: 2}});
    const states = Object.fromEntries(Object.entries(page.card.stations).map(([station, {state}]) => [station, state]));
    expect(states).toEqual({
      layers: "done",
      zones: "stale",
      plan: "stale",
      lab: "stale",
      rates: "stale",
      compare: "stale",
      "hand-over": "stale",
    });
    expect(page.card.next).toBe("zones");
  });

  it("undoes and redoes, and forgets what was undone after another change", async () => {
    const changed = page;
    const before = await one.told<FieldPage>("POST", "/api/fields/1/undo");
    expect((before.job.zones as {count: number}).count).toBe(3);
    expect(before.card.stations.zones.state).toBe("done");
    expect(before.canRedo).toBe(true);
    const again = await one.told<FieldPage>("POST", "/api/fields/1/redo");
    expect(again.job).toEqual(changed.job);
    expect(again.canRedo).toBe(false);
    await one.told("POST", "/api/fields/1/undo");
    const other = await one.told<FieldPage>("PUT", "/api/fields/1/job", {...before.job, seed: 7});
    expect(other.canRedo).toBe(false);
    const back = await one.told<FieldPage>("POST", "/api/fields/1/undo");
    expect(back.job).toEqual(before.job);
    expect((await one.tell("POST", "/api/fields/1/redo")).status).toBe(200);
    expect((await one.tell("POST", "/api/fields/1/redo")).status).toBe(422);
  });

  it("says where a job is wrong, in the words of the command line", async () => {
    const response = await one.tell("PUT", "/api/fields/1/job", {...page.job, zonse: {}, seed: "x"});
    expect(response.status).toBe(422);
    const {code, message, hint, issues} = (
      (await response.json()) as {error: {code: string; message: string; hint: string; issues: object[]}}
    ).error;
    expect({code, message, hint}).toEqual({
      code: "job/not-valid",
      message: '"zonse" is not a setting of the job.',
      hint: 'Did you mean "zones"?',
    });
    expect(issues).toHaveLength(1);
  });

  it("renames a field by its job, and back by undo; a name another field has is refused", async () => {
    const before = await one.json<FieldPage>("/api/fields/1");
    const named = {...before.job, farm: "Another", field: {...(before.job.field as object), name: "Kiln East"}};
    const page = await one.told<FieldPage>("PUT", "/api/fields/1/job", named);
    expect([page.card.id, page.card.farm, page.card.name]).toEqual(["1", "Another", "Kiln East"]);
    const back = await one.told<FieldPage>("POST", "/api/fields/1/undo", {});
    expect([back.card.farm, back.card.name]).toEqual([before.card.farm, before.card.name]);
    const {boundary} = before.job.field as {boundary: string};
    const source = before.sources.find(({name}) => name === boundary)?.id;
    const other = await one.told<FieldPage>("POST", "/api/fields", {name: "Other", farm: "Another", boundary: source});
    const taken = await one.tell("PUT", "/api/fields/1/job", {...named, field: {...named.field, name: "Other"}});
    expect(taken.status).toBe(409);
    expect(await error(taken)).toMatchObject({code: "book/field-exists"});
    expect(other.card.id).not.toBe("1");
  });

  it("refuses a job that names a file the field has not", async () => {
    const missing = await one.tell("PUT", "/api/fields/1/job", {
      ...page.job,
      layers: {elevation: {file: "elevatoin.tif"}},
    });
    expect(await error(missing)).toMatchObject({code: "file/not-found", hint: "Did you mean elevation.tif?"});
  });

  it("does not overwrite what another changed in between", async () => {
    const seen = await one.json<FieldPage>("/api/fields/1");
    const both = await Promise.all(
      [11, 12].map((seed) =>
        one.tell("PUT", "/api/fields/1/job", {...seen.job, seed}, {"x-job-version": String(seen.version)}),
      ),
    );
    expect(both.map(({status}) => status).sort()).toEqual([200, 409]);
    const after = await one.json<FieldPage>("/api/fields/1");
    expect([11, 12]).toContain(after.job.seed);
  });

  it("takes many changes at once one after another", async () => {
    const {version, job} = await one.json<FieldPage>("/api/fields/1");
    const pages = await Promise.all(
      [21, 22, 23, 24, 25, 26].map((seed) => one.told<FieldPage>("PUT", "/api/fields/1/job", {...job, seed})),
    );
    const versions = pages.map((found) => found.version).sort((a, b) => a - b);
    expect(versions).toEqual([1, 2, 3, 4, 5, 6].map((n) => version + n));
    for (const found of pages) expect([21, 22, 23, 24, 25, 26]).toContain(found.job.seed);
  });
});
