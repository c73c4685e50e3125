import {readFileSync} from "node:fs";
import type {Page} from "playwright-core";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {expectText, type Focus, focusOf, ledgerSettled, until} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

if (skipped) console.log(`the main path by keyboard ${skipped}`);
const KILN = new URL("../../sample-data/kiln-forty/", import.meta.url).pathname;
const PATIENT = 300_000;
/** The focus follows when the page has been drawn. */
const DRAWN_TWICE = "new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)))";
/** More than there are places for the focus on any page. */
const MOST_STEPS = 400;

describe.skipIf(skipped !== "")("the main path by keyboard alone", () => {
  let bench: OpenBench;
  let watched: WatchedPage;
  let page: Page;
  /** Places where the focus was and could not be seen. */
  const unseen = new Set<string>();

  beforeAll(async () => {
    bench = await openBench({sample: false});
    watched = await bench.page({acceptDownloads: true});
    page = watched.page;
    // Heard from the start: who begins to listen as the key goes down may miss it.
    page.on("filechooser", () => undefined);
    await page.goto(bench.url);
    await expectText(page, "main", /The book is empty/);
  }, PATIENT);
  afterAll(() => bench?.close());

  const look = async (): Promise<Focus> => {
    const focus = await focusOf(page);
    if (!focus.outlined) unseen.add(`${focus.tag} ${focus.name}`);
    return focus;
  };
  /** Steps on with Tab until the focus is on something of that name. */
  const tabTo = async (name: RegExp, tag?: string): Promise<void> => {
    const passed: string[] = [];
    for (let step = 0; step < MOST_STEPS; step++) {
      await page.keyboard.press("Tab");
      const focus = await look();
      if (name.test(focus.name) && (!tag || focus.tag === tag)) return;
      passed.push(`${focus.tag} ${focus.name.slice(0, 40)}`);
    }
    throw new Error(`no ${name} among ${[...new Set(passed)].join("; ")}`);
  };
  const write = async (name: RegExp, text: string): Promise<void> => {
    await tabTo(name, "INPUT");
    await page.keyboard.press("Control+a");
    await page.keyboard.type(text);
    await page.keyboard.press("Enter");
    expect((await look()).name, "the focus stays where one writes").toMatch(name);
  };
  /** Types what a list shall say. */
  const choose = async (name: RegExp, wanted: string): Promise<void> => {
    await tabTo(name, "SELECT");
    await page.keyboard.type(wanted);
    expect(await page.evaluate("document.activeElement.selectedOptions[0].textContent")).toBe(wanted);
  };
  const pick = async (name: RegExp, files: readonly string[]): Promise<void> => {
    await tabTo(name, "BUTTON");
    const [chooser] = await Promise.all([page.waitForEvent("filechooser"), page.keyboard.press("Enter")]);
    await chooser.setFiles(files.map((file) => KILN + file));
  };
  /** Opens a station, where the focus then begins at the top. */
  const open = async (name: string): Promise<void> => {
    await tabTo(new RegExp(`^${name}\\b`), "BUTTON");
    await page.keyboard.press("Enter");
    await page.evaluate(DRAWN_TWICE);
    await until(
      async () => (await look()).name,
      (now) => now === name,
    );
  };

  it("a field is made, and the focus goes with it", {timeout: PATIENT}, async () => {
    await pick(/New field from a boundary file/, ["boundary.geojson"]);
    await until(
      async () => (await look()).name,
      (now) => now === "Name of the field",
    );
    await page.keyboard.type("Kiln Forty");
    await page.keyboard.press("Enter");
    await expectText(page, ".head .path", /Kiln Forty/);
    await until(
      async () => (await look()).tag,
      (now) => now === "H1",
    );
  });

  it("files are chosen, asked about and attached", {timeout: PATIENT}, async () => {
    await open("Files");
    const logs = ["yield-2023-corn.csv", "yield-2024-soybean.csv", "yield-2025-corn.csv"];
    await pick(/^Choose files$/, [...logs, "soil.geojson", "elevation.tif"]);
    await page.locator(".card", {hasText: "elevation.tif"}).locator("select").first().waitFor();
    await choose(/metres or feet/, "m");
    await tabTo(/^Attach all that need no answer \(5\)/);
    await page.keyboard.press("Enter");
    await page.locator(".card").first().waitFor({state: "detached"});
    await until(
      async () => (await look()).name,
      (now) => now === "Files",
    );
  });

  it("zones and plan are set; Escape gives up what is written, then leads back", {timeout: PATIENT}, async () => {
    await open("Zones");
    await choose(/^How many zones/, "3");
    await expectText(page, "figure[data-strategy=zone] figcaption", /3 zones/);
    await open("Plan");
    await write(/^Depth$/, "8 in");
    await tabTo(/^Cell$/, "INPUT");
    await page.keyboard.type("77 ac");
    await page.keyboard.press("Escape");
    expect(await page.evaluate("document.activeElement.value")).toBe("");
    expect((await look()).name).toBe("Cell");
    await page.keyboard.press("Escape");
    await until(
      async () => (await look()).name,
      (now) => /^Plan\b/.test(now),
    );
    await page.keyboard.press("Enter");
    await tabTo(/^More$/);
    await page.keyboard.press("Enter");
    await write(/^Seed$/, "2026");
    await tabTo(/^All there is to set$/);
    await page.keyboard.press("Enter");
    await tabTo(/^field$/);
    await page.keyboard.press("Enter");
    await write(/^prefix$/, "KF");
    await tabTo(/^Save field$/);
    await page.keyboard.press("Enter");
    await page.getByRole("button", {name: "Save field"}).waitFor({state: "detached"});
  });

  it("lab reports are answered for and attached", {timeout: PATIENT}, async () => {
    for (const name of ["lab-whole-field.csv", "lab-grid.csv", "lab-zone.csv"]) {
      await open("Files");
      await pick(/^Choose files$/, [name]);
      await page.locator(".card select[id^=question]").first().waitFor();
      await choose(/^Column "pH"/, "water 1:1");
      await choose(/^Column "Buffer pH"/, "smp");
      await choose(/^Column "OM \(%\)"/, "loss on ignition");
      await choose(/^Column "CEC/, "sum of cations");
      await tabTo(/^Attach to this field$/);
      await page.keyboard.press("Enter");
      await page.locator(".card").first().waitFor({state: "detached"});
      await page.evaluate(DRAWN_TWICE);
    }
  });

  it("crops, state and products are named", {timeout: PATIENT}, async () => {
    await open("Rates");
    await tabTo(/^\+ add a crop$/);
    await page.keyboard.press("Enter");
    await until(
      async () => (await look()).name,
      (now) => now === "Crop of crop 1",
    );
    await page.keyboard.type("corn");
    await write(/^Yield goal of crop 1$/, "195 bu/ac");
    await write(/^State$/, "IN");
    for (const [i, [analysis, nutrient]] of [
      ["11-52-0", "P2O5"],
      ["0-0-60", "K2O"],
    ].entries()) {
      await tabTo(/^\+ add a product$/);
      await page.keyboard.press("Enter");
      await until(
        async () => (await look()).name,
        (now) => now === `Analysis of product ${i + 1}`,
      );
      await page.keyboard.type(analysis ?? "");
      await choose(new RegExp(`^Nutrient of product ${i + 1}$`), nutrient ?? "");
    }
    await ledgerSettled(page);
  });

  it("the maps are stepped through and walked with the arrow keys", {timeout: PATIENT}, async () => {
    await tabTo(/^rate$/, "INPUT");
    await page.keyboard.press("ArrowLeft");
    expect(await page.locator("input[name=show][value=test]").isChecked()).toBe(true);
    await page.keyboard.press("ArrowRight");
    await tabTo(/^enlarge the map of zones/);
    await page.keyboard.press("Enter");
    await page.locator("figure.map.large").waitFor();
    await page.keyboard.press("Escape");
    await page.locator("figure.map.large").waitFor({state: "detached"});
  });

  it("a rate file is had once the caution is read", {timeout: PATIENT}, async () => {
    await open("Hand-over");
    await tabTo(/^I have read this/, "INPUT");
    await page.keyboard.press("Space");
    await tabTo(/^rates-zone\.geojson$/, "A");
    const [download] = await Promise.all([page.waitForEvent("download"), page.keyboard.press("Enter")]);
    const {features} = JSON.parse(readFileSync(await download.path(), "utf8"));
    expect(features.length).toBeGreaterThan(1);
  });

  it("the way back to the book leads to the field's card", {timeout: PATIENT}, async () => {
    await tabTo(/^Loamwright$/, "A");
    await page.keyboard.press("Enter");
    await until(look, ({tag, name}) => tag === "A" && /Kiln Forty/.test(name));
  });

  it("kept the focus in sight everywhere, asked no other network and met no error", () => {
    expect([...unseen]).toEqual([]);
    expect(watched.strayed).toEqual([]);
    expect(watched.errors).toEqual([]);
  });
});
