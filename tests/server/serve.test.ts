import {spawn} from "node:child_process";
import {readdirSync} from "node:fs";
import {createServer} from "node:net";
import {afterAll, describe, expect, it} from "vitest";
import type {FieldCard} from "../../src/server/api-types.ts";
import {cli} from "../hosts/in-process.ts";
import {scratch} from "./running.ts";

const ROOT = new URL("../../", import.meta.url).pathname;
const folder = scratch();
afterAll(() => folder.remove());

describe("loamwright serve", () => {
  it("refuses a port that is none", async () => {
    for (const port of ["99999", "x", "-1", "4.5"]) {
      const {code, stderr} = await cli("serve", "--port", port);
      expect(code).not.toBe(0);
      expect(stderr).toContain(port);
    }
  });

  it("says that a port is in use, and what to do", async () => {
    const other = createServer().listen(0, "127.0.0.1");
    await new Promise((resolve) => other.once("listening", resolve));
    const {port} = other.address() as {port: number};
    const {code, stderr} = await cli("serve", "--port", String(port), "--book", `${folder.path}/a.gpkg`);
    other.close();
    expect(code).toBe(3);
    expect(stderr).toContain(`Port ${port} is in use.`);
    // The book was let go of.
    expect((await cli("book", "list", `${folder.path}/a.gpkg`)).code).toBe(0);
  });

  it("serves until it is interrupted, and ends cleanly", async () => {
    const child = spawn(process.execPath, ["--import", "tsx", "src/cli/main.ts", "serve", "--sample", "--port", "0"], {
      cwd: ROOT,
      env: {...process.env, TMPDIR: folder.path},
    });
    let said = "";
    const url = await new Promise<string>((resolve, reject) => {
      child.stderr.on("data", (chunk) => {
        said += chunk;
        const found = /at (http:\S+)/.exec(said)?.[1];
        if (found) resolve(found);
      });
      child.on("exit", (code) => reject(new Error(`ended with ${code}: ${said}`)));
    });
    const fields = (await (await fetch(`${url}api/fields`)).json()) as FieldCard[];
    expect(fields.map(({name}) => name)).toEqual(["Kiln Forty", "Millrace"]);
    const ended = new Promise<number | null>((resolve) => child.on("exit", resolve));
    child.kill("SIGINT");
    expect(await ended).toBe(0);
    expect(readdirSync(folder.path).filter((name) => name.startsWith("loamwright-"))).toEqual([]);
  });
});
