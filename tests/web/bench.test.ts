import {readFileSync} from "node:fs";
import type {Locator, Page} from "playwright-core";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {
  expectText,
  findings,
  focusOf,
  jobSaved,
  ledgerSettled,
  openField,
  openStation,
  rowOf,
  textOf,
  until,
} from "./at-the-bench.ts";
import {lookAtMaps, type MapLook, mapsDrawn, mapsMoved} from "./look-at-maps.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

if (skipped) console.log(`bench in a browser ${skipped}`);
const SAMPLES = new URL("../../sample-data/", import.meta.url).pathname;
const PATIENT = 240_000;

describe.skipIf(skipped !== "")("the bench in a browser", () => {
  let bench: OpenBench;
  let watched: WatchedPage;
  let page: Page;

  beforeAll(async () => {
    bench = await openBench();
    watched = await bench.page({acceptDownloads: true});
    page = watched.page;
    await page.goto(bench.url);
  }, PATIENT);
  afterAll(() => bench?.close());

  it("lists the fields of the book with what is next", {timeout: PATIENT}, async () => {
    await page.locator(".cards a").first().waitFor();
    const cards = await page.locator(".cards a").allInnerTexts();
    expect(cards).toHaveLength(2);
    expect(cards.join(" ")).toMatch(/Millrace\s+154\.2 ac/);
    expect(await page.locator(".cards svg path").count()).toBe(2);
    expect(await findings(page)).toEqual([]);
  });

  it("draws the field three times over one ledger", {timeout: PATIENT}, async () => {
    await page.locator(".cards a", {hasText: "Millrace"}).click();
    await ledgerSettled(page);
    const looks = await mapsDrawn(page);
    expect(looks.map(({strategy}) => strategy)).toEqual(["whole-field", "grid", "zone"]);
    // The field covers more than a fifth of each map; one rate is one colour, the grid has many.
    for (const {drawn} of looks) expect(drawn).toBeGreaterThan(0.2);
    const [whole, grid] = looks;
    expect(whole?.colours.length).toBeLessThan(grid?.colours.length ?? 0);
    expect(await rowOf(page, "Whole field")).toMatch(/^7\s/);
    expect(await textOf(page.locator(".sure b"))).toMatch(/\.$/);
  });

  it("zooms and pans the three maps together", {timeout: PATIENT}, async () => {
    const before = await lookAtMaps(page);
    await page.locator("figure[data-strategy=grid] canvas").focus();
    await page.keyboard.press("Minus");
    const smaller = await mapsMoved(page, before);
    await page.keyboard.press("ArrowLeft");
    const moved = await mapsMoved(page, smaller);
    const [whole, grid, zone] = moved;
    const width = ({box}: MapLook): number => box[2] - box[0];
    // A step goes to a whole level of zoom: between half as large and a third.
    expect(width(grid as MapLook)).toBeLessThan(width(before[1] as MapLook) * 0.75);
    for (const other of [whole, zone]) {
      // Edges agree to a pixel or two of some 240.
      grid?.box.forEach((edge, i) => {
        expect(Math.abs((other?.box[i] ?? 0) - edge)).toBeLessThan(0.01);
      });
    }
    await page.getByRole("button", {name: "whole field in view"}).click();
    const after = await mapsMoved(page, moved);
    after.forEach(({box}, m) => {
      box.forEach((edge, i) => {
        expect(Math.abs(edge - (before[m]?.box[i] ?? 0))).toBeLessThan(0.01);
      });
    });
  });

  it("says why a unit gets what it gets, and what the ground is there", {timeout: PATIENT}, async () => {
    const box = await page.locator("figure[data-strategy=zone] canvas").boundingBox();
    if (!box) throw new Error("no map");
    await page.mouse.click(box.x + box.width * 0.55, box.y + box.height * 0.6);
    await page.locator(".steps-of li").first().waitFor();
    expect(await textOf(page.locator(".side h2").first())).toMatch(/^Zone \d/);
    expect(await page.locator("details[open] .steps-of li").count()).toBeGreaterThanOrEqual(5);
    expect(await textOf(page.locator("details[open] .answer"))).toMatch(/11-52-0\s+\d+ lb\/ac/);
    await page.locator(".here table").waitFor();
    expect(await textOf(page.locator(".here table"))).toMatch(/Organic matter\s+[\d.]+ %/);
    expect(await findings(page)).toEqual([]);
  });

  it("shows layers, zones, plans, tests and differences on the same maps", {timeout: PATIENT}, async () => {
    for (const [show, note] of [
      ["layer", /means of zones/],
      ["zones", /4 zones: [\d, ]+ ac/],
      ["plan", /5 bags, 75 cores/],
      ["test", /5 bags/],
      ["difference", /more on \d+ ac, less on \d+ ac/],
      ["rate", /5 bags, \d rates/],
    ] as const) {
      await page.locator(`input[name=show][value=${show}]`).check({force: true});
      await expectText(page, "figure[data-strategy=zone] figcaption", note);
    }
    expect(watched.errors).toEqual([]);
  });

  it("draws another number of zones, keeps results off their ground, and undo brings all back", {
    timeout: PATIENT,
  }, async () => {
    const before = await rowOf(page, "Zones");
    await openStation(page, "Zones");
    await page.getByLabel("How many zones").selectOption({label: "2"});
    await expectText(page, "figure[data-strategy=zone] figcaption", /2 zones/);
    await expectText(page, "section[aria-label='Why there are no rates']", /samples were taken by zone plan/);
    await page.locator("h1").click();
    await page.keyboard.press("Control+z");
    await expectText(page, "figure[data-strategy=zone] figcaption", /4 zones/);
    await ledgerSettled(page);
    expect(await rowOf(page, "Zones")).toBe(before);
    await page.getByRole("button", {name: "Redo"}).click();
    await expectText(page, "figure[data-strategy=zone] figcaption", /2 zones/);
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await expectText(page, "figure[data-strategy=zone] figcaption", /4 zones/);
  });

  it("undone before it is worked out, a change leaves nothing behind", {timeout: PATIENT}, async () => {
    await ledgerSettled(page);
    const before = await rowOf(page, "Zones");
    const saved = jobSaved(page);
    await page.getByLabel("How many zones").selectOption({label: "5"});
    await saved;
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await ledgerSettled(page);
    expect(await rowOf(page, "Zones")).toBe(before);
    expect(await page.getByLabel("How many zones").inputValue()).toBe("4");
  });

  it("stops the work when asked and keeps the last result in sight", {timeout: PATIENT}, async () => {
    await ledgerSettled(page);
    const before = await rowOf(page, "Zones");
    await openStation(page, "Zones");
    await page.getByLabel("How many zones").selectOption({label: "choose for me"});
    await page.getByRole("button", {name: "Stop"}).click();
    await expectText(page, ".progress", /stopped/);
    expect(await rowOf(page, "Zones")).toBe(before);
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await ledgerSettled(page);
    expect(await rowOf(page, "Zones")).toBe(before);
  });

  it("says beside a setting what is wrong with it and keeps the job as it was", {timeout: PATIENT}, async () => {
    await openStation(page, "Plan");
    const cell = page.getByLabel("Cell", {exact: true});
    await cell.fill("2.5 bushels");
    await cell.press("Enter");
    await expectText(page, ".setting .wrong", /^Not in the job\. Cell\b.*2\.5 bushels/);
    await cell.fill("2.5 ac");
    await cell.press("Enter");
    await page.locator(".setting .wrong").waitFor({state: "detached"});
  });

  it("keeps a change through a reload in the middle of the work", {timeout: PATIENT}, async () => {
    await page.getByLabel("Cell", {exact: true}).fill("5 ac");
    const saved = jobSaved(page);
    await page.getByLabel("Cell", {exact: true}).press("Enter");
    await saved;
    await page.reload();
    // 154 ac in cells of 5 ac come to about 31 bags; in those of 2.5 ac it was 63.
    await untilBags(page, "Grid", 25, 40);
    await openStation(page, "Plan");
    expect(await page.getByLabel("Cell", {exact: true}).inputValue()).toBe("5 ac");
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await untilBags(page, "Grid", 63, 63);
    await ledgerSettled(page);
  });

  it("can be worked by keyboard alone, with the focus in sight", {timeout: PATIENT}, async () => {
    await page.locator("body").evaluate("document.activeElement.blur()");
    const reached: string[] = [];
    const unseen: string[] = [];
    for (let i = 0; i < 90; i++) {
      await page.keyboard.press("Tab");
      const {name, outlined} = await focusOf(page);
      reached.push(name);
      if (!outlined) unseen.push(name);
    }
    const said = reached.join("\n");
    for (const part of [/Zones/, /Hand-over/, /rate/, /Whole field/, /enlarge/, /Files/, /More/]) {
      expect(said).toMatch(part);
    }
    expect(unseen).toEqual([]);
    await page.locator("input[name=show]:checked").focus();
    await page.keyboard.press("ArrowRight");
    await page.keyboard.press("ArrowLeft");
    expect(await page.locator("input[name=show][value=plan]").isChecked()).toBe(true);
    await page.locator("input[name=show][value=rate]").check({force: true});
  });

  it("lists what goes out and gives it once the caution is read", {timeout: PATIENT}, async () => {
    await openStation(page, "Hand-over");
    await expectText(page, ".side", /read back/);
    expect(await page.getByRole("link", {name: "rates-zone.geojson"}).count()).toBe(0);
    await page.getByLabel(/I have read this/).check();
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      page.getByRole("link", {name: "rates-zone.geojson"}).click(),
    ]);
    const rates = JSON.parse(readFileSync(await download.path(), "utf8"));
    expect(rates.features.length).toBeGreaterThan(3);
    const [report] = await Promise.all([
      page.context().waitForEvent("page"),
      page.getByRole("link", {name: /letter.*for the grower/}).click(),
    ]);
    await report.locator("h1").first().waitFor();
    expect(await textOf(report.locator("body"))).toContain("Millrace");
    await report.close();
    expect(await findings(page)).toEqual([]);
  });

  it("recognises a dropped file and shows how it would be read", {timeout: PATIENT}, async () => {
    await openStation(page, "Files");
    await page.locator(".side input[type=file]").setInputFiles(`${SAMPLES}kiln-forty/lab-grid.csv`);
    await expectText(page, ".card", /Attach to this field/);
    expect(await textOf(page.locator(".card"))).toMatch(/P M3-ICP \(ppm\)/);
    expect(await page.locator(".card select").first().inputValue()).toBe("lab");
    expect(await findings(page)).toEqual([]);
    await page.getByRole("button", {name: "Put lab-grid.csv away"}).click();
  });

  it("begins a field from a boundary and takes its first files", {timeout: PATIENT}, async () => {
    await page.goto(`${bench.url}#/`);
    await page.locator(".cards a").first().waitFor();
    await page.locator("input[type=file]").first().setInputFiles(`${SAMPLES}kiln-forty/boundary.geojson`);
    await page.getByLabel("Name of the field").fill("Kiln again");
    await page.getByRole("button", {name: "Make the field"}).click();
    await page.waitForURL(/#\/fields\//);
    await expectText(page, ".head .path", /Kiln again/);
    await expectText(page, ".head .path", /38\.0 ac/);
    await openStation(page, "Files");
    await page.locator(".side input[type=file]").setInputFiles(`${SAMPLES}kiln-forty/elevation.tif`);
    const attach = page.getByRole("button", {name: "Attach to this field"});
    await attach.waitFor();
    // Metres or feet: the file does not say, so nothing goes on before a person does.
    expect(await attach.isDisabled()).toBe(true);
    await page.getByLabel(/metres or feet/).selectOption("m");
    await attach.click();
    await page.locator(".card").waitFor({state: "detached"});
    await expectText(page, "figure[data-strategy=grid] figcaption", /\d+ bags/);
    await expectText(page, "table.ledger", /acres a bag/);
  });

  it("shows the plan with its cores and where one stands on a phone", {timeout: PATIENT}, async () => {
    const phone = await bench.page({
      viewport: {width: 390, height: 844},
      hasTouch: true,
      permissions: ["geolocation"],
      geolocation: {longitude: -86.4, latitude: 40.55, accuracy: 5},
    });
    await openField(phone.page, bench.url, "Millrace");
    await phone.page.locator("input[name=show][value=plan]").check({force: true});
    await expectText(phone.page, "figure[data-strategy=grid] figcaption", /63 bags, 630 cores/);
    await phone.page.getByRole("button", {name: "where am I"}).click();
    await expectText(phone.page, ".beneath", /you are here, within 16 ft/);
    await expectText(phone.page, ".way", /^nearest core, MRG\d\d-\d+: \d+ ft (north|east|south|west)/);

    // A bag found by its number is said at the map, with the way to it; the page stays at the maps.
    await phone.page.getByLabel("Find on the map").selectOption("grid/MRG07");
    const caption = phone.page.locator("figure[data-strategy=grid] .unit-caption");
    await expectText(phone.page, ".way", /^MRG07: [\d,]+ ft north-east$/);
    expect(await textOf(caption)).toMatch(/^MRG07: 2\.\d ac, 10 cores; [\d,]+ ft north-east of you/);
    await until(() => inSight(caption), Boolean);
    // The way follows who walks.
    const before = await textOf(phone.page.locator(".way"));
    await phone.page.context().setGeolocation({longitude: -86.4, latitude: 40.551, accuracy: 5});
    await until(
      () => textOf(phone.page.locator(".way")),
      (said) => said !== before,
    );

    // So is a unit that is tapped, with its rate; "why" leads down to the working.
    await phone.page.locator("input[name=show][value=rate]").check({force: true});
    await phone.page.getByRole("button", {name: "whole field in view"}).tap();
    await phone.page.locator("figure[data-strategy=grid][aria-busy=false]").waitFor();
    const map = phone.page.locator("figure[data-strategy=grid] canvas");
    await map.scrollIntoViewIfNeeded();
    const box = await map.boundingBox();
    if (!box) throw new Error("no map");
    await phone.page.touchscreen.tap(box.x + box.width * 0.3, box.y + box.height * 0.3);
    await until(
      () => textOf(caption),
      (said) => /^MRG(?!07)\d\d: .* lb\/ac of 11-52-0/.test(said),
    );
    expect(await inSight(map)).toBe(true);
    await caption.getByRole("button", {name: "why"}).tap();
    await until(() => inSight(phone.page.locator("#side .choose-unit")), Boolean);
    expect(await phone.page.evaluate(TOO_SMALL)).toEqual([]);
    expect(await phone.page.evaluate("document.documentElement.scrollWidth")).toBeLessThanOrEqual(390);
    expect(await findings(phone.page)).toEqual([]);
    expect(phone.strayed).toEqual([]);
    await phone.page.context().close();
  });

  it("asked nothing of any network but its own server, and met no error", () => {
    expect(watched.strayed).toEqual([]);
    expect(watched.errors.filter((text) => !text.includes("422"))).toEqual([]);
  });
});

/** Whether any of it is on the screen. */
async function inSight(of: Locator): Promise<boolean> {
  const box = await of.boundingBox();
  const height = of.page().viewportSize()?.height ?? 0;
  return box !== null && box.y + box.height > 0 && box.y < height;
}

/** What a finger is to hit at the maps, and would miss. */
const TOO_SMALL = `[...document.querySelectorAll(".middle button, .middle select, .middle .switch label")]
  .filter((one) => one.offsetParent && one.getBoundingClientRect().height < 40)
  .map((one) => one.innerText)`;

/** Until the ledger has so many bags of a strategy. */
async function untilBags(page: Page, strategy: string, least: number, most: number): Promise<void> {
  await until(
    async () => Number.parseInt(await rowOf(page, strategy), 10),
    (bags) => bags >= least && bags <= most,
  );
}
