import {connect} from "node:net";
import fc from "fast-check";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import type {ErrorBody, FieldPage} from "../../src/server/api-types.ts";
import {type Running, raw, sample, withKilnForty} from "./running.ts";

const JSON_BYTES = 20_000;
const FILE_BYTES = 3_000_000;
const IDLE_MS = 300;

let one: Running & {page(): Promise<FieldPage>};
beforeAll(async () => {
  one = await withKilnForty({jsonBytes: JSON_BYTES, fileBytes: FILE_BYTES, idleMs: IDLE_MS});
});
afterAll(() => one.close());

const codeOf = async (response: Response): Promise<string> => ((await response.json()) as ErrorBody).error.code;
const token = () => ({"x-loamwright-token": one.server.token});

describe("who may ask", () => {
  it("listens on the loopback address alone", () => {
    expect(one.server.url).toBe(`http://127.0.0.1:${one.server.port}/`);
  });

  it("answers to 127.0.0.1, localhost and ::1 with its port, and to no other name", async () => {
    const {port} = one.server;
    for (const host of [`127.0.0.1:${port}`, `localhost:${port}`, `[::1]:${port}`]) {
      expect((await raw(port, "/api/fields", {headers: {host}})).status).toBe(200);
    }
    for (const host of [
      "example.org",
      `example.org:${port}`,
      "127.0.0.1",
      `127.0.0.1:${port + 1}`,
      `localhost.example.org:${port}`,
    ]) {
      const {status, body} = await raw(port, "/api/fields", {headers: {host}});
      expect(status, host).toBe(403);
      expect(JSON.parse(body).error.code).toBe("request/host");
    }
  });

  it("does not answer pages of other sites, not even with the token", async () => {
    const {port} = one.server;
    for (const origin of ["https://example.org", "null", `http://127.0.0.1:${port + 1}`, `https://127.0.0.1:${port}`]) {
      for (const path of ["/api/session", "/api/fields", "/"]) {
        expect((await raw(port, path, {headers: {origin, ...token()}})).status, `${origin} ${path}`).toBe(403);
      }
    }
    const cross = await raw(port, "/api/session", {headers: {"sec-fetch-site": "cross-site"}});
    expect(cross.status).toBe(403);
    const own = await raw(port, "/api/session", {
      headers: {origin: `http://localhost:${port}`, "sec-fetch-site": "same-origin"},
    });
    expect(own.status).toBe(200);
  });

  it("sends no header that would let another site read an answer", async () => {
    const response = await one.ask("/api/session");
    expect([...response.headers.keys()].filter((name) => name.startsWith("access-control"))).toEqual([]);
    expect(response.headers.get("cross-origin-resource-policy")).toBe("same-origin");
    expect(response.headers.get("x-content-type-options")).toBe("nosniff");
  });

  it("changes nothing without the session's token", async () => {
    const before = await one.page();
    const writes: [string, string][] = [
      ["POST", "/api/fields"],
      ["PUT", "/api/fields/1/job"],
      ["POST", "/api/fields/1/undo"],
      ["POST", "/api/fields/1/redo"],
      ["POST", "/api/fields/1/attach"],
      ["POST", "/api/fields/1/run"],
      ["POST", "/api/files"],
      ["DELETE", "/api/tasks/x"],
    ];
    for (const [method, path] of writes) {
      for (const headers of [{}, {"x-loamwright-token": "A".repeat(43)}, {"x-loamwright-token": ""}]) {
        const response = await one.ask(path, {method, headers, ...(method !== "DELETE" && {body: "{}"})});
        expect(response.status, `${method} ${path}`).toBe(403);
        expect(await codeOf(response)).toBe("request/token");
      }
    }
    expect((await one.page()).version).toBe(before.version);
  });
});

describe("what may be asked", () => {
  it("refuses JSON that is none, with where it breaks", async () => {
    for (const body of ["", "{", "nothing", '{"name": "A"} trailing']) {
      const response = await one.tell("POST", "/api/fields", body);
      expect(response.status).toBe(400);
      expect(await codeOf(response)).toBe("request/not-json");
    }
  });

  it("refuses JSON of another shape, naming all that is wrong", async () => {
    const response = await one.tell("POST", "/api/fields/1/attach", {source: 7, as: "tractor", more: 1});
    expect(response.status).toBe(400);
    const {error} = (await response.json()) as ErrorBody;
    expect([error.message, ...(error.issues ?? []).map(({message}) => message)].join(" ")).toMatch(/source.*as.*more/s);
    expect((await one.tell("PUT", "/api/fields/1/job", "[]")).status).toBe(400);
    expect((await one.tell("POST", "/api/fields/1/run", {evidence: "yes"})).status).toBe(400);
  });

  it("refuses what is nested without end, but not brackets in text", async () => {
    const deep = `{"a": ${"[".repeat(9000)}${"]".repeat(9000)}}`;
    const response = await one.tell("PUT", "/api/fields/1/job", deep);
    expect(response.status).toBe(400);
    const {job} = await one.page();
    const text = {...job, farm: '[[[[{{{{"'.repeat(60)};
    expect((await one.tell("PUT", "/api/fields/1/job", text)).status).toBe(200);
    expect((await one.tell("PUT", "/api/fields/1/job", job)).status).toBe(200);
  });

  it("never fails on any JSON at all: it is taken, or refused with a sentence", async () => {
    const {job} = await one.page();
    const paths = ["/api/fields", "/api/fields/1/attach", "/api/fields/1/run", "/api/fields/1/job"];
    const keys = fc.constantFrom("layers", "zones", "sampling", "lab", "rates", "products", "machine", "seed", "field");
    const bodies = fc.oneof(
      fc.jsonValue({maxDepth: 4}),
      fc.record({
        name: fc.jsonValue(),
        boundary: fc.string(),
        source: fc.string(),
        as: fc.constantFrom("lab", "yield"),
      }),
      fc.tuple(keys, fc.jsonValue({maxDepth: 3})).map(([key, value]) => ({...job, [key]: value})),
    );
    await fc.assert(
      fc.asyncProperty(fc.constantFrom(...paths), bodies, async (path, body) => {
        const response = await one.tell(path.endsWith("job") ? "PUT" : "POST", path, body);
        expect(response.status).toBeLessThan(500);
        if (!response.ok) expect(((await response.json()) as ErrorBody).error.message).toMatch(/[.!?]$/);
      }),
      {numRuns: 150},
    );
    expect(one.reported).toEqual([]);
    await one.told("PUT", "/api/fields/1/job", job);
  });

  it("does not take __proto__ and its like for settings", async () => {
    const job = JSON.stringify({...(await one.page()).job}).replace("{", '{"__proto__": {"polluted": true}, ');
    const response = await one.tell("PUT", "/api/fields/1/job", job);
    expect([200, 422]).toContain(response.status);
    expect(({} as {polluted?: boolean}).polluted).toBeUndefined();
  });

  it("stops reading JSON over its limit, told beforehand or not", async () => {
    const long = JSON.stringify({name: "x".repeat(JSON_BYTES)});
    const told = await one.tell("POST", "/api/fields", long);
    expect(told.status).toBe(413);
    const chunks = new ReadableStream({
      start(controller) {
        for (let i = 0; i < 40; i++) controller.enqueue(new TextEncoder().encode("x".repeat(1000)));
        controller.close();
      },
    });
    const untold = await one.ask("/api/fields", {
      method: "POST",
      headers: token(),
      body: chunks,
      duplex: "half",
    } as RequestInit);
    expect(untold.status).toBe(413);
    expect(await codeOf(untold)).toBe("request/too-large");
  });

  it("stops taking a file over its limit", async () => {
    const response = await one.ask("/api/files", {
      method: "POST",
      headers: {...token(), "x-file-name": "large.csv"},
      body: new Uint8Array(FILE_BYTES + 1),
    });
    expect(response.status).toBe(413);
    expect(await codeOf(response)).toBe("request/too-large");
  });

  it("does not wait for a sender that falls silent", async () => {
    const started = performance.now();
    const answer = await new Promise<string>((resolve, reject) => {
      const socket = connect(one.server.port, "127.0.0.1", () => {
        socket.write(
          `POST /api/files HTTP/1.1\r\nHost: 127.0.0.1:${one.server.port}\r\nx-loamwright-token: ${one.server.token}\r\nx-file-name: a.csv\r\nContent-Length: 1000\r\n\r\na,b\n`,
        );
      });
      socket.on("data", (chunk) => resolve(String(chunk)));
      socket.on("error", reject);
      socket.on("close", () => resolve("closed"));
    });
    expect(answer).toContain("408");
    expect(answer).toContain("request/slow");
    // Silence of 0.3 s is allowed here; a slow machine may take a few seconds to notice.
    expect(performance.now() - started).toBeLessThan(5000);
    expect((await one.ask("/api/fields")).status).toBe(200);
  });

  it("does not wait for headers that never end", async () => {
    const answer = await new Promise<string>((resolve, reject) => {
      const socket = connect(one.server.port, "127.0.0.1", () => socket.write("GET /api/fields HTTP/1.1\r\nHost:"));
      let said = "";
      socket.on("data", (chunk) => {
        said += String(chunk);
      });
      socket.on("error", reject);
      socket.on("close", () => resolve(said));
    });
    expect(answer).toContain("408");
  });

  it("takes no path for a name, of a file sent in or asked for", async () => {
    for (const name of [
      "../a.csv",
      "a/b.csv",
      "a\\b.csv",
      "C:a.csv",
      "..",
      ".hidden",
      "",
      "a\u0000.csv",
      "a\u202ecsv.exe",
    ]) {
      const response = await one.ask("/api/files", {
        method: "POST",
        headers: {...token(), "x-file-name": encodeURIComponent(name)},
        body: "a,b\n1,2\n",
      });
      expect(response.status, name).toBe(422);
      expect(await codeOf(response)).toBe("file/bad-name");
    }
    const {id} = await one.run("1", {evidence: false});
    const paths = [
      `/api/results/${id}/files/..%2f..%2fpackage.json`,
      `/api/results/${id}/files/%2fetc%2fpasswd`,
      `/api/results/${id}/shapes/..%2frun`,
      `/api/results/${id}/layers/..%2f..%2fx.png`,
      `/api/results/..%2f1`,
      "/api/fields/..%2f1",
      "/..%2f..%2fpackage.json",
      "/%2e%2e/%2e%2e/package.json",
      "//etc/passwd",
      "/assets/..%5c..%5cpackage.json",
    ];
    for (const path of paths) {
      const {status, body} = await raw(one.server.port, path);
      expect(status, path).toBe(404);
      expect(body).not.toMatch(/root:|"dependencies"/);
    }
  });

  it("says what a file is that it cannot use", async () => {
    const response = await one.ask("/api/files", {
      method: "POST",
      headers: {...token(), "x-file-name": "report.pdf"},
      body: "%PDF-1.7 …",
    });
    expect(response.status).toBe(422);
    expect(((await response.json()) as ErrorBody).error.message).toContain("a PDF");
    const unknown = await one.tell("POST", "/api/fields/1/attach", {source: "0".repeat(64), as: "lab"});
    expect(unknown.status).toBe(404);
  });

  it("keeps a name with letters of any language", async () => {
    const card = await one.upload("Größe – 收量.csv", sample("kiln-forty", "lab-grid.csv"));
    expect(card.name).toBe("Größe – 收量.csv");
    expect(card.looksLike[0]).toBe("lab");
  });

  it("answers what is not there with 404 and a sentence", async () => {
    for (const path of [
      "/api/fields/99",
      "/api/fields/x",
      "/api/results/none",
      "/api/tasks/none",
      "/api/tasks/none/events",
      "/api/nothing",
    ]) {
      const response = await one.ask(path);
      expect(response.status, path).toBe(404);
      expect(await codeOf(response)).toBe("server/not-found");
    }
    expect(one.reported).toEqual([]);
  });
});
