import {type ChildProcess, spawn} from "node:child_process";
import {once} from "node:events";
import {copyFileSync, existsSync, mkdtempSync, readFileSync, rmSync} from "node:fs";
import {cpus, loadavg, tmpdir} from "node:os";
import {join} from "node:path";
import {type BrowserContext, type CDPSession, chromium, type Page} from "playwright-core";
import {createBook, withBook} from "../../src/book/book.ts";
import {saveRun} from "../../src/book/save-run.ts";
import {nodeBookHost} from "../../src/cli/book-host.ts";
import {withHost} from "../../src/cli/node-host.ts";
import {openJob} from "../../src/cli/open-job.ts";
import {encodeUtf8} from "../../src/formats/text.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import {runJob} from "../../src/pipeline/run.ts";
import {VERSION} from "../../src/pipeline/version.ts";
import type {FieldCard, FieldPage} from "../../src/server/api-types.ts";
import {
  BENCH_IS_DRAWN,
  BENCH_SAYS_READY,
  KEEP_LONG_TASKS,
  LONG_TASKS,
  WATCH_ZONES,
  ZONES_STILL,
} from "./speed-in-page.ts";

// How quick the bench is, as built (`npm run build` first), in Chromium on this machine: from the request to pixels.
//   npx tsx tests/bench/bench-speed.ts [times]

const ROOT = new URL("../../", import.meta.url).pathname;
const MAIN = `${process.env.LOAMWRIGHT_DIST ?? `${ROOT}dist`}/cli/main.js`;
const CHROMIUM = "/usr/bin/chromium";
const FIELDS = 60;
/** What a person feels as a stutter. */
const LONG_TASK_MS = 100;

interface Row {
  readonly what: string;
  readonly limitMs: number;
  readonly ms: number[];
  /** Time the server's process was at work, milliseconds. */
  readonly serverMs: number[];
  /** The same of the page's main thread. */
  readonly pageMs: number[];
  /** The longest piece of it in one go. */
  readonly longest: number[];
}

if (!existsSync(MAIN) || !existsSync(CHROMIUM)) throw new Error(`needs ${MAIN} (npm run build) and ${CHROMIUM}`);
/** By book: a browser knows a page again by its address. */
const ports = new Map<string, string>();
const times = Number(process.argv[2] ?? 3);
const folder = mkdtempSync(join(tmpdir(), "loamwright-speed-"));
const browser = await chromium.launch({
  executablePath: CHROMIUM,
  args: ["--no-sandbox", "--enable-unsafe-swiftshader", "--disable-background-networking", "--no-first-run"],
});
try {
  const sample = join(folder, "sample.gpkg");
  const sixty = join(folder, "sixty.gpkg");
  const asFilled = join(folder, "as-filled.gpkg");
  await fillSample(sample);
  copyFileSync(sample, asFilled);
  await fillSixty(sixty);
  const rows = [
    row("a field opened after a restart: three maps drawn and the ledger", 1500),
    row("the same in a browser that has never seen the page", 1500),
    row(`${FIELDS} fields listed, after a restart`, 500),
    row("another number of zones on Millrace: from the choice to drawn zones", 1000),
  ];
  const [opened, openedNew, listed, changed] = rows as [Row, Row, Row, Row];
  const starts: number[] = [];
  const open = async (server: Server, look: Look, into: Row): Promise<void> => {
    const millrace = await fieldNamed(server.url, "Millrace");
    await look.measure(into, async (page) => {
      await page.goto(`${server.url}#/fields/${millrace}`);
      await page.waitForFunction(BENCH_SAYS_READY, undefined, {polling: "raf"});
      await page.waitForFunction(BENCH_IS_DRAWN, undefined, {polling: 20});
    });
  };
  for (let time = 0; time < times; time++) {
    await during(sample, starts, async (server) => {
      await withPage(server, await newContext(), (look) => open(server, look, openedNew));
    });
  }
  // Whoever works at the bench has opened it before: what does not change is in the browser.
  const known = await newContext();
  for (let time = 0; time <= times; time++) {
    // Without the changes of the time before.
    copyFileSync(asFilled, sample);
    await during(sample, starts, async (server) => {
      await withPage(server, known, async (look) => {
        if (time === 0) return open(server, look, row("not counted", 0));
        await open(server, look, opened);
        await warmLayers(server, look.page);
        for (const count of ["3", "4"]) await changeZones(look, changed, count);
      });
    });
    await during(sixty, starts, async (server) => {
      await withPage(server, known, (look) =>
        look.measure(time === 0 ? row("not counted", 0) : listed, async (page) => {
          await page.goto(server.url);
          await page.waitForFunction(`document.querySelectorAll(".cards a").length === ${FIELDS}`, undefined, {
            polling: "raf",
          });
        }),
      );
    });
  }
  tell(rows, starts);
} finally {
  await browser.close();
  rmSync(folder, {recursive: true, force: true});
}

interface Server {
  readonly url: string;
  readonly child: ChildProcess;
}

interface Look {
  readonly page: Page;
  measure(row: Row, work: (page: Page) => Promise<void>): Promise<void>;
}

function row(what: string, limitMs: number): Row {
  return {what, limitMs, ms: [], serverMs: [], pageMs: [], longest: []};
}

/** The two sample fields, worked out as the first start does it. */
async function fillSample(book: string): Promise<void> {
  await during(book, [], async ({url}) => {
    for (;;) {
      const fields = (await (await fetch(`${url}api/fields`)).json()) as FieldCard[];
      const pages = await Promise.all(fields.map(async ({id}) => (await fetch(`${url}api/fields/${id}`)).json()));
      const isSure = (pages as FieldPage[]).every(({result}) => result?.evidence !== undefined);
      if (fields.length === 2 && isSure && fields.every(({working}) => working === undefined)) return;
      await new Promise((resolve) => setTimeout(resolve, 200));
    }
  });
}

/** One field's job and results under sixty names, each with files and results of its own in the book. */
async function fillSixty(path: string): Promise<void> {
  const host = await nodeBookHost({who: "bench"});
  createBook(host, path);
  const jobPath = `${ROOT}sample-data/kiln-forty/job.json`;
  const {job, files} = openJob(jobPath);
  const run = await withHost(true, (running) => runJob(job, files, running));
  const text = readFileSync(jobPath, "utf8");
  withBook(host, path, (book) => {
    for (let i = 1; i <= FIELDS; i++) {
      const name = `Field ${String(i).padStart(2, "0")}`;
      const own = text.replace('"name": "Kiln Forty"', `"name": "${name}"`);
      const given = {job: readJob(own, "job.json"), jobFile: {name: "job.json", bytes: encodeUtf8(own)}, files};
      const field = {...run.field, name};
      saveRun(book, {...run, field}, given.job, {...given, field}, VERSION);
    }
  });
}

/** Starts a server on a book, works with it and ends it; tells how long it took to answer. */
async function during(book: string, starts: number[], work: (server: Server) => Promise<void>): Promise<void> {
  const start = performance.now();
  const args = [
    MAIN,
    "serve",
    "--book",
    book,
    "--port",
    ports.get(book) ?? "0",
    ...(book.endsWith("sample.gpkg") ? ["--sample"] : []),
  ];
  const child = spawn(process.execPath, args, {stdio: ["ignore", "pipe", "pipe"]});
  const url = await new Promise<string>((resolve, reject) => {
    let said = "";
    const hear = (chunk: Buffer): void => {
      said += chunk.toString();
      const found = /http:\/\/127\.0\.0\.1:\d+\//.exec(said)?.[0];
      if (found) resolve(found);
    };
    child.stdout.on("data", hear);
    child.stderr.on("data", hear);
    child.on("exit", () => reject(new Error(said)));
  });
  starts.push(performance.now() - start);
  ports.set(book, new URL(url).port);
  try {
    await work({url, child});
  } finally {
    const ended = once(child, "exit");
    child.kill("SIGTERM");
    await ended;
  }
}

async function fieldNamed(url: string, wanted: string): Promise<string> {
  const fields = (await (await fetch(`${url}api/fields`)).json()) as FieldCard[];
  const found = fields.find(({name}) => name === wanted);
  if (!found) throw new Error(`no field ${wanted}`);
  return found.id;
}

async function withPage({child}: Server, context: BrowserContext, work: (look: Look) => Promise<void>): Promise<void> {
  const page = await newPage(context);
  const cdp = await page.context().newCDPSession(page);
  // Processor time of the main thread, whatever else the machine is doing.
  await cdp.send("Performance.enable", {timeDomain: "threadTicks"});
  const measure: Look["measure"] = async (row, doing) => {
    const server = cpuMs(child.pid as number);
    const before = await taskMs(cdp);
    await page.evaluate("globalThis.tasks = []");
    const start = performance.now();
    await doing(page);
    row.ms.push(performance.now() - start);
    row.serverMs.push(cpuMs(child.pid as number) - server);
    row.pageMs.push((await taskMs(cdp)) - before);
    // Entries of tasks that have just ended come a little later.
    await page.waitForTimeout(300);
    const long = (await page.evaluate(LONG_TASKS)) as number[];
    row.longest.push(Math.max(0, ...long));
  };
  try {
    await work({page, measure});
  } finally {
    await page.close();
  }
}

/** Without the policy of the page, which lets nobody evaluate the scripts that look at it. */
function newContext(): Promise<BrowserContext> {
  return browser.newContext({viewport: {width: 1280, height: 800}, bypassCSP: true});
}

async function newPage(context: BrowserContext): Promise<Page> {
  const page = await context.newPage();
  page.setDefaultTimeout(300_000);
  page.on("pageerror", (error) => console.log("page:", error.message));
  await page.addInitScript(KEEP_LONG_TASKS);
  await page.goto("about:blank");
  return page;
}

/** The layers come back into memory with the first run after a start; a person who tries numbers has them there. */
async function warmLayers({url}: Server, page: Page): Promise<void> {
  await showZones(page);
  await page.waitForFunction(ZONES_STILL, undefined, {polling: 200});
  const id = await fieldNamed(url, "Millrace");
  const {token} = (await (await fetch(`${url}api/session`)).json()) as {token: string};
  const headers = {"x-loamwright-token": token, "content-type": "application/json"};
  const asked = await fetch(`${url}api/fields/${id}/run`, {method: "POST", headers, body: '{"upTo": "plan"}'});
  const {id: task} = (await asked.json()) as {id: string};
  await (await fetch(`${url}api/tasks/${task}/events`)).text();
}

async function showZones(page: Page): Promise<void> {
  await page.locator("nav.itinerary button", {has: page.locator("b", {hasText: /^Zones/})}).click();
  await page.locator("input[name=show][value=zones]").check({force: true});
}

/** Chooses a number of zones and watches the map of zones until it has come to rest: the time is when it last changed. */
async function changeZones(look: Look, row: Row, count: string): Promise<void> {
  const choice = look.page.getByLabel("How many zones");
  await choice.waitFor();
  let drawnMs = 0;
  await look.measure(row, async (page) => {
    await page.evaluate(WATCH_ZONES);
    await choice.selectOption(count);
    await page.waitForFunction("globalThis.zonesDrawn !== undefined", undefined, {polling: 100});
    drawnMs = (await page.evaluate("globalThis.zonesDrawn")) as number;
  });
  row.ms[row.ms.length - 1] = drawnMs;
}

/** What the process and all its threads have used. Linux. */
function cpuMs(pid: number): number {
  const stat = readFileSync(`/proc/${pid}/stat`, "utf8");
  const fields = stat.slice(stat.lastIndexOf(")") + 2).split(" ");
  // Clock ticks, of which there are a hundred in a second everywhere today.
  return (Number(fields[11]) + Number(fields[12])) * 10;
}

async function taskMs(cdp: CDPSession): Promise<number> {
  const {metrics} = await cdp.send("Performance.getMetrics");
  return 1000 * (metrics.find(({name}) => name === "TaskDuration")?.value ?? 0);
}

function tell(rows: readonly Row[], starts: readonly number[]): void {
  const [load = 0] = loadavg();
  console.log(
    `${cpus().length} processors, load ${load.toFixed(1)}, Chromium ${browser.version()}, median of each row against its limit`,
  );
  for (const {what, limitMs, ms, serverMs, pageMs, longest} of rows) {
    const all = [...ms].sort((a, b) => a - b).map((one) => one.toFixed(0));
    console.log(`${median(ms) <= limitMs ? "good" : "OVER"}  ${what}: ${all.join(", ")} ms (${limitMs} at most)`);
    console.log(
      `      server ${median(serverMs).toFixed(0)} ms of processor, page's main thread ${median(pageMs).toFixed(0)} ms, longest task ${Math.max(...longest).toFixed(0)} ms${Math.max(...longest) > LONG_TASK_MS ? " OVER" : ""}`,
    );
  }
  console.log(
    `      from the command to its address: ${[...starts]
      .sort((a, b) => a - b)
      .map((one) => one.toFixed(0))
      .join(", ")} ms`,
  );
}

function median(list: readonly number[]): number {
  return [...list].sort((a, b) => a - b)[list.length >> 1] ?? 0;
}
