import {mkdtempSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import type {Page} from "playwright-core";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {expectText, jobSaved, ledgerSettled, openField, openStation, rowOf, until} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

if (skipped) console.log(`a server that goes away ${skipped}`);
const PATIENT = 240_000;

describe.skipIf(skipped !== "")("a server that goes away", () => {
  let bench: OpenBench;
  let watched: WatchedPage;
  let page: Page;
  let folder: string;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), "loamwright-away-"));
    bench = await openBench({book: join(folder, "book.gpkg")});
    watched = await bench.page();
    page = watched.page;
    await openField(page, bench.url, "Kiln Forty");
    await openStation(page, "Plan");
  }, PATIENT);
  afterAll(async () => {
    await bench?.close();
    rmSync(folder, {recursive: true, force: true});
  });

  const cell = () => page.getByLabel("Cell", {exact: true});
  const untilGrid = (bags: number) =>
    until(
      () => rowOf(page, "Grid"),
      (figures) => figures.startsWith(`${bags} `),
    );

  it("is said, what is shown stays, and a change waits to be made again", {timeout: PATIENT}, async () => {
    const ledger = await rowOf(page, "Grid");
    await bench.stopServer();
    await cell().fill("5 ac");
    await cell().press("Enter");
    await expectText(page, ".away", /The server does not answer/);
    await expectText(page, ".setting .wrong", /The server does not answer/);
    expect(await rowOf(page, "Grid")).toBe(ledger);
    await bench.startServer();
    await page.locator(".away").waitFor({state: "detached"});
    expect(await cell().inputValue()).toBe("5 ac");
    await cell().press("Enter");
    await page.locator(".setting .wrong").waitFor({state: "detached"});
    await untilGrid(8);
  });

  it("in the middle of the work, which is taken up again", {timeout: PATIENT}, async () => {
    await cell().fill("4 ac");
    const saved = jobSaved(page);
    await cell().press("Enter");
    await saved;
    await bench.stopServer();
    await page.locator(".away").waitFor();
    await bench.startServer();
    await page.locator(".away").waitFor({state: "detached"});
    await until(
      () => rowOf(page, "Grid"),
      (figures) => /^(9|10|11) /.test(figures),
    );
    expect(await cell().inputValue()).toBe("4 ac");
  });

  it("while nobody asked it anything is not noticed", {timeout: PATIENT}, async () => {
    await until(
      async () => page.locator(".progress .bar").count(),
      (bars) => bars === 0,
    );
    await bench.stopServer();
    await bench.startServer();
    await cell().fill("2.5 ac");
    await cell().press("Enter");
    await untilGrid(15);
    await ledgerSettled(page);
  });

  it("on the page of the book: the fields come when it is back", {timeout: PATIENT}, async () => {
    await page.goto(`${bench.url}#/`);
    await page.locator(".cards a").first().waitFor();
    await bench.stopServer();
    await page.evaluate("dispatchEvent(new Event('focus'))");
    await page.locator(".away").waitFor();
    expect(await page.locator(".cards a").count()).toBe(2);
    await bench.startServer();
    await page.locator(".away").waitFor({state: "detached"});
    await page.locator(".cards a", {hasText: "Kiln Forty"}).click();
    await ledgerSettled(page);
  });

  it("is not looked for anywhere else", () => {
    expect(watched.strayed).toEqual([]);
    expect(watched.errors.filter((text) => !/ERR_CONNECTION|ERR_INCOMPLETE|ERR_EMPTY|4\d\d/.test(text))).toEqual([]);
  });
});
