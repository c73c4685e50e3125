import {afterAll, beforeAll, describe, expect, it} from "vitest";
import type {FieldPage, TaskState} from "../../src/server/api-types.ts";
import {ended, type Running, withKilnForty} from "./running.ts";

type One = Running & {page(): Promise<FieldPage>};

describe("a run on its way", () => {
  let one: One;
  beforeAll(async () => {
    one = await withKilnForty();
  });
  afterAll(() => one.close());

  it("is stopped between two steps, keeps nothing, and the next one runs", async () => {
    const {id, state} = await one.told<TaskState>("POST", "/api/fields/1/run", {});
    expect(state).toBe("running");
    await stepTold(one, id, /^cleaning/);
    const cancelled = await one.told<TaskState>("DELETE", `/api/tasks/${id}`);
    expect(cancelled.state).toBe("cancelled");
    expect((await ended(one.ask, id)).state).toBe("cancelled");
    expect((await one.page()).result).toBeUndefined();
    const result = await one.run("1", {evidence: false});
    expect(result.outputs.length).toBeGreaterThan(10);
    // What was stopped had not gone on behind our back: it would have told its last step.
    expect((await one.json<TaskState>(`/api/tasks/${id}`)).steps.map(({step}) => step)).not.toContain("comparing");
    expect(one.reported).toEqual([]);
  });

  it("tells its steps in order, each once, with the result at the end", async () => {
    const page = await one.page();
    await one.told("PUT", "/api/fields/1/job", {...page.job, compare: {tolerance: "5 lb/ac"}});
    const {id} = await one.told<TaskState>("POST", "/api/fields/1/run", {evidence: true});
    const task = await ended(one.ask, id);
    const steps = task.steps.map(({step}) => step);
    expect(task.state).toBe("done");
    expect(steps).toEqual([...new Set(steps)]);
    expect(steps.slice(-3)).toEqual(["working out rates", "comparing", "asking how sure it is"]);
    expect(task.steps.every(({atMs}, i) => i === 0 || atMs >= (task.steps[i - 1]?.atMs ?? 0))).toBe(true);
    expect(task.result?.evidence?.certainty).toBeDefined();
    expect(await one.json<TaskState>(`/api/tasks/${id}`)).toEqual(task);
  });

  it("fails with the sentence the command line would print", async () => {
    const page = await one.page();
    const {lab: _, ...job} = page.job as {lab: object};
    await one.told("PUT", "/api/fields/1/job", {...job, layers: {}, strategies: ["zone"]});
    const {id} = await one.told<TaskState>("POST", "/api/fields/1/run", {});
    const task = await ended(one.ask, id);
    expect(task.state).toBe("failed");
    expect(task.error).toMatchObject({code: "zones/no-layers", message: "There are no layers to make zones from."});
    await one.told("POST", "/api/fields/1/undo");
  });

  it("leaves the server answering while it works", async () => {
    // Without results: those of the lab would not be of the plans of another seed.
    const {lab: _, ...job} = (await one.page()).job as {lab: object; layers: object};
    const layers = {...job.layers, cellSize: "4 m"};
    await one.told("PUT", "/api/fields/1/job", {...job, seed: 6, layers});
    const {id} = await one.told<TaskState>("POST", "/api/fields/1/run", {});
    const waits: number[] = [];
    while ((await one.json<TaskState>(`/api/tasks/${id}`)).state === "running") {
      const start = performance.now();
      await one.json("/api/fields");
      waits.push(performance.now() - start);
    }
    // Were the work done where requests are answered, a request or two would take all of its seconds.
    expect(waits.length).toBeGreaterThan(5);
    expect(waits.sort((a, b) => a - b)[Math.floor(waits.length / 2)]).toBeLessThan(250);
    await one.told("POST", "/api/fields/1/undo");
  });

  it("up to the plan is ended by the next one of the field", async () => {
    const {job} = await one.page();
    const tasks: TaskState[] = [];
    for (const seed of [21, 22]) {
      await one.told("PUT", "/api/fields/1/job", {...job, seed});
      tasks.push(await one.told<TaskState>("POST", "/api/fields/1/run", {upTo: "plan"}));
    }
    const states = await Promise.all(tasks.map(({id}) => ended(one.ask, id)));
    expect(states.map(({state}) => state)).toEqual(["cancelled", "done"]);
  });

  it("is joined by whoever asks for the same, and by nobody who asks for more", async () => {
    const {job} = await one.page();
    await one.told("PUT", "/api/fields/1/job", {...job, compare: {tolerance: "23 lb/ac"}});
    const ask = (wanted: object) => one.told<TaskState>("POST", "/api/fields/1/run", wanted);
    const [first, same, more] = [await ask({evidence: false}), await ask({evidence: false}), await ask({})];
    expect(same.id).toBe(first.id);
    expect(more.id).not.toBe(first.id);
    expect((await ended(one.ask, first.id)).state).toBe("done");
    expect((await ended(one.ask, more.id)).state).toBe("done");
    expect((await ask({evidence: false})).id).not.toBe(first.id);
  });

  it("up to the plan is joined while another run of the same job goes on, and not ended by it", async () => {
    const {job} = await one.page();
    await one.told("PUT", "/api/fields/1/job", {...job, seed: 24});
    const ask = (wanted: object) => one.told<TaskState>("POST", "/api/fields/1/run", wanted);
    // As of two tabs, of which one asks again for the rates that the other was refused.
    const plan = await ask({upTo: "plan"});
    const rates = await ask({evidence: false});
    const again = await ask({upTo: "plan"});
    expect(again.id).toBe(plan.id);
    expect((await ended(one.ask, plan.id)).state).toBe("done");
    await ended(one.ask, rates.id);
  });

  it("keeps a change that was made while it ran", async () => {
    // Without results: those of the lab would not be of the plans of another seed.
    const {lab: _, ...job} = (await one.page()).job;
    await one.told("PUT", "/api/fields/1/job", {...job, seed: 31});
    const {id} = await one.told<TaskState>("POST", "/api/fields/1/run", {evidence: false});
    const changed = await one.told<FieldPage>("PUT", "/api/fields/1/job", {...job, seed: 32});
    const {result} = await ended(one.ask, id);
    const page = await one.page();
    expect(page.job.seed).toBe(32);
    expect(page.version).toBe(changed.version);
    expect(page.result?.id).toBe(result?.id);
    expect(page.result?.version).toBe(changed.version - 1);
    expect(page.card.stations.zones.state).toBe("stale");
  });
});

describe("a thread that dies", () => {
  let one: One;
  beforeAll(async () => {
    one = await withKilnForty({thread: new URL("./crashing-thread.ts", import.meta.url)});
  });
  afterAll(() => one.close());

  it("fails the run with a sentence, is reported, and is replaced", async () => {
    const page = await one.page();
    await one.told("PUT", "/api/fields/1/job", {...page.job, seed: 666});
    const {id} = await one.told<TaskState>("POST", "/api/fields/1/run", {});
    const task = await ended(one.ask, id);
    expect(task.state).toBe("failed");
    expect(task.error?.code).toBe("server/thread-stopped");
    expect(one.reported.map(String).join(" ")).toContain("out of memory, say");
    await one.told("POST", "/api/fields/1/undo");
    expect((await one.run("1", {evidence: false})).strategies).toHaveLength(3);
  });
});

/** Waits until a run tells a step. */
async function stepTold(one: Running, id: string, step: RegExp): Promise<void> {
  for (let tries = 0; tries < 2000; tries++) {
    const task = await one.json<TaskState>(`/api/tasks/${id}`);
    if (step.test(task.step)) return;
    if (task.state !== "running") throw new Error(`ended before: ${JSON.stringify(task)}`);
  }
  throw new Error(`no step ${step}`);
}
