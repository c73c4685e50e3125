import {execFile} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {promisify} from "node:util";
import type {FeatureCollection, MultiPolygon, Point, Position} from "geojson";
import type {Page} from "playwright-core";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import type {FieldPage, ResultCard} from "../../src/server/api-types.ts";
import {
  drawingBegun,
  expectText,
  findings,
  ledgerSettled,
  openField,
  openStation,
  textOf,
  until,
} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";
import {pixelOf} from "./pixel-of.ts";

if (skipped) console.log(`ground by hand ${skipped}`);
const ROOT = new URL("../../", import.meta.url).pathname;
const PATIENT = 240_000;
const LARGE = "figure.large";

describe.skipIf(skipped !== "")("boundary, keep-outs, setbacks and cores by hand at the bench", () => {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-ground-"));
  const book = join(folder, "farm.gpkg");
  let bench: OpenBench;
  let watched: WatchedPage;
  let page: Page;
  let field = "";
  /** The grid's cores as planned, before anything was drawn. */
  let planned = "";

  const asked = async <T>(path: string): Promise<T> => (await fetch(`${bench.url}api/${path}`)).json() as Promise<T>;
  const fieldPage = () => asked<FieldPage>(`fields/${field}`);
  /** The result of the job as it stands; how sure it is may still be worked out. */
  const settled = async (): Promise<ResultCard> => {
    const {result} = await until(fieldPage, ({version, result: made}) => made?.version === version);
    return result as ResultCard;
  };
  const file = async ({id}: ResultCard, name: string): Promise<string> =>
    (await fetch(`${bench.url}api/results/${id}/files/${name}`)).text();
  const coresNow = async () => file(await settled(), "plan-grid-cores.geojson");
  const placesIn = (text: string): Map<string, Position> =>
    new Map(
      (JSON.parse(text) as FeatureCollection<Point>).features.map(({id, geometry}) => [
        String(id),
        geometry.coordinates,
      ]),
    );
  const keys = async (...pressed: string[]): Promise<void> => {
    for (const key of pressed) await page.keyboard.press(key);
  };
  const drawingOn = () => drawingBegun(page);
  const undo = async (): Promise<void> => {
    const before = await fieldPage();
    await page.locator(".head button", {hasText: "Undo"}).click();
    await until(fieldPage, ({version}) => version !== before.version);
    await settled();
  };

  beforeAll(async () => {
    bench = await openBench({book});
    watched = await bench.page();
    page = watched.page;
    await openField(page, bench.url, "Kiln Forty");
    field = decodeURIComponent(/fields\/([^/]+)$/.exec(page.url())?.[1] ?? "");
    planned = await coresNow();
  }, PATIENT);
  afterAll(async () => {
    await bench?.close();
    rmSync(folder, {recursive: true, force: true});
  });

  it("draws a keep-out by keys, and the cores in it move out", {timeout: PATIENT}, async () => {
    await openStation(page, "Ground");
    expect(await findings(page)).toEqual([]);
    await page.getByRole("button", {name: "an area as keep-out"}).click();
    await drawingOn();
    // A square of two long steps about the middle of the field; its cores are ten to 330 ft square.
    await keys("Shift+ArrowUp", "Shift+ArrowLeft", "Space", "Shift+ArrowRight", "Shift+ArrowRight", "Space");
    await keys("Shift+ArrowDown", "Shift+ArrowDown", "Space", "Shift+ArrowLeft", "Shift+ArrowLeft", "Space", "Enter");
    const form = page.getByRole("form", {name: "Keep-out"});
    await form.getByRole("button", {name: "Keep it"}).click();
    await expectText(page, "form .problem", /not said how far cores keep/);
    await form.getByLabel("Kind").selectOption("old farmstead");
    await form.getByLabel("Name").fill("old yard");
    await form.getByLabel("Distance cores keep").fill("a few steps");
    await form.getByRole("button", {name: "Keep it"}).click();
    // Refused in the server's words, and nothing that was drawn or written is lost.
    await expectText(page, "form .problem", /a few steps/);
    expect(await form.getByLabel("Name").inputValue()).toBe("old yard");
    expect(await findings(page)).toEqual([]);
    await form.getByLabel("Distance cores keep").fill("20 ft");
    await form.getByRole("button", {name: "Keep it"}).click();
    await form.waitFor({state: "detached"});
    const made = await settled();
    await expectText(page, ".legend", /kept out of: no core/);
    const {features} = await asked<FeatureCollection<MultiPolygon>>(`results/${made.id}/shapes/keep-outs`);
    expect(features.map(({properties}) => properties?.name)).toEqual(["old yard"]);
    const [west, south, east, north] = boxOf(features[0]?.geometry.coordinates.flat(2) ?? []);
    // Within the box by a third of it, whatever its corners.
    const inside = ([lon = 0, lat = 0]: Position): boolean =>
      Math.abs(lon - (west + east) / 2) < (east - west) / 3 &&
      Math.abs(lat - (south + north) / 2) < (north - south) / 3;
    expect([...placesIn(planned).values()].filter(inside).length).toBeGreaterThan(2);
    expect([...placesIn(await coresNow()).values()].filter(inside)).toEqual([]);
    expect((await fieldPage()).sources.map(({name}) => name)).toContain("keep-out old yard.geojson");
  });

  it("changes what it is called, takes it out, and undo brings it back and away", {timeout: PATIENT}, async () => {
    await page.getByRole("button", {name: "change old yard"}).click();
    const form = page.getByRole("form", {name: "Keep-out"});
    await form.getByLabel("Name").fill("stack yard");
    await form.getByRole("button", {name: "Keep it"}).click();
    await page.getByRole("button", {name: "take out stack yard"}).click();
    await page.locator(".side b", {hasText: "stack yard"}).waitFor({state: "detached"});
    expect(await coresNow()).toBe(planned);
    await undo();
    await expectText(page, ".side", /stack yard/);
    await undo();
    await expectText(page, ".side", /old yard/);
    await undo();
    expect(await coresNow()).toBe(planned);
    // The file that was drawn stays in the book.
    expect((await fieldPage()).sources.map(({name}) => name)).toContain("keep-out old yard.geojson");
  });

  it("draws a setback with the mouse, and nothing goes on within it", {timeout: PATIENT}, async () => {
    const before = await file(await settled(), "rates-grid.geojson");
    await page.getByRole("button", {name: "a line as setback"}).click();
    await drawingOn();
    const now = await fieldPage();
    const [west, south, east, north] = boxOf(now.card.outline.flat(2).map((corner) => [...corner]));
    for (const [x, y] of [
      [0.2, 0.3],
      [0.5, 0.35],
      [0.75, 0.3],
    ] as const) {
      const place = await pixelOf(page, LARGE, now, [west + x * (east - west), south + y * (north - south)]);
      await page.mouse.move(...place);
      await page.mouse.click(...place);
    }
    await expectText(page, ".hand-bar", /3 corners/);
    await page.getByRole("button", {name: "Finish"}).click();
    const form = page.getByRole("form", {name: "Setback"});
    expect(await textOf(form)).toMatch(/Check local code/);
    await form.getByLabel("What it is").selectOption("ditch");
    await form.getByLabel("Name").fill("south ditch");
    await form.getByRole("button", {name: "Keep it"}).click();
    // No distance is built in.
    await expectText(page, "form .problem", /distance/);
    await form.getByLabel("Distance", {exact: true}).fill("35 ft");
    await form.getByRole("button", {name: "Keep it"}).click();
    await form.waitFor({state: "detached"});
    await expectText(page, ".side", /south ditch\s*ditch, 35 ft, nothing goes on/);
    const made = await settled();
    expect(await file(made, "rates-grid.geojson")).not.toBe(before);
    const {features} = await asked<FeatureCollection<MultiPolygon>>(`results/${made.id}/shapes/setbacks`);
    const length = 0.55 * (east - west) * 84_709;
    // Both sides of some 0.55 of the field's width; bends and ends come to less than a tenth.
    expect(features[0]?.properties?.acres).toBeGreaterThan((2 * 35 * 0.3048 * length) / 4046.856);
    expect(features[0]?.properties?.acres).toBeLessThan((1.12 * 2 * 35 * 0.3048 * length) / 4046.856);
    await expectText(page, ".legend", /set back/);
    await undo();
    expect(await file(await settled(), "rates-grid.geojson")).toBe(before);
  });

  it("moves a corner of a setback's line as it was drawn; its name and distance stay", {timeout: PATIENT}, async () => {
    await page.locator(".head button", {hasText: "Redo"}).click();
    await expectText(page, ".side", /south ditch\s*ditch, 35 ft/);
    await settled();
    const before = await fieldPage();
    const drawn = async (): Promise<Position[]> => {
      const {features} = await asked<FeatureCollection>(`fields/${field}/drawn?kind=setback&entry=0`);
      const {geometry} = features[0] ?? {};
      if (geometry?.type === "MultiLineString" && geometry.coordinates.length === 1) return geometry.coordinates.flat();
      return geometry?.type === "LineString" ? geometry.coordinates : expect.fail(JSON.stringify(features));
    };
    const line = await drawn();
    await page.getByRole("button", {name: "corners of south ditch"}).click();
    await drawingOn();
    await keys("Space", "Shift+ArrowUp", "Space");
    await until(
      () => textOf(page.locator(".hand-bar")),
      (said) => /1 change\b/.test(said),
      5_000,
    );
    await keys("Enter");
    const after = await until(fieldPage, ({version}) => version !== before.version);
    const moved = await drawn();
    expect(moved.length).toBe(line.length);
    expect(moved.filter((corner) => !isAmong(corner, line)).length).toBe(1);
    const [{file: _, ...said} = {}] = before.job.setbacks as Record<string, unknown>[];
    const [{file: name, ...kept} = {}] = after.job.setbacks as Record<string, unknown>[];
    expect(kept).toEqual(said);
    expect(name).toMatch(/^setback south ditch.*\.geojson$/);
    await page.locator(".hand-bar").waitFor({state: "detached"});
    await undo();
    expect((await fieldPage()).job).toEqual(before.job);
  });

  it("does not put corners in the place of what was taken out elsewhere meanwhile", {timeout: PATIENT}, async () => {
    const {page: other} = await bench.page();
    await openField(other, bench.url, "Kiln Forty");
    await openStation(other, "Ground");
    await page.getByRole("button", {name: "corners of south ditch"}).click();
    await drawingOn();
    await keys("Space", "Shift+ArrowUp", "Space");
    await other.getByRole("button", {name: "take out south ditch"}).click();
    const taken = await until(fieldPage, ({job}) => job.setbacks === undefined);
    await keys("Enter");
    // Whether it has heard of the change by itself by now or not.
    await expectText(page, ".maps .problem", /changed elsewhere meanwhile|changed or taken out elsewhere/);
    await drawingOn();
    await keys("Space", "ArrowUp", "Space", "Enter");
    await expectText(page, ".maps .problem", /south ditch was changed or taken out elsewhere while it was drawn/);
    await page.getByRole("button", {name: "give up"}).click();
    expect((await fieldPage()).job).toEqual(taken.job);
    await other.context().close();
    await undo();
    await undo();
  });

  it("moves a corner of the boundary by keys, with other acres, and undo restores it exactly", {
    timeout: PATIENT,
  }, async () => {
    const before = await fieldPage();
    await page.getByRole("button", {name: "Change corners"}).click();
    await drawingOn();
    await keys("Space", "Shift+ArrowRight", "Space", "Enter");
    const after = await until(fieldPage, ({version}) => version !== before.version);
    expect(after.card.acres).not.toBeCloseTo(before.card.acres, 1);
    await expectText(page, ".head .path", new RegExp(`${after.card.acres.toFixed(1)} ac`));
    // Every other corner is where it was, to what a drawing holds.
    const moved = after.card.outline.flat(2).filter((corner) => !isAmong(corner, before.card.outline.flat(2)));
    expect(new Set(moved.map(String)).size).toBe(1);
    expect(after.sources.map(({name}) => name)).toEqual(
      expect.arrayContaining(["boundary.geojson", "boundary drawn.geojson"]),
    );
    await undo();
    const undone = await fieldPage();
    expect(undone.job).toEqual(before.job);
    expect(undone.card.acres).toBe(before.card.acres);
    expect(undone.card.outline).toEqual(before.card.outline);
    await expectText(page, ".head .path", /38\.0 ac/);
  });

  it("says at the drawing why a boundary will not do, and keeps what was drawn", {timeout: PATIENT}, async () => {
    const before = await fieldPage();
    await page.getByRole("button", {name: "Cut out ground"}).click();
    await drawingOn();
    // Two triangles with their tips together.
    await keys("Space", "Shift+ArrowRight", "Space", "Shift+ArrowDown", "Shift+ArrowLeft", "Space");
    await keys("Shift+ArrowRight", "Space", "Enter");
    await expectText(page, ".maps .problem", /self-intersection/);
    await expectText(page, ".maps .problem", /Redraw the boundary there/);
    await drawingOn();
    await expectText(page, ".hand-bar", /0 changes/);
    await page.getByRole("button", {name: "give up"}).click();
    await page.locator(".maps .problem").waitFor({state: "detached"});
    expect((await fieldPage()).job).toEqual(before.job);
  });

  it("cuts out ground and puts it back into the field", {timeout: PATIENT}, async () => {
    const before = await fieldPage();
    await page.getByRole("button", {name: "Cut out ground"}).click();
    await drawingOn();
    await keys("Space", "Shift+ArrowRight", "Space", "Shift+ArrowDown", "Space", "Enter");
    const cut = await until(fieldPage, ({version}) => version !== before.version);
    expect(cut.card.outline.map((rings) => rings.length)).toEqual([2]);
    expect(cut.card.acres).toBeLessThan(before.card.acres);
    await page.getByRole("button", {name: "put back into the field Cut-out 1"}).click();
    const whole = await until(fieldPage, ({version}) => version !== cut.version);
    expect(whole.card.acres).toBeCloseTo(before.card.acres, 6);
    await undo();
    await undo();
    expect((await fieldPage()).job).toEqual(before.job);
    await ledgerSettled(page);
  });

  it("moves a core by keys, and the plan served has it there", {timeout: PATIENT}, async () => {
    await openStation(page, "Plan");
    await page.getByLabel("Bag", {exact: true}).selectOption("KFG06");
    await page.getByLabel("Core", {exact: true}).selectOption("KFG06-4");
    const bar = page.getByRole("region", {name: "Core KFG06-4"});
    await bar.waitFor();
    // Towards the middle of its bag's ground, which is room enough.
    const before = placesIn(planned);
    const own = [...before].filter(([id]) => id.startsWith("KFG06-")).map(([, place]) => place);
    const [lon = 0, lat = 0] = before.get("KFG06-4") ?? [];
    const mean = (of: 0 | 1): number => own.reduce((sum, place) => sum + (place[of] as number), 0) / own.length;
    const up = mean(1) > lat;
    const right = mean(0) > lon;
    await keys(up ? "ArrowUp" : "ArrowDown", up ? "ArrowUp" : "ArrowDown", right ? "ArrowRight" : "ArrowLeft");
    await expectText(page, ".hand-bar", new RegExp(`10 ft ${up ? "north" : "south"}, 5 ft ${right ? "east" : "west"}`));
    expect(await findings(page)).toEqual([]);
    await bar.getByRole("button", {name: "Put it there"}).click();
    await bar.waitFor({state: "detached"});
    await expectText(page, ".side", /KFG06-4\s*grid\s*Moved 11 ft/);
    const now = placesIn(await coresNow());
    const [east = 0, north = 0] = now.get("KFG06-4") ?? [];
    // Metres of a degree at 40.558° N on WGS 84.
    expect((north - lat) * 111_042).toBeCloseTo((up ? 1 : -1) * 10 * 0.3048, 2);
    expect((east - lon) * 84_709).toBeCloseTo((right ? 1 : -1) * 5 * 0.3048, 2);
    for (const [id, place] of before) if (id !== "KFG06-4") expect(now.get(id)).toEqual(place);
  });

  it("drags a core off the ground of its bag, and is told that it was left", {timeout: PATIENT}, async () => {
    await page.getByRole("button", {name: "Drag cores on the map"}).click();
    await drawingOn();
    const now = await fieldPage();
    const places = placesIn(await coresNow());
    const from = await pixelOf(page, LARGE, now, places.get("KFG06-1") ?? []);
    const to = await pixelOf(page, LARGE, now, places.get("KFG01-1") ?? []);
    await page.mouse.move(...from);
    await page.mouse.down();
    // As a hand does: it begins slowly.
    await page.mouse.move(from[0] + 3, from[1] + 3, {steps: 3});
    await page.mouse.move(...to, {steps: 12});
    await page.mouse.up();
    await expectText(page, ".hand-bar", /1 change/);
    await page.getByRole("button", {name: "Move them"}).click();
    await page.locator(".hand-bar").waitFor({state: "detached"});
    await settled();
    await expectText(page, ".side li", /KFG06-1\s*grid\s*Left where it was\. Its place lies in KFG01/);
    expect(placesIn(await coresNow()).get("KFG06-1")).toEqual(places.get("KFG06-1"));
    await page.getByRole("button", {name: "put back core KFG06-1"}).click();
    await page.locator(".side b", {hasText: "KFG06-1"}).waitFor({state: "detached"});
    expect((await settled()).moves).toHaveLength(1);
  });

  it("draws a new field by keys, with ground cut out of it", {timeout: PATIENT}, async () => {
    const other = (await bench.page()).page;
    await other.goto(bench.url);
    await other.locator(".cards a").first().waitFor();
    await other.getByRole("button", {name: "Draw a boundary"}).focus();
    await other.keyboard.press("Enter");
    await other.locator(".hand-bar").waitFor();
    const press = async (...pressed: string[]): Promise<void> => {
      for (const key of pressed) await other.keyboard.press(key);
    };
    await press(
      "Space",
      "Shift+ArrowRight",
      "Shift+ArrowRight",
      "Space",
      "Shift+ArrowDown",
      "Shift+ArrowDown",
      "Space",
      "Enter",
    );
    await other.getByRole("button", {name: "Cut out ground"}).focus();
    await press("Enter");
    await other.locator(".hand-bar").waitFor();
    // The cross stands at the last corner: a little up and left of it lies within.
    await press("Shift+ArrowUp", "ArrowLeft", "Space", "ArrowLeft", "Space", "ArrowUp", "Space", "Enter");
    await expectText(other, ".new-field", /1 part, 1 cut-out/);
    await other.getByLabel("Name of the field").fill("Drawn by keys");
    await other.getByLabel("Name of the field").press("Enter");
    await other.waitForURL(/#\/fields\//);
    const id = decodeURIComponent(/fields\/([^/]+)$/.exec(other.url())?.[1] ?? "");
    const {card} = await asked<FieldPage>(`fields/${id}`);
    expect(card.outline.map((rings) => rings.map((ring) => ring.length))).toEqual([[4, 4]]);
    await other.context().close();
  });

  it("leaves in the book what the command line makes the same plans of", {timeout: PATIENT}, async () => {
    const made = await settled();
    const names = made.outputs.map(({name}) => name).filter((name) => /^plan-.*\.geojson$/.test(name));
    expect(names.length).toBeGreaterThan(5);
    const served = new Map<string, string>();
    for (const name of names) served.set(name, await file(made, name));
    expect(watched.strayed).toEqual([]);
    expect(watched.errors.filter((text) => !/409|422/.test(text))).toEqual([]);
    await page.context().close();
    await bench.stopServer();
    const command = async (...args: string[]): Promise<string> => {
      const whole = ["--import", "tsx", "src/cli/main.ts", ...args];
      const {stdout, stderr} = await promisify(execFile)(process.execPath, whole, {cwd: ROOT});
      return stdout + stderr;
    };
    const said = await command("book", "export", book, "Kiln Forty", "--out", join(folder, "exported"));
    const job = /the job is (\S+)\.$/m.exec(said)?.[1] ?? expect.fail(said);
    expect(readFileSync(join(folder, "exported", job), "utf8")).toContain("KFG06-4");
    for (const drawn of ["keep-out old yard", "setback south ditch", "boundary drawn"]) {
      expect(readFileSync(join(folder, "exported/sources", `${drawn}.geojson`), "utf8")).toContain('"coordinates"');
    }
    await command("run", join(folder, "exported", job), "--out", join(folder, "again"), "--quiet");
    for (const [name, text] of served) expect(readFileSync(join(folder, "again", name), "utf8") === text).toBe(true);
  });
});

function boxOf(places: readonly Position[]): readonly [number, number, number, number] {
  const [lons, lats] = [0, 1].map((i) => places.map((place) => place[i] as number)) as [number[], number[]];
  return [Math.min(...lons), Math.min(...lats), Math.max(...lons), Math.max(...lats)];
}

/** To a tenth of a millimetre. */
function isAmong([lon = 0, lat = 0]: readonly number[], corners: readonly (readonly number[])[]): boolean {
  return corners.some(([x = 0, y = 0]) => Math.abs(x - lon) < 2e-9 && Math.abs(y - lat) < 2e-9);
}
