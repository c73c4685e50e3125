import {type ChildProcess, spawn} from "node:child_process";
import {once} from "node:events";
import {existsSync} from "node:fs";
import {createServer} from "node:net";
import {join} from "node:path";
import {afterEach, describe, expect, it} from "vitest";
import {addressOf} from "../../src/cli/book-owner.ts";
import {openerOf} from "../../src/cli/open-browser.ts";
import {startBench} from "../../src/cli/start-bench.ts";
import type {FieldCard, FieldPage, Session} from "../../src/server/api-types.ts";
import {USUAL_PORT} from "../../src/server/usual-port.ts";
import {cli, scratch} from "./in-process.ts";

// How the bench begins: its book, its port, its browser.

const MAIN = new URL("../../src/cli/main.ts", import.meta.url).pathname;
const left: ChildProcess[] = [];
afterEach(async () => {
  for (const child of left.splice(0)) if (child.exitCode === null) await ended(child);
});

async function ended(child: ChildProcess): Promise<void> {
  const over = once(child, "exit");
  child.kill("SIGTERM");
  await over;
}

/** Starts the command and waits until it has said its address. */
async function serve(...args: string[]): Promise<{child: ChildProcess; said(): string; url: string}> {
  // No screen, so that no browser is looked for.
  const {DISPLAY: _d, WAYLAND_DISPLAY: _w, ...env} = process.env;
  const child = spawn(process.execPath, ["--import", "tsx", MAIN, "serve", ...args], {
    env,
    stdio: ["ignore", "pipe", "pipe"],
  });
  left.push(child);
  let text = "";
  const url = await new Promise<string>((resolve, reject) => {
    const hear = (chunk: Buffer): void => {
      text += chunk.toString();
      const found = /http:\/\/127\.0\.0\.1:\d+\//.exec(text)?.[0];
      if (found) resolve(found);
    };
    child.stdout?.on("data", hear);
    child.stderr?.on("data", hear);
    child.on("exit", () => reject(new Error(text)));
  });
  return {child, said: () => text, url};
}

const get = async <T>(url: string, of: string): Promise<T> => (await fetch(url + of)).json() as Promise<T>;

describe("loamwright serve", () => {
  it("takes another port where the usual one is taken and none was asked for, and says so", async () => {
    const holder = createServer();
    const isOurs = await new Promise<boolean>((resolve) => {
      holder.once("error", () => resolve(false));
      holder.listen(USUAL_PORT, "127.0.0.1", () => resolve(true));
    });
    try {
      const {url, said} = await serve("--no-open");
      expect(url).not.toContain(`:${USUAL_PORT}/`);
      expect(said()).toContain(`Port ${USUAL_PORT} is taken, so another was chosen.`);
      expect((await get<Session>(url, "api/session")).book).toBe("temporary.gpkg");
      const refused = await cli("serve", "--port", String(USUAL_PORT));
      expect(refused.code).toBe(3);
      expect(refused.stderr).toContain(`Port ${USUAL_PORT} is in use.`);
    } finally {
      if (isOurs) holder.close();
    }
  });

  it("says where a book that is open already is served, and shows that one when it is to open a browser", async () => {
    const book = join(scratch(), "farm.gpkg");
    const {url, child} = await serve("--book", book, "--port", "0", "--open");
    expect(addressOf(book)).toBe(url);
    const other = await cli("serve", "--book", book, "--port", "0");
    expect(other.code).toBe(3);
    expect(other.stderr).toContain(`The bench has it open at ${url}`);
    expect(other.stderr).not.toContain("our fault");
    const shown = await cli("serve", "--book", book, "--port", "0", "--open");
    expect(shown.code).toBe(0);
    expect(shown.stderr).toContain(`is open already: the bench is at ${url}`);
    await ended(child);
    expect(existsSync(`${book}.owner`)).toBe(false);
    expect(addressOf(book)).toBeUndefined();
  });
});

describe("the sample farm", () => {
  it("never shows half: fields are told when both are in, once, and results stay between starts", async () => {
    const book = join(scratch(), "farm.gpkg");
    const first = await startBench({book, sample: true, workOut: true, port: 0, threads: 2});
    const asked = get<FieldCard[]>(first.url, "api/fields");
    let said: string | undefined;
    while (said === undefined) said = (await get<Session>(first.url, "api/session")).preparing;
    expect(said).toBe("putting the sample farm in");
    const fields = await asked;
    expect(fields.map(({name}) => name)).toEqual(["Kiln Forty", "Millrace"]);
    expect((await get<Session>(first.url, "api/session")).preparing).toBeUndefined();
    let now = fields;
    for (let tries = 0; tries < 600 && now.some(({stations}) => stations.compare.state !== "done"); tries++) {
      await new Promise((resolve) => setTimeout(resolve, 200));
      now = await get<FieldCard[]>(first.url, "api/fields");
    }
    expect(now.map(({stations}) => stations.compare.state)).toEqual(["done", "done"]);
    while ((await get<FieldCard[]>(first.url, "api/fields")).some(({working}) => working !== undefined)) {
      await new Promise((resolve) => setTimeout(resolve, 200));
    }
    const before = await get<FieldPage>(first.url, "api/fields/1");
    expect(before.result?.evidence).toBeDefined();
    await first.close();
    const second = await startBench({book, sample: true, workOut: true, port: 0, threads: 1});
    expect((await get<Session>(second.url, "api/session")).preparing).toBeUndefined();
    expect(await get<FieldPage>(second.url, "api/fields/1")).toEqual(before);
    await second.close();
    const log = (await cli("book", "log", book)).stdout;
    expect(log.match(/ {2}ran: /g)).toHaveLength(2);
  });
});

describe("what opens an address", () => {
  it("is the system's own way, and nothing where nobody sees a screen", () => {
    expect(openerOf("linux", {})).toBeUndefined();
    expect(openerOf("linux", {DISPLAY: ":0"})).toEqual(["xdg-open"]);
    expect(openerOf("linux", {WAYLAND_DISPLAY: "wayland-0"})).toEqual(["xdg-open"]);
    expect(openerOf("darwin", {})).toEqual(["open"]);
    expect(openerOf("win32", {})?.[0]).toBe("cmd");
  });
});
