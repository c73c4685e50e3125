import {afterAll, beforeAll, describe, expect, it} from "vitest";
import type {FieldPage, ResultCard, TaskState} from "../../src/server/api-types.ts";
import {api, got, problemOf, upload} from "../../web/api/client.ts";
import {type Running, sample, withKilnForty} from "./running.ts";

// The page's own client against a server. What must not compile is marked as such: were it to compile, this file would
// not.

let one: Running & {page(): Promise<FieldPage>};
const asBefore = globalThis.fetch;
beforeAll(async () => {
  one = await withKilnForty();
  // In a browser addresses are taken from that of the page.
  globalThis.fetch = (path, init) => asBefore(new URL(String(path), one.server.url), init);
});
afterAll(async () => {
  globalThis.fetch = asBefore;
  await one.close();
});

describe("the client of the page", () => {
  it("asks, tells and is answered in the server's own types", async () => {
    const [card] = await got(api.fields.$get());
    const id = card?.id ?? "";
    const page: FieldPage = await got(api.fields[":id"].$get({param: {id}}));
    const changed = await got(
      api.fields[":id"].job.$put({
        param: {id},
        json: {...page.job, seed: 12},
        header: {"x-job-version": String(page.version)},
      }),
    );
    expect(changed.job.seed).toBe(12);
    const task: TaskState = await got(api.fields[":id"].run.$post({param: {id}, json: {upTo: "plan"}}));
    expect(task.state).toBe("running");
    expect((await got(api.tasks[":id"].$delete({param: {id: task.id}}))).state).toBe("cancelled");
  });

  it("has the server's refusal in its words", async () => {
    const page = await one.page();
    const late = got(
      api.fields[":id"].job.$put({param: {id: "1"}, json: page.job, header: {"x-job-version": "1"}}),
    ).then(
      () => undefined,
      (error: unknown) => problemOf(error),
    );
    expect(await late).toMatchObject({code: "job/changed", hint: "Load the field again and make the change there."});
  });

  it("hands files over, whatever letters are in their names", async () => {
    const name = "Größe – 100 % 収量 #1?.csv";
    const file = new File([sample("kiln-forty", "lab-grid.csv") as Uint8Array<ArrayBuffer>], name);
    expect((await upload(file)).name).toBe(name);
  });

  it("encodes the parts of an address, and of a link", async () => {
    for (const name of ["../fields", "a/b", "a?b=c#d", "100%", "ä 収"]) {
      const path = api.results[":id"].files[":name{.+}"].$path({param: {id: "1", name}});
      expect(path).toBe(`/api/results/1/files/${encodeURIComponent(name)}`);
    }
    const gone = await got(api.fields[":id"].$get({param: {id: "../session"}})).catch(problemOf);
    expect(gone).toMatchObject({code: "server/not-found", message: "There is no field ../session."});
    expect(api.results[":id"].report.$path({param: {id: "run-1"}, query: {paper: "a4", kind: "field"}})).toBe(
      "/api/results/run-1/report?paper=a4&kind=field",
    );
  });

  it("does not compile with a wrong address, body, question or answer", () => {
    const param = {id: "1"};
    const wrong = [
      // @ts-expect-error: no such address
      () => api.field[":id"].$get({param}),
      // @ts-expect-error: no such method there
      () => api.fields[":id"].$delete({param}),
      // @ts-expect-error: which field?
      () => api.fields[":id"].$get(),
      // @ts-expect-error: another part
      () => api.fields[":id"].$get({param: {field: "1"}}),
      // @ts-expect-error: yes is not true
      () => api.fields[":id"].run.$post({param, json: {evidence: "yes"}}),
      // @ts-expect-error: what is not attached as anything
      () => api.fields[":id"].attach.$post({param, json: {source: "a", as: "tractor"}}),
      // @ts-expect-error: no boundary
      () => api.fields.$post({json: {name: "A"}}),
      // @ts-expect-error: no place
      () => api.results[":id"].at.$get({param}),
      // @ts-expect-error: no such paper
      () => api.results[":id"].report.$path({param, query: {paper: "a3"}}),
      // @ts-expect-error: a task is not a result
      (): Promise<ResultCard> => got(api.fields[":id"].run.$post({param, json: {}})),
    ];
    expect(wrong).toHaveLength(10);
  });
});
