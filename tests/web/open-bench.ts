import {type ChildProcess, spawn} from "node:child_process";
import {once} from "node:events";
import {existsSync} from "node:fs";
import {type Browser, type BrowserContextOptions, chromium, type Page} from "playwright-core";
import {inject} from "vitest";

const CHROMIUM = "/usr/bin/chromium";
const ROOT = new URL("../../", import.meta.url).pathname;

/** For anything that is waited for on a page; machines are slow when much is tested at once. */
const PATIENCE_MS = 90_000;

/** Why these tests do not run here; empty when they do. */
export const skipped = existsSync(CHROMIUM) ? "" : "skipped: no chromium";

export interface BenchToOpen {
  /** Puts the two sample fields into the book. Default true. */
  readonly sample?: boolean;
  /** Path of the book, made when it is not there. Default: one that is gone afterwards. */
  readonly book?: string;
}

export interface OpenBench {
  readonly url: string;
  readonly browser: Browser;
  /** A page that may reach nothing but the server; what it asked elsewhere stands in `strayed`, its errors in `errors`. */
  page(options?: BrowserContextOptions): Promise<WatchedPage>;
  /** Ends the server; the browser stays. */
  stopServer(): Promise<void>;
  /** Starts it again at the same address, with the same book if that has a path. */
  startServer(): Promise<void>;
  close(): Promise<void>;
}

export interface WatchedPage {
  readonly page: Page;
  readonly strayed: string[];
  readonly errors: string[];
}

/** Serves a book with the page built for this run of the tests, and starts a browser. */
export async function openBench({sample = true, book = ""}: BenchToOpen = {}): Promise<OpenBench> {
  let {server, url} = await serve(0, book, sample);
  const stopServer = async (): Promise<void> => {
    if (server.exitCode !== null) return;
    const ended = once(server, "exit");
    server.kill("SIGTERM");
    await ended;
  };
  const browser = await chromium.launch({
    executablePath: CHROMIUM,
    args: ["--no-sandbox", "--enable-unsafe-swiftshader", "--disable-quic", "--no-first-run"].concat([
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ]),
  });
  console.log(`chromium ${browser.version()}`);
  return {
    url,
    browser,
    page: async (options = {}) => watched(await browser.newContext({viewport: {width: 1280, height: 800}, ...options})),
    stopServer,
    startServer: async () => {
      ({server, url} = await serve(Number(new URL(url).port), book, sample));
    },
    close: async () => {
      await browser.close();
      await stopServer();
    },
  };
}

async function watched(context: Awaited<ReturnType<Browser["newContext"]>>): Promise<WatchedPage> {
  const strayed: string[] = [];
  const errors: string[] = [];
  await context.route(
    (asked) => asked.hostname !== "127.0.0.1",
    (route) => {
      strayed.push(route.request().url());
      return route.abort();
    },
  );
  context.setDefaultTimeout(PATIENCE_MS);
  const page = await context.newPage();
  page.on("pageerror", (error) => errors.push(error.message));
  page.on("console", (message) => {
    if (message.type() === "error") errors.push(message.text());
  });
  return {page, strayed, errors};
}

function serve(port: number, book: string, sample: boolean): Promise<{server: ChildProcess; url: string}> {
  const what = [inject("web"), String(port), book, sample ? "sample" : ""];
  const server = spawn(process.execPath, ["--import", "tsx", `${ROOT}tests/web/serve-bench.ts`, ...what], {
    cwd: ROOT,
    stdio: ["ignore", "pipe", "pipe", "ipc"],
  });
  return new Promise((resolve, reject) => {
    let said = "";
    const hear = (chunk: Buffer): void => {
      said += chunk.toString();
      const url = /http:\/\/127\.0\.0\.1:\d+\//.exec(said)?.[0];
      if (url) resolve({server, url});
    };
    server.stdout?.on("data", hear);
    server.stderr?.on("data", hear);
    server.on("exit", (code) => reject(new Error(`the server ended with ${code}: ${said}`)));
  });
}
