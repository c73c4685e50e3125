import {type ChildProcess, spawn} from "node:child_process";
import {existsSync} from "node:fs";
import {type Browser, type BrowserContextOptions, chromium, type Page} from "playwright-core";
import {build} from "vite";

const CHROMIUM = "/usr/bin/chromium";
const ROOT = new URL("../../", import.meta.url).pathname;

/** Why these tests do not run here; empty when they do. */
export const skipped = existsSync(CHROMIUM) ? "" : "skipped: no chromium";

export interface OpenBench {
  readonly url: string;
  readonly browser: Browser;
  /** A page that may reach nothing but the server; what it asked elsewhere stands in `strayed`, its errors in `errors`. */
  page(options?: BrowserContextOptions): Promise<WatchedPage>;
  close(): Promise<void>;
}

export interface WatchedPage {
  readonly page: Page;
  readonly strayed: string[];
  readonly errors: string[];
}

/** Builds the page, serves the sample book as the command does, and starts a browser. */
export async function openBench(): Promise<OpenBench> {
  await build({configFile: `${ROOT}web/vite.config.ts`, logLevel: "error"});
  const {server, url} = await serveSamples();
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
    page: async (options = {}) => {
      const context = await browser.newContext({viewport: {width: 1280, height: 800}, ...options});
      const strayed: string[] = [];
      const errors: string[] = [];
      await context.route(
        (asked) => asked.hostname !== "127.0.0.1",
        (route) => {
          strayed.push(route.request().url());
          return route.abort();
        },
      );
      const page = await context.newPage();
      page.setDefaultTimeout(90_000);
      page.on("pageerror", (error) => errors.push(error.message));
      page.on("console", (message) => {
        if (message.type() === "error") errors.push(message.text());
      });
      return {page, strayed, errors};
    },
    close: async () => {
      await browser.close();
      server.kill("SIGTERM");
    },
  };
}

function serveSamples(): Promise<{server: ChildProcess; url: string}> {
  const args = ["--import", "tsx", `${ROOT}src/cli/main.ts`, "serve", "--sample", "--port", "0"];
  const server = spawn(process.execPath, args, {cwd: ROOT, stdio: ["ignore", "pipe", "pipe"]});
  return new Promise((resolve, reject) => {
    let said = "";
    const hear = (chunk: Buffer): void => {
      said += chunk.toString();
      const url = /http:\/\/127\.0\.0\.1:\d+\//.exec(said)?.[0];
      if (url) resolve({server, url});
    };
    server.stdout.on("data", hear);
    server.stderr.on("data", hear);
    server.on("exit", (code) => reject(new Error(`the server ended with ${code}: ${said}`)));
  });
}
