import {execFile} from "node:child_process";
import {cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {promisify} from "node:util";
import type {FeatureCollection, MultiPolygon} from "geojson";
import type {Page} from "playwright-core";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import type {FieldPage, ResultCard} from "../../src/server/api-types.ts";
import {labelPoint} from "../../web/map/label-point.ts";
import {
  drawingBegun,
  expectText,
  findings,
  ledgerSettled,
  openField,
  openStation,
  rowOf,
  textOf,
  until,
} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";
import {pixelOf} from "./pixel-of.ts";

if (skipped) console.log(`zones by hand ${skipped}`);
const ROOT = new URL("../../", import.meta.url).pathname;
const PATIENT = 240_000;
const MAP = "figure[data-strategy=zone]";

describe.skipIf(skipped !== "")("zones changed by hand at the bench", () => {
  let bench: OpenBench;
  let watched: WatchedPage;
  let page: Page;
  let field = "";
  /** As built, before anything was changed. */
  let built = "";
  let ledger = "";
  let split = "";

  const asked = async <T>(path: string): Promise<T> => (await fetch(`${bench.url}api/${path}`)).json() as Promise<T>;
  const fieldPage = () => asked<FieldPage>(`fields/${field}`);
  /** The result of the job as it stands, once the page shows it. */
  const settled = async (): Promise<ResultCard> => {
    const {result} = await until(fieldPage, ({version, result: made}) => made?.version === version);
    await page.locator(".progress .bar").waitFor({state: "detached"});
    return result as ResultCard;
  };
  const zonesFile = async ({id}: ResultCard): Promise<string> =>
    (await fetch(`${bench.url}api/results/${id}/files/zones.geojson`)).text();
  const zoneAt = async (zone: number): Promise<readonly [number, number]> => {
    const {id} = await settled();
    const {features} = await asked<FeatureCollection<MultiPolygon>>(`results/${id}/shapes/zones`);
    const parts = features.find(({properties}) => properties?.zone === zone)?.geometry.coordinates ?? [];
    const point = parts.map((rings) => labelPoint(rings)).sort((a, b) => (b?.room ?? 0) - (a?.room ?? 0))[0];
    return pixelOf(page, MAP, await fieldPage(), [point?.lon ?? 0, point?.lat ?? 0]);
  };
  const outcome = (i: number) => textOf(page.locator(".edits li").nth(i));

  beforeAll(async () => {
    bench = await openBench();
    watched = await bench.page();
    page = watched.page;
    await openField(page, bench.url, "Kiln Forty");
    field = decodeURIComponent(/fields\/([^/]+)$/.exec(page.url())?.[1] ?? "");
    built = await zonesFile(await settled());
    ledger = await rowOf(page, "Zones");
    await openStation(page, "Zones");
  }, PATIENT);
  afterAll(() => bench?.close());

  it("splits a zone by a line drawn with the mouse", {timeout: PATIENT}, async () => {
    await zoneChoice(page, 3).check();
    await page.getByRole("button", {name: "By a line"}).click();
    await drawingBegun(page);
    await clickAt(page, [0.2, 0.45]);
    await clickAt(page, [0.5, 0.5]);
    await expectText(page, ".hand-bar", /2 corners/);
    // A corner set by mistake is taken back.
    await clickAt(page, [0.6, 0.2]);
    await expectText(page, ".hand-bar", /3 corners/);
    await page.keyboard.press("Backspace");
    await expectText(page, ".hand-bar", /2 corners/);
    await clickAt(page, [0.8, 0.55]);
    await page.keyboard.press("Enter");
    await expectText(page, ".edits li", /Zone 3 split by a line\s*made/);
    const made = await settled();
    expect(made.zones?.map(({id}) => id)).toEqual([1, 2, 3, 4]);
    expect(made.edits).toEqual([{number: 1, edit: "split", applied: true}]);
    const acres = made.zones?.reduce((sum, zone) => sum + zone.acres, 0) ?? 0;
    const {card} = await fieldPage();
    // Zones are a coverage of the field: their acres, each to a double, add up to its own.
    expect(acres).toBeCloseTo(card.acres, 4);
    await expectText(page, "figure[data-strategy=zone] figcaption", /4 zones/);
    split = await zonesFile(made);
    expect(JSON.parse(split).features).toHaveLength(4);
  });

  it("shows maps and plan of the new zones, and says why there are no rates and what to do", {
    timeout: PATIENT,
  }, async () => {
    const made = await settled();
    expect(made.upTo).toBe("plan");
    expect(await rowOf(page, "Zones")).toMatch(/^4 /);
    await expectText(page, ".without-rates", /samples were taken by zone plan \w+, and this job now makes plan \w+/);
    await expectText(page, ".without-rates", /Take samples by the new plan/);
    const {card} = await fieldPage();
    expect([card.stations.zones.state, card.stations.plan.state, card.stations.rates.state]).toEqual([
      "done",
      "done",
      "stale",
    ]);
    expect(card.stations.zones.line).toBe("3 zones, then 1 change by hand.");
    expect(await findings(page)).toEqual([]);
    // Opened again, it says so again.
    await page.reload();
    await expectText(page, ".without-rates", /samples were taken by zone plan/);
    await openStation(page, "Zones");
  });

  it("takes the split back, ledger and all, and makes it again to the byte", {timeout: PATIENT}, async () => {
    await settled();
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await page.locator(".edits").waitFor({state: "detached"});
    await ledgerSettled(page);
    expect((await zonesFile(await settled())) === built).toBe(true);
    expect(await rowOf(page, "Zones")).toBe(ledger);
    await page.getByRole("button", {name: "Redo", exact: true}).click();
    await expectText(page, ".edits li", /made/);
    expect((await zonesFile(await settled())) === split).toBe(true);
  });

  it("makes the same zones from the command line, to the byte", {timeout: PATIENT}, async () => {
    const folder = mkdtempSync(join(tmpdir(), "loamwright-zones-"));
    try {
      cpSync(`${ROOT}sample-data/kiln-forty`, folder, {recursive: true});
      const {job} = await fieldPage();
      writeFileSync(join(folder, "job.json"), JSON.stringify(job));
      const command = [
        "--import",
        "tsx",
        "src/cli/main.ts",
        "zones",
        join(folder, "job.json"),
        "--out",
        join(folder, "made"),
      ];
      await promisify(execFile)(process.execPath, command, {cwd: ROOT});
      expect(readFileSync(join(folder, "made/zones.geojson"), "utf8") === split).toBe(true);
    } finally {
      rmSync(folder, {recursive: true, force: true});
    }
  });

  it("merges a zone with one that is clicked on the map", {timeout: PATIENT}, async () => {
    await zoneChoice(page, 3).check();
    await page.getByRole("button", {name: "or click it on the map"}).click();
    // Still enlarged, as it was before the reload.
    await page.locator(MAP).waitFor();
    const place = await zoneAt(4);
    await page.mouse.click(...place);
    await expectText(page, ".edits li", /Zone 3 and zone 4 made one zone\s*made/);
    const {zones} = await settled();
    expect(zones).toHaveLength(3);
    const before = JSON.parse(built).features.map(({properties}: {properties: {acres: number}}) => properties.acres);
    zones?.forEach(({acres}, i) => {
      // The line's ends leave two corners more on the border; the file has the acres to four figures after the point.
      expect(acres).toBeCloseTo(before[i], 2);
    });
  });

  it("tells that a change no longer applies once the one before it is taken out", {timeout: PATIENT}, async () => {
    await page.getByRole("button", {name: "take out change 1"}).click();
    await expectText(page, ".edits li", /not made: /);
    expect(await outcome(0)).toMatch(
      /Zone 3 and zone 4 made one zone\s*not made: its places lie in one zone already|not made: it means zone 4/,
    );
    const made = await settled();
    expect(made.edits[0]?.applied).toBe(false);
    expect((await zonesFile(made)) === built).toBe(true);
    await page.getByRole("button", {name: "take out change 1"}).click();
    await page.locator(".edits").waitFor({state: "detached"});
    await ledgerSettled(page);
    // With the zones as sampled the rates are back.
    expect(await rowOf(page, "Zones")).toBe(ledger);
  });

  it("splits by keys alone, with the cross in the middle of the map", {timeout: PATIENT}, async () => {
    await page.locator("input[name=chosen-zone]").first().focus();
    await page.keyboard.press("ArrowDown");
    await page.keyboard.press("ArrowDown");
    expect(await zoneChoice(page, 3).isChecked()).toBe(true);
    await tabTo(page, "By a line");
    await page.keyboard.press("Enter");
    await drawingBegun(page);
    await page.locator(".hand-cross").waitFor();
    // 64 pixels a step: from the middle of the field out of it on one side, and out of it on the other.
    for (let i = 0; i < 5; i++) await page.keyboard.press("Shift+ArrowLeft");
    await page.keyboard.press("Space");
    for (let i = 0; i < 10; i++) await page.keyboard.press("Shift+ArrowRight");
    await page.keyboard.press("Space");
    await expectText(page, ".hand-bar", /2 corners/);
    await page.keyboard.press("Enter");
    await expectText(page, ".edits li", /Zone 3 split by a line\s*made/);
    expect((await settled()).zones).toHaveLength(4);
    // The focus is back where the drawing was begun.
    expect(await page.evaluate("document.activeElement.textContent")).toBe("By a line");
  });

  it("gives up by Escape and changes nothing", {timeout: PATIENT}, async () => {
    const {version} = await fieldPage();
    await page.getByRole("button", {name: "Give it ground"}).click();
    await drawingBegun(page);
    await clickAt(page, [0.5, 0.3]);
    await page.keyboard.press("Escape");
    await page.locator(".hand-bar").waitFor({state: "detached"});
    expect((await fieldPage()).version).toBe(version);
    expect(await page.getByRole("button", {name: "all three"}).count()).toBe(1);
  });

  it("redraws a border: ground outside comes in, ground inside goes across", {timeout: PATIENT}, async () => {
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await page.locator(".edits").waitFor({state: "detached"});
    await ledgerSettled(page);
    // The keys moved the ground.
    await page.getByRole("button", {name: "whole field in view"}).click();
    const acres = async (): Promise<number[]> => ((await settled()).zones ?? []).map((zone) => zone.acres);
    const redraw = async (points: readonly (readonly [number, number])[]): Promise<number[]> => {
      await zoneChoice(page, 1).check();
      await page.getByRole("button", {name: "Redraw its border"}).click();
      await drawingBegun(page);
      const [x, y] = await zoneAt(1);
      for (const [east, south] of points) {
        await page.mouse.move(x + east, y + south);
        await page.mouse.click(x + east, y + south);
      }
      await expectText(page, ".hand-bar", /3 corners/);
      const {version: before} = await fieldPage();
      await page.getByRole("button", {name: "Move the border"}).click();
      await page.locator(".hand-bar").waitFor({state: "detached"});
      await until(fieldPage, ({version}) => version > before);
      return acres();
    };
    const [one = 0, two = 0, three = 0] = await acres();
    // From within zone 1 out over the border in the east, and in again.
    const more = await redraw([
      [0, -15],
      [90, 0],
      [12, 45],
    ]);
    expect(more[0]).toBeGreaterThan(one + 0.1);
    // From outside in over the border in the north, and out again.
    const less = await redraw([
      [-70, -75],
      [0, 0],
      [70, -75],
    ]);
    expect(less[0]).toBeLessThan((more[0] ?? 0) - 0.1);
    for (const now of [more, less]) expect(now.reduce((a, b) => a + b, 0)).toBeCloseTo(one + two + three, 4);
    expect(await page.locator(".edits li", {hasText: /given to zone \d\s*made/}).count()).toBeGreaterThanOrEqual(2);
  });

  it("met no error and asked nothing of any network but its own server", () => {
    expect(watched.strayed).toEqual([]);
    expect(watched.errors).toEqual([]);
  });
});

const zoneChoice = (page: Page, zone: number) => page.getByRole("radio", {name: new RegExp(`^Zone ${zone}`)});

/** Clicks in the enlarged map of zones, at shares of its width and height. */
async function clickAt(page: Page, [across, down]: readonly [number, number]): Promise<void> {
  const box = await page.locator(`${MAP} canvas`).boundingBox();
  if (!box) throw new Error("no map");
  const at = [box.x + across * box.width, box.y + down * box.height] as const;
  await page.mouse.move(...at);
  await page.mouse.click(...at);
}

/** Presses Tab until a button of that name has the focus. */
async function tabTo(page: Page, name: string): Promise<void> {
  for (let i = 0; i < 30; i++) {
    await page.keyboard.press("Tab");
    if ((await page.evaluate("document.activeElement.textContent")) === name) return;
  }
  throw new Error(`no way to "${name}" by Tab`);
}
