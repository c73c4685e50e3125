import {mkdirSync, symlinkSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {IDLE_THREAD, type Running, raw, running, scratch} from "./running.ts";

const folder = scratch();
const web = join(folder.path, "web");
let one: Running;
beforeAll(async () => {
  mkdirSync(join(web, "assets"), {recursive: true});
  writeFileSync(join(web, "index.html"), "<!doctype html><title>Bench</title>");
  writeFileSync(join(web, "assets", "bench-1a2b.js"), "export {};");
  writeFileSync(join(folder.path, "secret.txt"), "not for the web");
  symlinkSync(join(folder.path, "secret.txt"), join(web, "link.txt"));
  one = await running({web, thread: IDLE_THREAD});
});
afterAll(async () => {
  await one.close();
  folder.remove();
});

describe("the page of the bench", () => {
  it("is served with a policy that lets nothing in from elsewhere", async () => {
    const response = await one.ask("/");
    expect(await response.text()).toContain("Bench");
    expect(response.headers.get("content-type")).toBe("text/html; charset=utf-8");
    expect(response.headers.get("cache-control")).toBe("no-store");
    const policy = response.headers.get("content-security-policy") ?? "";
    expect(policy).toContain("default-src 'self'");
    expect(policy).not.toMatch(/https?:|\*|script-src[^;]*unsafe/);
  });

  it("lets files last whose names change with what is in them", async () => {
    const response = await one.ask("/assets/bench-1a2b.js");
    expect(response.headers.get("content-type")).toBe("text/javascript; charset=utf-8");
    expect(response.headers.get("cache-control")).toContain("immutable");
    expect((await one.ask("/assets/bench-1a2b.js", {method: "HEAD"})).status).toBe(200);
  });

  it("is found when it was built after the server started", async () => {
    expect((await one.ask("/assets/later.css")).status).toBe(404);
    writeFileSync(join(web, "assets", "later.css"), "body {}");
    expect((await one.ask("/assets/later.css")).status).toBe(200);
  });

  it("never leads out of its folder, not by a path and not by a link", async () => {
    for (const path of [
      "/../secret.txt",
      "/..%2fsecret.txt",
      "/assets/..%2f..%2fsecret.txt",
      "/link.txt",
      "/%00",
      "/index.html%00.js",
    ]) {
      const {status, body} = await raw(one.server.port, path);
      expect(status, path).toBe(404);
      expect(body).not.toContain("not for the web");
    }
  });

  it("says how to build it where it was not", async () => {
    const without = await running({thread: IDLE_THREAD});
    const response = await without.ask("/");
    expect(response.status).toBe(404);
    expect(await response.text()).toContain("npm run build");
    await without.close();
  });
});
