import {readFileSync} from "node:fs";
import type {Page} from "playwright-core";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {expectText, ledgerSettled, openStation} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

if (skipped) console.log(`files that will not do ${skipped}`);
const KILN = new URL("../../sample-data/kiln-forty/", import.meta.url).pathname;
const PATIENT = 240_000;

const ELEVATION = readFileSync(`${KILN}elevation.tif`);
const CROSSING = {
  type: "Polygon",
  coordinates: [
    [
      [-86.41, 40.55],
      [-86.4, 40.56],
      [-86.4, 40.55],
      [-86.41, 40.56],
      [-86.41, 40.55],
    ],
  ],
};
/** A file, what is wrong with it, and what to do. */
const REFUSED: readonly (readonly [string, Buffer, RegExp, RegExp])[] = [
  [
    "fields.zip",
    Buffer.from("PK\x03\x04 cut off"),
    /ends before its table of contents/,
    /Copy or download the zip again/,
  ],
  ["photo.png", Buffer.from("89504e470d0a1a0a0000000d49484452", "hex"), /photo\.png is a picture/, /Export the data/],
  ["nothing.csv", Buffer.alloc(0), /nothing\.csv is empty/, /Export or copy it again/],
  ["half.tif", ELEVATION.subarray(0, 3000), /half\.tif cannot be read as a GeoTIFF/, /Export or download it again/],
  ["half.geojson", Buffer.from('{"type":"FeatureColl'), /half\.geojson is not valid JSON/, /may have been cut short/],
  ["letter.pdf", Buffer.from("%PDF-1.7"), /letter\.pdf is a PDF/, /Ask for the data behind it/],
];

describe.skipIf(skipped !== "")("a file that will not do", () => {
  let bench: OpenBench;
  let watched: WatchedPage;
  let page: Page;

  beforeAll(async () => {
    bench = await openBench();
    watched = await bench.page();
    page = watched.page;
    await page.goto(bench.url);
    await page.locator(".cards a").first().waitFor();
  }, PATIENT);
  afterAll(() => bench?.close());

  it.each(REFUSED)("on the page of the book: %s", {timeout: PATIENT}, async (name, buffer, wrong, todo) => {
    await page.locator("input[type=file]").first().setInputFiles({name, mimeType: "", buffer});
    await expectText(page, ".new-field .problem", wrong);
    await expectText(page, ".new-field .problem", todo);
    await page.getByRole("button", {name: "set aside"}).click();
    await page.locator(".new-field").waitFor({state: "detached"});
  });

  it("a boundary that crosses itself makes no field", {timeout: PATIENT}, async () => {
    const buffer = Buffer.from(JSON.stringify(CROSSING));
    await page.locator("input[type=file]").first().setInputFiles({name: "crossing.geojson", mimeType: "", buffer});
    await expectText(page, ".new-field", /Shape 1 is not valid: self-intersection/);
    await expectText(page, ".new-field", /Redraw it/);
    await page.getByRole("button", {name: "Make the field"}).click();
    await expectText(page, ".new-field .problem", /self-intersection near -86\.405000, 40\.555000/);
    await expectText(page, ".new-field .problem", /Redraw the boundary there/);
    await page.getByRole("button", {name: "set aside"}).click();
    await page.reload();
    await page.locator(".cards a").first().waitFor();
    expect(await page.locator(".cards a").count()).toBe(2);
  });

  it.each(REFUSED)("on the page of a field: %s", {timeout: PATIENT}, async (name, buffer, wrong, todo) => {
    const before = await openKilnFiles(page);
    await page.locator(".side input[type=file]").setInputFiles({name, mimeType: "", buffer});
    await expectText(page, ".card .problem", wrong);
    await expectText(page, ".card .problem", todo);
    await page.getByRole("button", {name: `Put ${name} away`}).click();
    await page.locator(".card .problem").waitFor({state: "detached"});
    expect(await stateOf(page)).toEqual(before);
  });

  it("a table of something else is taken for nothing", {timeout: PATIENT}, async () => {
    const before = await openKilnFiles(page);
    const buffer = Buffer.from("Name,Street,Town\nA,1 Main,X\nB,2 Main,Y\n");
    await page.locator(".side input[type=file]").setInputFiles({name: "addresses.csv", mimeType: "", buffer});
    await expectText(page, ".card", /nothing that a field uses\. Put it away, or say what it is/);
    const attach = page.getByRole("button", {name: "Attach to this field"});
    for (const as of ["lab", "yield", "points"]) {
      await page.getByLabel("This is").selectOption(as);
      await expectText(page, ".card > .soft", /\./);
      expect(await attach.isDisabled(), as).toBe(true);
    }
    await page.getByRole("button", {name: "Put addresses.csv away"}).click();
    expect(await stateOf(page)).toEqual(before);
  });

  it("another boundary that crosses itself leaves the field as it was", {timeout: PATIENT}, async () => {
    const before = await openKilnFiles(page);
    const buffer = Buffer.from(JSON.stringify(CROSSING));
    await page.locator(".side input[type=file]").setInputFiles({name: "crossing.geojson", mimeType: "", buffer});
    await page.getByLabel("This is").selectOption("boundary");
    await page.getByRole("button", {name: "Attach to this field"}).click();
    await expectText(page, ".card .problem", /self-intersection near -86\.405000, 40\.555000/);
    await page.getByRole("button", {name: "Put crossing.geojson away"}).click();
    expect(await stateOf(page)).toEqual(before);
  });

  it("a lab report on samples of another field is named, and undone the old ledger is back", {
    timeout: PATIENT,
  }, async () => {
    const before = await openKilnFiles(page);
    const ledger = await page.locator("table.ledger").first().textContent();
    const buffer = Buffer.from(readFileSync(`${KILN}lab-zone.csv`, "utf8").replaceAll("KFZ", "QQZ"));
    await page.locator(".side input[type=file]").setInputFiles({name: "elsewhere.csv", mimeType: "", buffer});
    const card = page.locator(".card", {has: page.getByRole("heading", {name: "elsewhere.csv"})});
    // Its questions are answered as those of the reports with the same headings were.
    await card.getByRole("button", {name: "Attach to this field"}).click();
    await card.waitFor({state: "detached"});
    await openStation(page, "Remarks");
    await expectText(page, ".side", /QQZ01/);
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await ledgerSettled(page);
    expect((await stateOf(page)).job).toEqual(before.job);
    expect(await page.locator("table.ledger").first().textContent()).toBe(ledger);
  });

  it("asked nothing of any network but its own server, and met no error but the refusals", () => {
    expect(watched.strayed).toEqual([]);
    expect(watched.errors.filter((text) => !/4\d\d/.test(text))).toEqual([]);
  });

  /** Opens the files of Kiln Forty if they are not, and tells how the field stands. */
  const openKilnFiles = async (page: Page): Promise<FieldState> => {
    if (!page.url().includes("#/fields/")) {
      await page.locator(".cards a", {hasText: "Kiln Forty"}).click();
      await ledgerSettled(page);
    }
    await openStation(page, "Files");
    return stateOf(page);
  };
});

interface FieldState {
  readonly job: unknown;
  readonly version: number;
  readonly result: string;
}

async function stateOf(page: Page): Promise<FieldState> {
  const [, id] = /#\/fields\/(.+)$/.exec(page.url()) ?? [];
  const answer = await page.request.get(new URL(`/api/fields/${id}`, page.url()).href);
  const {job, version, result} = await answer.json();
  return {job, version, result: result.id};
}
