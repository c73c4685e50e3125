import type {Page} from "playwright-core";
import {afterAll, afterEach, beforeAll, describe, expect, it} from "vitest";
import {expectText, findings, ledgerSettled, openStation} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

if (skipped) console.log(`what axe-core finds ${skipped}`);
const KILN = new URL("../../sample-data/kiln-forty/", import.meta.url).pathname;
const PATIENT = 240_000;
const WEIGHTS = ["moderate", "serious", "critical"];
const STATIONS = ["Layers", "Zones", "Plan", "Lab", "Rates", "Ledger", "Hand-over", "Ground", "Files", "Remarks"];

describe.skipIf(skipped !== "")("axe-core finds nothing to mend", () => {
  let bench: OpenBench;
  let empty: OpenBench;
  let watched: WatchedPage;
  let page: Page;

  beforeAll(async () => {
    [bench, empty] = await Promise.all([openBench(), openBench({sample: false})]);
    watched = await bench.page();
    page = watched.page;
  }, PATIENT);
  afterAll(async () => {
    await bench?.close();
    await empty?.close();
  });

  const found: string[] = [];
  afterEach(() => {
    expect(found.splice(0)).toEqual([]);
  });
  /** On a desk and on a phone. */
  const look = async (at: Page, what: string): Promise<void> => {
    for (const [width, height] of [
      [1280, 800],
      [390, 844],
    ] as const) {
      await at.setViewportSize({width, height});
      for (const finding of await findings(at, WEIGHTS)) found.push(`${what}, ${width} wide: ${finding}`);
    }
  };

  it("on an empty book and a new field", {timeout: PATIENT}, async () => {
    const {page: at} = await empty.page();
    await at.goto(empty.url);
    await expectText(at, "main", /The book is empty/);
    await look(at, "empty book");
    await at.locator("input[type=file]").first().setInputFiles(`${KILN}boundary.geojson`);
    await at.getByLabel("Name of the field").waitFor();
    await look(at, "new field");
    await at.getByRole("button", {name: "Make the field"}).click();
    await expectText(at, ".empty", /Only the boundary is here/);
    await look(at, "field with a boundary alone");
    for (const station of STATIONS) {
      await openStation(at, station);
      await look(at, `${station} of a field with a boundary alone`);
    }
    await at
      .locator(".side input[type=file]")
      .setInputFiles(`${KILN}photo.txt`)
      .catch(() => undefined);
  });

  it("on a full book, while drawing and in the settings", {timeout: PATIENT}, async () => {
    await page.goto(bench.url);
    await page.locator(".cards a").first().waitFor();
    await look(page, "full book");
    await page.getByRole("button", {name: "Draw a boundary"}).click();
    await page.locator(".plate canvas").waitFor();
    await look(page, "drawing");
    await page.reload();
    await page.getByRole("button", {name: "Settings"}).click();
    await page.getByRole("dialog").waitFor();
    await look(page, "settings");
    await page.keyboard.press("Escape");
  });

  it("at every station, with everything opened", {timeout: PATIENT}, async () => {
    await page.locator(".cards a", {hasText: "Kiln Forty"}).click();
    await ledgerSettled(page);
    for (const station of STATIONS) {
      await openStation(page, station);
      await look(page, station);
      await openAll(page);
      await look(page, `${station}, all open`);
    }
  });

  it("on a file that waits, a working, and whatever the maps show", {timeout: PATIENT}, async () => {
    await openStation(page, "Files");
    await page.locator(".side input[type=file]").setInputFiles([`${KILN}lab-grid.csv`, `${KILN}landmarks.geojson`]);
    await page.locator(".card select").first().waitFor();
    await openAll(page);
    await look(page, "a file that waits");
    await page.setViewportSize({width: 1280, height: 800});
    await page.locator("input[name=show][value=rate]").check({force: true});
    const map = page.locator("figure[data-strategy=zone] canvas");
    const {width = 0, height = 0} = (await map.boundingBox()) ?? {};
    await map.click({position: {x: width * 0.55, y: height * 0.6}});
    await page.locator(".steps-of li").first().waitFor();
    await openAll(page);
    await look(page, "working");
    for (const show of ["layer", "zones", "plan", "test", "difference", "rate"]) {
      await page.locator(`input[name=show][value=${show}]`).check({force: true});
      await look(page, `maps of ${show}`);
    }
  });

  it("asked nothing of any network but its own server, and met no error", () => {
    expect(watched.strayed).toEqual([]);
    expect(watched.errors).toEqual([]);
  });
});

/** Opens whatever folds, until nothing is closed any more. */
async function openAll(page: Page): Promise<void> {
  const closed = page.locator("[id=side] details:not([open]) > summary:visible");
  for (let left = 60; left > 0 && (await closed.count()) > 0; left--) await closed.first().click();
}
