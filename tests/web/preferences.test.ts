import {createServer, type Server} from "node:http";
import type {AddressInfo} from "node:net";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {writePng} from "../../src/server/png.ts";
import {expectText, findings, ledgerSettled, openField, openStation, textOf, until} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

describe.skipIf(skipped)(`preferences at the bench ${skipped}`, () => {
  let bench: OpenBench;
  let at: WatchedPage;
  let tiles: TileServer;

  beforeAll(async () => {
    [bench, tiles] = await Promise.all([openBench(), serveTiles()]);
    at = await bench.page();
    await openField(at.page, bench.url, "Kiln Forty");
  }, 180_000);
  afterAll(async () => {
    await bench?.close();
    await tiles?.close();
  });

  const openSettings = async () => {
    await at.page.getByRole("button", {name: "Settings", exact: true}).click();
    await at.page.locator("dialog[open]").waitFor();
  };
  const closeSettings = async () => {
    await at.page.getByRole("button", {name: "Close"}).click();
    await at.page.locator("dialog[open]").waitFor({state: "detached"});
  };

  it("shows every amount in metric units as soon as they are chosen", async () => {
    const {page} = at;
    expect(await textOf(page.locator(".head .path"))).toContain("38.0 ac");
    expect(await textOf(page.locator(".over-maps .legend"))).toContain("lb/ac of 11-52-0");
    await openSettings();
    expect(await findings(page)).toEqual([]);
    await page.getByLabel(/^Metric/).check();
    await closeSettings();
    // 38.04 ac by the definitions of acre and hectare is 15.4 ha; 335 lb/ac is 375 kg/ha.
    await expectText(page, ".head .path", /15\.4 ha/);
    await expectText(page, ".over-maps .legend", /kg\/ha of 11-52-0.*0.*375/);
    await expectText(page, ".plate .under", /\d+ m/);
    await page.locator("input[name=show][value=zones]").check({force: true});
    await expectText(page, "figure[data-strategy=zone] .note-right", /ha$/);
    await openStation(page, "Plan");
    expect(await page.getByLabel("Cell").getAttribute("placeholder")).toBe("1.01 ha");
    const head = page.locator("main, aside, header");
    const words = (await head.allInnerTexts()).join("\n");
    // What the server says in sentences keeps its own units; nothing else may.
    expect(words.match(/\d(?: ac\b| lb\/ac| ft\b| mi\b)(?! \()/g) ?? []).toEqual([]);
    expect(words).toMatch(/km on foot/);
  });

  it("shows a guide's working in the guide's own units, with the metric answer beside it", async () => {
    const {page} = at;
    await page.locator("input[name=show][value=rate]").check({force: true});
    await openStation(page, "Rates");
    await page.locator("figure[data-strategy=zone] canvas").click({position: {x: 60, y: 60}});
    await expectText(page, ".side .answer", /\d+ lb\/ac\s*\d+ kg\/ha/);
    await expectText(page, ".side .steps-of", /lb P2O5\/ac/);
  });

  it("keeps them in the book, and undo leaves them alone", async () => {
    const {page} = at;
    await page.reload();
    await expectText(page, ".head .path", /15\.4 ha/);
    await ledgerSettled(page);
    await openSettings();
    await page.getByLabel(/^US/).check();
    await closeSettings();
    await expectText(page, ".head .path", /38\.0 ac/);
  });

  it("takes a quantity in either", async () => {
    const {page} = at;
    await openStation(page, "Plan");
    await page.getByLabel("Cell").fill("1 ha");
    await page.getByLabel("Cell").press("Enter");
    await until(
      async () => (await page.request.get(`${bench.url}api/fields/1`)).text(),
      (text) => text.includes('"cellArea":"1 ha"'),
    );
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await ledgerSettled(page);
  });

  it("asks no tile before a source is named", async () => {
    expect(tiles.asked).toEqual([]);
    expect(at.strayed).toEqual([]);
  });

  it("says in words what is wrong with a source", async () => {
    const {page} = at;
    await openSettings();
    await page.getByLabel("Address of a tile").fill("http://tiles.example.org/{z}/{x}/{y}.png");
    await page.getByRole("button", {name: "Lay these tiles"}).click();
    await expectText(page, "dialog .problem", /http is for this machine alone/);
    // The refusal itself, as the browser notes it.
    expect(at.errors.splice(0).join()).toMatch(/^Failed to load resource.*400/);
  });

  it("lays tiles of the named source under the maps, names whose they are, and says where the eye goes", async () => {
    const {page} = at;
    await page.getByLabel("Address of a tile").fill(`${tiles.url}{z}/{x}/{y}.png`);
    await page.getByLabel("Whose tiles they are").fill("A survey of the test's own");
    const reloaded = page.waitForEvent("load");
    await page.getByRole("button", {name: "Lay these tiles"}).click();
    await reloaded;
    await ledgerSettled(page);
    await expectText(page, ".maps", /Background: A survey of the test's own/);
    const asked = await until(
      async () => tiles.asked,
      (found) => found.length > 0,
    );
    expect(asked.every((path) => /^\/\d+\/\d+\/\d+\.png$/.test(path))).toBe(true);
    // The tile that holds the field's own place at that zoom is among them (OpenStreetMap's published tile numbering).
    const [z, x, y] = ((asked[0] as string).match(/\d+/g) ?? []).map(Number) as [number, number, number];
    expect(Math.abs(x - ((-86.387 + 180) / 360) * 2 ** z)).toBeLessThan(3);
    const lat = (40.558 * Math.PI) / 180;
    expect(Math.abs(y - ((1 - Math.log(Math.tan(lat) + 1 / Math.cos(lat)) / Math.PI) / 2) * 2 ** z)).toBeLessThan(3);
    expect(at.strayed).toEqual([]);
    expect(at.errors).toEqual([]);
    await openSettings();
    await expectText(page, "dialog", /told which places you look at/);
    await closeSettings();
  });

  it("draws the maps on plain paper when the tiles do not come", async () => {
    const {page} = at;
    tiles.fails = true;
    const before = tiles.asked.length;
    await page.reload();
    await ledgerSettled(page);
    await until(
      async () => tiles.asked.length,
      (count) => count > before,
    );
    await expectText(page, "figure[data-strategy=zone] .note-right", /bags/);
    expect(at.errors.filter((error) => !/503/.test(error))).toEqual([]);
  });

  it("asks none any more once the source is taken out", async () => {
    const {page} = at;
    await openSettings();
    const reloaded = page.waitForEvent("load");
    await page.getByRole("button", {name: "Back to plain paper"}).click();
    await reloaded;
    await ledgerSettled(page);
    const before = tiles.asked.length;
    await page.locator("input[name=show][value=layer]").check({force: true});
    await expectText(page, ".over-maps h1", /./);
    await page.reload();
    await ledgerSettled(page);
    expect(tiles.asked.length).toBe(before);
  });
});

interface TileServer {
  readonly url: string;
  readonly asked: string[];
  /** Answers 503 from now on. */
  fails: boolean;
  close(): Promise<void>;
}

/** Grey tiles from another port of this machine, for any page to read. */
async function serveTiles(): Promise<TileServer> {
  const asked: string[] = [];
  const tile = writePng({width: 256, height: 256, rgba: new Uint8Array(256 * 256 * 4).fill(200)});
  const server: Server = createServer((request, response) => {
    asked.push(request.url ?? "");
    const headers = {"content-type": "image/png", "access-control-allow-origin": "*"};
    if (one.fails) response.writeHead(503, headers).end();
    else response.writeHead(200, headers).end(tile);
  });
  await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
  const one: TileServer = {
    url: `http://127.0.0.1:${(server.address() as AddressInfo).port}/`,
    asked,
    fails: false,
    close: () => new Promise((resolve) => server.close(() => resolve())),
  };
  return one;
}
