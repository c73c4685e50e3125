import {execFileSync} from "node:child_process";
import {createHash} from "node:crypto";
import {existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import type {Page} from "playwright-core";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {unzip} from "../../src/formats/zip.ts";
import type {FieldPage, ResultCard} from "../../src/server/api-types.ts";
import {cli} from "../hosts/in-process.ts";
import {SAMPLES} from "../server/running.ts";
import {expectText, findings, ledgerSettled, openField, openStation, rowOf, textOf, until} from "./at-the-bench.ts";
import {mapsDrawn} from "./look-at-maps.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

if (skipped) console.log(`comparing and handing over ${skipped}`);
const PATIENT = 240_000;
const NO_PDF_TOOLS = existsSync("/usr/bin/pdftotext") ? "" : "skipped: no pdftotext";

describe.skipIf(skipped !== "")("comparing and handing over, in a browser", () => {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-compare-"));
  const book = join(folder, "farm.gpkg");
  let bench: OpenBench;
  let watched: WatchedPage;
  let page: Page;

  beforeAll(async () => {
    bench = await openBench({book});
    watched = await bench.page({acceptDownloads: true});
    page = watched.page;
    await openField(page, bench.url, "Kiln Forty");
  }, PATIENT);
  afterAll(async () => {
    await bench?.close();
    rmSync(folder, {recursive: true, force: true});
  });

  const onShow = async (): Promise<ResultCard> => {
    const found = (await (await fetch(`${bench.url}api/fields/1`)).json()) as FieldPage;
    if (!found.result) throw new Error("no result");
    return found.result;
  };
  const chart = (title: RegExp) => page.locator("figure.chart", {has: page.locator("h3", {hasText: title})});
  const tableOf = async (title: RegExp): Promise<string[][]> => {
    const details = chart(title).locator("details");
    if ((await details.getAttribute("open")) === null) await details.locator("summary").click();
    const rows = details.locator("tbody tr");
    return Promise.all((await rows.all()).map((row) => row.locator("th, td").allInnerTexts()));
  };

  it("charts ground by rate with the run's own acres, nothing at all among them", {timeout: PATIENT}, async () => {
    const {strategies} = await onShow();
    const rows = await tableOf(/Phosphate: ground by rate/);
    const names = {"whole-field": "Whole field", grid: "Grid", zone: "Zones"};
    expect(rows).toEqual(
      strategies.flatMap(({strategy, products}) =>
        (products.find(({purpose}) => purpose === "P2O5")?.byRate ?? []).map(({lbPerAcre, acres, polygons}) => [
          names[strategy],
          String(lbPerAcre),
          acres.toFixed(1),
          String(polygons),
        ]),
      ),
    );
    expect(rows.some(([name, rate]) => name === "Zones" && rate === "0")).toBe(true);
  });

  it("tells a bar's numbers where one points and where the keys go", {timeout: PATIENT}, async () => {
    const figure = chart(/ground by rate/);
    const marks = figure.locator(".mark");
    await marks.first().hover({force: true});
    await expectText(page, ".reads", /^Whole field: 38 ac get over \d+ up to \d+ lb\/ac, in \d+ pieces?\.$/);
    await marks.first().focus();
    await page.keyboard.press("End");
    const last = await page.evaluate("document.activeElement.getAttribute('aria-label')");
    expect(last).toMatch(/^Zones: \d+ ac get over/);
    expect(await textOf(figure.locator(".reads"))).toBe(last);
    await page.keyboard.press("Home");
    expect(await page.evaluate("document.activeElement.getAttribute('aria-label')")).toMatch(/^Whole field/);
    // One stop of the Tab key for a chart.
    expect(await figure.locator(".mark[tabindex='0']").count()).toBe(1);
  });

  it("charts cost with the ledger's own figures and intervals", {timeout: PATIENT}, async () => {
    const {evidence} = await onShow();
    const rows = await tableOf(/Cost by strategy/);
    const money = evidence?.money;
    expect(rows.map(([name]) => name)).toEqual(["Whole field", "Grid", "Zones"]);
    for (const [i, row] of rows.entries()) {
      expect(Number(row[4])).toBeCloseTo(money?.strategies[i]?.perAcrePerYear ?? 0, 2);
    }
    const ledger = await textOf(page.locator("table.ledger", {hasText: "All together"}));
    for (const [, , , , all, interval] of rows) {
      expect(ledger).toContain(all);
      if (interval !== "same at every draw") expect(ledger).toContain(interval);
    }
    expect(await textOf(chart(/Cost by strategy/).locator(".reads"))).toMatch(
      /^Grid costs \$[\d.]+ (less|more) an acre/,
    );
  });

  it("charts soil tests by class, which add up to the field", {timeout: PATIENT}, async () => {
    const rows = await tableOf(/Soil-test P: ground by class/);
    for (const name of ["Whole field", "Grid", "Zones"]) {
      const acres = rows.filter(([strategy]) => strategy === name).reduce((sum, row) => sum + Number(row[2]), 0);
      // Tenths of an acre, rounded one by one.
      expect(Math.abs(acres - 38.0)).toBeLessThan(0.3);
    }
  });

  it("keeps the old figures in sight, paler, while a change is worked out", {timeout: PATIENT}, async () => {
    const before = await rowOf(page, "Zones");
    await openStation(page, "Ledger");
    const lab = page.getByLabel("Lab", {exact: true});
    await lab.fill("30 $/sample");
    await lab.press("Enter");
    await page.locator(".ledger-of.old, .ledger td.old").first().waitFor();
    expect((await rowOf(page, "Zones")).length).toBeGreaterThan(20);
    await ledgerSettled(page);
    await page.locator("td.old").first().waitFor({state: "detached"});
    expect(await rowOf(page, "Zones")).not.toBe(before);
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await ledgerSettled(page);
    await until(
      () => rowOf(page, "Zones"),
      (now) => now === before,
    );
  });

  it("tries numbers of zones, and takes the one that is pressed", {timeout: PATIENT}, async () => {
    // Of other zones the lab knows nothing; the other two plans go on.
    await openStation(page, "Rates");
    await page.locator(".side summary", {hasText: /^More/}).first().click();
    await page.getByLabel("Unit without results").selectOption({label: "leave its plan out"});
    await ledgerSettled(page);
    await openStation(page, "Zones");
    await page.getByRole("button", {name: /choose for me/}).click();
    const counts = page.locator(".count-of-zones figure.chart");
    await counts.waitFor();
    await ledgerSettled(page);
    const {choice} = await onShow();
    expect(await counts.locator(".mark").count()).toBe(choice?.rows.length);
    await counts.getByRole("button", {name: /^2 zones:/}).focus();
    await page.keyboard.press("Enter");
    await expectText(page, "figure[data-strategy=zone] figcaption", /2 zones/);
    expect(await page.getByLabel("How many zones").locator("option:checked").textContent()).toBe("2");
    await ledgerSettled(page);
    // The numbers that were tried stay to be looked at.
    expect(await counts.isVisible()).toBe(true);
    for (let changes = 3; changes > 0; changes--) await page.getByRole("button", {name: "Undo", exact: true}).click();
    await until(onShow, ({zones, evidence}) => zones?.length === 3 && evidence !== undefined);
    await ledgerSettled(page);
    await page.getByLabel("rate", {exact: true}).check({force: true});
    expect(await findings(page)).toEqual([]);
  });

  it("shows a report as it prints, and prints that and not the bench", {timeout: PATIENT}, async () => {
    await openStation(page, "Hand-over");
    await page.getByRole("button", {name: /Preview the report, for the grower/}).click();
    const frame = page.frameLocator("dialog.preview iframe");
    await frame.locator("h1", {hasText: "Kiln Forty"}).waitFor();
    expect(await page.locator("dialog.preview iframe").getAttribute("sandbox")).not.toContain("allow-scripts");
    // Nothing of the document runs; the page around it may ask it to print.
    await page.evaluate(
      "document.querySelector('dialog.preview iframe').contentWindow.print = () => { window.printed = true; }",
    );
    await page.locator("dialog.preview").getByRole("button", {name: "Print"}).click();
    expect(await page.evaluate("window.printed")).toBe(true);
    await page.getByLabel("What", {exact: true}).selectOption("record");
    await frame
      .locator("body", {hasText: "sha-256"})
      .or(frame.locator("body", {hasText: "SHA-256"}))
      .first()
      .waitFor();
    await page.keyboard.press("Escape");
    await page.locator("dialog.preview").waitFor({state: "detached"});
  });

  it.skipIf(NO_PDF_TOOLS !== "")(
    `prints maps and ledger on one sheet, charts on the next ${NO_PDF_TOOLS}`,
    {timeout: PATIENT},
    async () => {
      await mapsDrawn(page);
      for (const format of ["Letter", "A4"]) {
        const path = join(folder, `${format}.pdf`);
        writeFileSync(path, await page.pdf({format}));
        const sheets = execFileSync("pdftotext", ["-layout", path, "-"])
          .toString()
          .split("\f")
          .filter((text) => text.trim());
        expect(sheets, format).toHaveLength(2);
        for (const words of [
          /Phosphate, three ways/,
          /Whole field +2 bags/,
          /All together/,
          /8,370/,
          /caution/,
          /\d+ ft/,
        ]) {
          expect(sheets[0], format).toMatch(words);
        }
        expect(sheets[1], format).toMatch(/Cost by strategy/);
        for (const words of [/Undo/, /I have read this/, /rates-zone/, /enlarge/, /as a table/]) {
          expect(sheets.join(), format).not.toMatch(words);
        }
        // Each of the three maps is on the paper with its own picture, much of it in the blues of rates.
        const picture = execFileSync("pdftoppm", ["-r", "60", "-f", "1", "-l", "1", path], {maxBuffer: 1e8});
        for (const share of blueInThirds(picture)) expect(share, format).toBeGreaterThan(0.1);
      }
      // And the bench is as it was.
      expect(await page.locator("canvas.printed").count()).toBe(0);
      expect(await page.locator("main .charts").count()).toBe(1);
      await mapsDrawn(page);
    },
  );

  it("gives the sampler sheets, labels and ways of each plan without any caution", {timeout: PATIENT}, async () => {
    await openStation(page, "Plan");
    await page.getByRole("button", {name: "sheets, labels, GPX and KML"}).click();
    const sheets = page.locator("#sheets");
    await sheets.getByRole("link", {name: "GPX for Grid"}).waitFor();
    expect(await page.getByLabel(/I have read this/).isChecked()).toBe(false);
    const out = join(folder, "papers");
    const job = join(SAMPLES, "kiln-forty", "job.json");
    expect((await cli("sample", job, "--out", out, "--paper", "a4", "--quiet")).code).toBe(0);
    const written = (name: string) => new Uint8Array(readFileSync(join(out, name)));
    await sheets.getByLabel("Paper of sheets and labels").selectOption("a4");
    const [tab] = await Promise.all([
      page.waitForEvent("popup"),
      sheets.getByRole("link", {name: /^Sheet for Zones/}).click(),
    ]);
    expect(await tab.locator("h1").first().textContent()).toContain("Kiln Forty");
    expect(new Uint8Array(await (await page.request.get(tab.url())).body())).toEqual(written("plan-zone-sheet.html"));
    await tab.close();
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      sheets.getByRole("link", {name: "Grid, all as a zip"}).click(),
    ]);
    const inside = unzip(new Uint8Array(readFileSync(await download.path())), "grid.zip");
    expect([...inside.keys()]).toContain("plan-grid.kml");
    for (const [name, bytes] of inside) expect(bytes, name).toEqual(written(name));
    expect(await sheets.getByRole("link", {name: "Everything for the sampler as one zip"}).count()).toBe(1);
  });

  it("gives rates, and the zip that holds them, once the caution is read", {timeout: PATIENT}, async () => {
    const {outputs} = await onShow();
    expect(await page.getByRole("link", {name: "rates-zone.zip"}).count()).toBe(0);
    expect(await page.getByRole("link", {name: "All files as one zip"}).count()).toBe(0);
    await expectText(page, ".hand-over", /All files as one zip/);
    await page.getByLabel(/I have read this/).check();
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      page.getByRole("link", {name: "All files as one zip"}).click(),
    ]);
    expect(download.suggestedFilename()).toBe("Kiln Forty.zip");
    const inside = unzip(new Uint8Array(readFileSync(await download.path())), "all.zip");
    expect([...inside].map(([name, bytes]) => `${name} ${createHash("sha256").update(bytes).digest("hex")}`)).toEqual(
      outputs.map(({name, sha256}) => `${name} ${sha256}`),
    );
    for (const words of [/shapefile in a zip, for controllers/, /For the sampler and the lab/, /sha256 [0-9a-f]{12}/]) {
      await expectText(page, ".hand-over", words);
    }
    await expectText(
      page,
      ".hand-over",
      /read back 11-52-0: 3,808 lb on 38\.0 ac; \d+ polygons, 2 rates, 0 to 220 lb\/ac/,
    );
  });

  it("enters in the book what was handed over, and says at the station that it was", {timeout: PATIENT}, async () => {
    expect(await textOf(page.locator("nav.itinerary li", {hasText: "Hand-over"}))).toMatch(/Files for 11.52.0/);
    const whose = /rates of whole field, grid and zones for 11-52-0 and 0-0-60; /;
    await expectText(page, ".handed-over", new RegExp(`Taken: ${whose.source}`));
    await page.getByLabel("To whom").fill("the co-op");
    await page.getByRole("button", {name: "Enter as handed over"}).click();
    await expectText(page, "nav.itinerary li", /Hand-over \(done\)[\s\S]*Handed over \d+ \w+ \d{4} to the co-op\./);
    await expectText(page, ".handed-over li", /to the co-op, entered by .*The rates are still those\./);
    await expectText(page, ".handed-over li", whose);
    await openStation(page, "Rates");
    await page.getByLabel("Largest rate").fill("200 lb/ac");
    await page.getByLabel("Largest rate").press("Enter");
    await expectText(page, "nav.itinerary li", /the job has changed since/);
    await ledgerSettled(page);
    await expectText(page, "nav.itinerary li", /the rates have changed since/);
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await expectText(page, "nav.itinerary li", /Hand-over \(done\)/);
  });

  it("keeps rates of the job before a change, and gives sheets of the plan that stays", {
    timeout: PATIENT,
  }, async () => {
    await ledgerSettled(page);
    let goOn: () => void = () => undefined;
    const held = new Promise<void>((resolve) => {
      goOn = resolve;
    });
    const runs = (url: URL) => url.pathname.endsWith("/run");
    await page.route(runs, (route) => void held.then(() => route.continue()));
    await openStation(page, "Ledger");
    const lab = page.getByLabel("Lab", {exact: true});
    await lab.fill("31 $/sample");
    await lab.press("Enter");
    await openStation(page, "Hand-over");
    await expectText(page, ".hand-over .note", /of the job before the last change: work it out first/);
    for (const name of ["rates-zone.zip", "All files as one zip", "comparison.csv"]) {
      expect(await page.locator(".hand-over a", {hasText: name}).count(), name).toBe(0);
    }
    await page.locator("#sheets").getByRole("link", {name: "GPX for Grid"}).waitFor();
    goOn();
    await ledgerSettled(page);
    await page.unroute(runs);
    await page.locator(".hand-over a", {hasText: "All files as one zip"}).waitFor();
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await ledgerSettled(page);
  });

  it("leads from a plan that lab results do not fit to its sheets", {timeout: PATIENT}, async () => {
    await openStation(page, "Zones");
    await page.getByLabel("How many zones").selectOption({label: "2"});
    await page.getByRole("button", {name: "sheets of the new plan"}).click();
    await page.locator("#sheets").getByRole("link", {name: "GPX for Zones"}).waitFor();
    expect(await page.evaluate("document.activeElement.id")).toBe("sheets");
    expect(await page.locator(".hand-over a", {hasText: "rates-"}).count()).toBe(0);
    expect(await page.getByLabel(/I have read this/).count()).toBe(0);
    expect(await findings(page)).toEqual([]);
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await ledgerSettled(page);
  });

  it("shows it all on a phone without scrolling sideways", {timeout: PATIENT}, async () => {
    const phone = await bench.page({viewport: {width: 390, height: 844}, hasTouch: true});
    await phone.page.goto(`${bench.url}#/fields/1`);
    await ledgerSettled(phone.page);
    for (const summary of await phone.page.locator(".charts .as-table summary").all()) await summary.click();
    await openStation(phone.page, "Hand-over");
    await phone.page.locator(".hand-over").waitFor();
    expect(await phone.page.evaluate("document.documentElement.scrollWidth")).toBeLessThanOrEqual(390);
    expect(await findings(phone.page)).toEqual([]);
    await phone.page.context().close();
  });

  it("asked nothing of any network but its own server, and met no error", () => {
    expect(watched.strayed).toEqual([]);
    expect(watched.errors).toEqual([]);
  });

  it("leaves the hand-over in the log of the book", {timeout: PATIENT}, async () => {
    await bench.stopServer();
    const {stdout} = await cli("book", "log", book, "--json");
    const out = (JSON.parse(stdout) as {what: string; field: string; detail: Record<string, unknown>}[]).filter(
      ({what}) => what === "handed over",
    );
    expect(out).toHaveLength(1);
    expect(out[0]).toMatchObject({field: "Kiln Forty", detail: {to: "the co-op", caution: "read"}});
    expect(out[0]?.detail.strategies).toEqual(["whole-field", "grid", "zone"]);
    expect((await cli("book", "log", book)).stdout).toContain("handed over");
  });
});

/** Shares of the upper third of a sheet (binary PPM), cut upright in three, that are clearly blue. */
function blueInThirds(ppm: Buffer): number[] {
  const [, width = 0, height = 0] =
    /^P6\s+(\d+)\s+(\d+)\s+255\s/.exec(ppm.toString("latin1", 0, 40))?.map(Number) ?? [];
  const start = ppm.length - 3 * width * height;
  const rows = Math.floor(height / 3);
  const blue = [0, 0, 0];
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < width; x++) {
      const at = start + 3 * (y * width + x);
      const [r = 0, , b = 0] = [ppm[at], ppm[at + 1], ppm[at + 2]];
      if (b > r + 30) blue[Math.floor((3 * x) / width)] = (blue[Math.floor((3 * x) / width)] ?? 0) + 1;
    }
  }
  return blue.map((count) => count / ((rows * width) / 3));
}
