import {afterAll, beforeAll, describe, expect, it} from "vitest";
import type {FieldPage, TaskState} from "../../src/server/api-types.ts";
import {tiedToPlans} from "../../src/server/tie-results.ts";
import {ended, type Running, withKilnForty} from "./running.ts";

// Kiln Forty with its three lab reports, rated. Sample ids stand for ground; a change that divides the field in another
// way must not carry results along by their ids alone.

const PLANS = [
  {strategy: "grid", mark: "GAAAAAA"},
  {strategy: "zone", mark: "YBBBBBB"},
] as unknown as Parameters<typeof tiedToPlans>[2];

describe("lab results before plans are made anew", () => {
  const job = {lab: {files: [{file: "lab.csv"}]}, sampling: {}};

  it("are tied to the plans in force", () => {
    expect(tiedToPlans(job, job, PLANS)).toEqual({
      ...job,
      lab: {...job.lab, plans: {grid: "GAAAAAA", zone: "YBBBBBB"}},
    });
  });

  it("keep the marks they have", () => {
    const marked = {...job, lab: {...job.lab, plans: {grid: "GCCCCCC"}}};
    expect(tiedToPlans(marked, job, PLANS).lab).toMatchObject({plans: {grid: "GCCCCCC", zone: "YBBBBBB"}});
  });

  it("keep those the same reports had before, also when a change leaves them out", () => {
    const before = {...job, lab: {...job.lab, plans: {zone: "YOLDOLD"}}};
    expect(tiedToPlans(job, before, PLANS).lab).toMatchObject({plans: {grid: "GAAAAAA", zone: "YOLDOLD"}});
    const other = {...job, lab: {files: [{file: "lab-of-may.csv"}]}};
    expect(tiedToPlans(other, before, PLANS).lab).toMatchObject({plans: {grid: "GAAAAAA", zone: "YBBBBBB"}});
  });

  it("need no mark where they say where they were taken, or repeat an earlier plan", () => {
    const byPlace = {...job, lab: {files: [{file: "lab.csv", x: "Lon", y: "Lat"}]}};
    expect(tiedToPlans(byPlace, job, PLANS)).toBe(byPlace);
    const repeated = {...job, sampling: {grid: {repeat: {units: "a.geojson", cores: "b.geojson"}}}};
    expect(tiedToPlans(repeated, job, PLANS).lab).toMatchObject({plans: {zone: "YBBBBBB"}});
    expect(tiedToPlans(repeated, job, PLANS).lab).not.toHaveProperty("plans.grid");
  });

  it("are nothing to tie in a job without them", () => {
    expect(tiedToPlans({sampling: {}}, job, PLANS)).toEqual({sampling: {}});
  });
});

describe("a field with results whose plans change", () => {
  let one: Running & {page(): Promise<FieldPage>};
  beforeAll(async () => {
    one = await withKilnForty();
    await one.run("1", {evidence: false});
  });
  afterAll(() => one.close());

  const put = (job: object): Promise<FieldPage> => one.told<FieldPage>("PUT", "/api/fields/1/job", job);
  const marksIn = ({job}: FieldPage): unknown => (job.lab as {plans?: unknown}).plans;

  it("goes on as before when the change leaves the plans alone", async () => {
    const {job} = await one.page();
    expect(marksIn(await put({...job, compare: {tolerance: "20 lb/ac"}}))).toBeUndefined();
    expect((await one.run("1", {evidence: false})).strategies.every(({products}) => products.length === 2)).toBe(true);
  });

  it("joins results by ids that begin as theirs do, once the plans' begin so", async () => {
    const {job} = await one.page();
    const field = job.field as object;
    const ask = async () => {
      const {id} = await one.told<TaskState>("POST", "/api/fields/1/run", {evidence: false});
      return ended(one.ask, id);
    };
    expect(marksIn(await put({...job, field: {...field, prefix: "QX"}}))).toBeUndefined();
    expect((await ask()).state).toBe("failed");
    expect(marksIn(await put({...job, field: {...field, prefix: "KF"}}))).toBeUndefined();
    expect((await ask()).state).toBe("done");
    await put(job);
  });

  it.each<[string, (job: FieldPage["job"]) => object, string]>([
    ["another number of zones", (job) => ({zones: {...(job.zones as object), count: 2}}), "zone"],
    [
      "another cell of the grid",
      (job) => ({sampling: {...(job.sampling as object), grid: {cellArea: "3 ac"}}}),
      "grid",
    ],
  ])("%s does not carry results to other ground", async (_, change, strategy) => {
    const {job} = await one.page();
    expect(Object.keys(marksIn(await put({...job, ...change(job)})) as object)).toEqual([
      "whole-field",
      "grid",
      "zone",
    ]);
    const {id} = await one.told<TaskState>("POST", "/api/fields/1/run", {evidence: false});
    const {state, error} = await ended(one.ask, id);
    expect(state).toBe("failed");
    expect(error).toMatchObject({code: "lab/other-plan"});
    expect(error?.message).toContain(`The samples were taken by ${strategy} plan`);
    // The others are rated once the job says that this plan may wait.
    const waiting = (await one.page()).job;
    await put({...waiting, rates: {...(waiting.rates as object), missing: "leave out"}});
    const {strategies} = await one.run("1", {evidence: false});
    const rated = strategies.filter(({products}) => products.length > 0).map((card) => card.strategy);
    expect(rated).toEqual((["whole-field", "grid", "zone"] as const).filter((other) => other !== strategy));
    await put(job);
    await one.run("1", {evidence: false});
  });
});
