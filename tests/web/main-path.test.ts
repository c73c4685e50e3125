import {execFile} from "node:child_process";
import {copyFileSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {dirname, join, relative} from "node:path";
import {promisify} from "node:util";
import {unzipSync} from "fflate";
import type {Locator, Page} from "playwright-core";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {expectText, ledgerSettled, openStation, rowOf, textOf, until} from "./at-the-bench.ts";
import {dropFiles} from "./drop-files.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

if (skipped) console.log(`the main path ${skipped}`);
const ROOT = new URL("../../", import.meta.url).pathname;
const MILLRACE = `${ROOT}sample-data/millrace/`;
const PATIENT = 240_000;

describe.skipIf(skipped !== "")("from an empty book to files for the spreader", () => {
  let bench: OpenBench;
  let watched: WatchedPage;
  let page: Page;
  let folder: string;
  /** The sample's own job, as the command line runs it. */
  let sample: Promise<void>;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), "loamwright-main-path-"));
    sample = run(`${MILLRACE}job.json`, join(folder, "sample"));
    bench = await openBench({sample: false});
    watched = await bench.page({acceptDownloads: true});
    page = watched.page;
    await page.goto(bench.url);
  }, PATIENT);
  afterAll(async () => {
    await bench?.close();
    rmSync(folder, {recursive: true, force: true});
  });

  it("begins a field from a boundary that is dropped", {timeout: PATIENT}, async () => {
    await expectText(page, "main", /The book is empty/);
    await dropFiles(page, [`${MILLRACE}boundary.geojson`]);
    await page.getByLabel("Name of the field").fill("Millrace");
    await page.getByLabel("Farm").fill("Sedgewater Farm");
    await page.getByRole("button", {name: "Make the field"}).click();
    await expectText(page, ".head .path", /Sedgewater Farm \/ Millrace \/ 154\.2 ac/);
  });

  it("recognises logs, soil map and elevation dropped together, and asks what they leave open", {
    timeout: PATIENT,
  }, async () => {
    const names = [2023, 2024, 2025].map((year) => `yield-${year}-${year === 2024 ? "soybean" : "corn"}.csv`);
    await dropFiles(
      page,
      [...names, "soil.geojson", "elevation.tif"].map((name) => MILLRACE + name),
    );
    const elevation = cardOf(page, "elevation.tif");
    expect(await elevation.getByRole("button", {name: "Attach to this field"}).isDisabled()).toBe(true);
    await elevation.getByLabel(/metres or feet/).selectOption("m");
    await numbersOfSoilMap(page);
    await page.getByRole("button", {name: "Attach all that need no answer (5)"}).click();
    await page.locator(".side .card").first().waitFor({state: "detached"});
    await expectText(page, ".itinerary", /5 of 6|6 files/);
  });

  it("draws zones; another number of them is undone again", {timeout: PATIENT}, async () => {
    await openStation(page, "Zones");
    await expectText(page, "figure[data-strategy=zone] figcaption", /4 zones/);
    await page.getByLabel("How many zones").selectOption({label: "3"});
    await expectText(page, "figure[data-strategy=zone] figcaption", /3 zones/);
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await expectText(page, "figure[data-strategy=zone] figcaption", /4 zones/);
    await page.getByLabel("How many zones").selectOption({label: "4"});
    await openStation(page, "Layers");
    await write(page, "Cell of the layers", "5 m");
    await write(page, "Smoothing", "5 m");
  });

  it("plans as the adviser says, and a reload in the middle loses nothing", {timeout: PATIENT}, async () => {
    await openStation(page, "Plan");
    await write(page, "Depth", "8 in");
    await write(page, "Largest composite", "25 ac", "Whole field");
    await write(page, "Cores a bag", "15", "Whole field");
    await write(page, "Cell", "2.5 ac", "Grid");
    await write(page, "Cores a bag", "10", "Grid");
    await write(page, "Cores a bag", "15", "Zones");
    await more(page);
    await write(page, "Seed", "2026");
    await page.reload();
    await expectText(page, "nav.itinerary [aria-current=step]", /^Plan/);
    await more(page);
    expect(await page.getByLabel("Seed").inputValue()).toBe("2026");
    await untilBags(page, 63);
    await section(page, "field", [
      ["prefix", "MR"],
      ["stated area", "154 ac"],
    ]);
  });

  it("takes the lab's reports, each column told", {timeout: PATIENT}, async () => {
    const names = ["lab-whole-field.csv", "lab-grid.csv", "lab-zone.csv"];
    await dropFiles(
      page,
      names.map((name) => MILLRACE + name),
    );
    for (const name of names) {
      await columnsOfLab(page, name);
      await attach(page, name);
    }
  });

  it("rates by the guide for crops, products and machine", {timeout: PATIENT}, async () => {
    await openStation(page, "Rates");
    for (const [i, [crop, goal]] of [
      ["corn", "195 bu/ac"],
      ["soybean", "58 bu/ac"],
    ].entries()) {
      await page.getByRole("button", {name: "+ add a crop"}).click();
      await write(page, `Crop of crop ${i + 1}`, crop ?? "");
      await write(page, `Yield goal of crop ${i + 1}`, goal ?? "");
    }
    const guide = page.getByLabel("Guide").locator("option:checked");
    await guide.waitFor({state: "attached"});
    expect(await guide.textContent()).toMatch(/Tri-State 2020/);
    await write(page, "State", "IN");
    for (const [i, [analysis, nutrient, price]] of PRODUCTS.entries()) {
      await page.getByRole("button", {name: "+ add a product"}).click();
      await page.getByLabel(`Nutrient of product ${i + 1}`).selectOption(nutrient);
      await write(page, `Analysis of product ${i + 1}`, analysis);
      await write(page, `Price of product ${i + 1}`, price);
    }
    await write(page, "Step", "5 lb/ac");
    await write(page, "Smallest rate", "50 lb/ac");
    await write(page, "Largest rate", "450 lb/ac");
    await page.getByLabel("Below the smallest").selectOption({label: "spread none"});
    await more(page);
    await write(page, "Rate outside", "0 lb/ac");
    await ledgerSettled(page);
  });
  it("compares what it costs, and says how sure that is", {timeout: PATIENT}, async () => {
    await openStation(page, "Ledger");
    for (const [label, text] of PRICES) await write(page, label, text);
    await ledgerSettled(page);
    expect(await textOf(page.locator(".sure b"))).toMatch(/\.$/);
    expect(await rowOf(page, "Whole field")).toMatch(/^7 /);
    expect(await rowOf(page, "Zones")).toMatch(/^5 /);
  });

  /** Clicks a link as a person would; the path of what was downloaded. */
  const taken = async (link: Locator): Promise<string> => {
    const [download] = await Promise.all([page.waitForEvent("download"), link.click()]);
    const path = join(folder, "clicked", download.suggestedFilename());
    await download.saveAs(path);
    return path;
  };

  it("hands over every file once the caution is read", {timeout: PATIENT}, async () => {
    await openStation(page, "Hand-over");
    expect(await page.locator(".out a[download]", {hasText: "rates-"}).count()).toBe(0);
    await page.getByLabel(/I have read this/).check();
    for (const closed of await page.locator(".hand-over details:has(.out) > summary").all()) await closed.click();
    // Chromium asks a person before the eleventh download of a page: the zip has them all, and is one.
    for (const link of await page.locator(".out a[download]", {hasText: /^rates-/}).all()) await taken(link);
    const zip = await taken(page.getByRole("link", {name: "All files as one zip"}));
    const packed = unzipSync(readFileSync(zip));
    rmSync(zip);
    for (const [name, bytes] of Object.entries(packed)) put(join(folder, "zip", name), bytes);
    for (const link of await page.locator(".out a[download]").all()) {
      const answer = await page.request.get(new URL((await link.getAttribute("href")) ?? "", bench.url).href);
      put(join(folder, "links", (await link.textContent()) ?? ""), await answer.body());
    }
  });

  it("gives, byte for byte, what the command makes of the same job", {timeout: PATIENT}, async () => {
    const job = await jobOf(page);
    mkdirSync(join(folder, "job"));
    for (const name of readdirSync(MILLRACE)) copyFileSync(MILLRACE + name, join(folder, "job", name));
    writeFileSync(join(folder, "job", "job.json"), `${JSON.stringify(job, null, 2)}\n`);
    await run(join(folder, "job", "job.json"), join(folder, "command"));
    const there = filesIn(join(folder, "command"));
    for (const way of ["links", "zip"]) {
      const here = filesIn(join(folder, way));
      expect([...here.keys()], way).toEqual([...there.keys()]);
      expect(differing(here, there), way).toEqual([]);
    }
    const clicked = filesIn(join(folder, "clicked"));
    expect(clicked.size).toBeGreaterThanOrEqual(6);
    expect(differing(clicked, there)).toEqual([]);
  });

  it("comes to what the sample's own job comes to", {timeout: PATIENT}, async () => {
    await sample;
    const [here, there] = [filesIn(join(folder, "links")), filesIn(join(folder, "sample"))];
    expect([...here.keys()]).toEqual([...there.keys()]);
    // The record of the run holds the job. On the page units were told that the sample's job leaves to the headings,
    // and of that alone there is no remark.
    expect(differing(here, there)).toEqual(["run.json"]);
    const [recordHere, recordThere] = [here, there].map((files) => {
      const {job: _, issues, ...record} = JSON.parse(files.get("run.json")?.toString() ?? "");
      const others = issues.filter(({code}: {code: string}) => code !== "points/unit-from-heading");
      return {...record, issues: others};
    });
    expect(recordHere).toEqual(recordThere);
  });

  it("asked nothing of any network but its own server, and met no error", () => {
    expect(watched.strayed).toEqual([]);
    expect(watched.errors).toEqual([]);
  });
});

const differing = (here: Map<string, Buffer>, there: Map<string, Buffer>): string[] =>
  [...here].filter(([name, bytes]) => !there.get(name)?.equals(bytes)).map(([name]) => name);

function put(path: string, bytes: Uint8Array): void {
  mkdirSync(dirname(path), {recursive: true});
  writeFileSync(path, bytes);
}

/** What the command line makes of a job. */
async function run(job: string, out: string): Promise<void> {
  await promisify(execFile)(
    process.execPath,
    ["--import", "tsx", "src/cli/main.ts", "run", job, "--out", out, "--quiet"],
    {
      cwd: ROOT,
    },
  );
}

/** By name, folders within included. */
function filesIn(folder: string): Map<string, Buffer> {
  const names = readdirSync(folder, {recursive: true, withFileTypes: true})
    .filter((entry) => entry.isFile())
    .map((entry) => relative(folder, join(entry.parentPath, entry.name)))
    .sort();
  return new Map(names.map((name) => [name, readFileSync(join(folder, name))]));
}

const PRICES = [
  ["Year of the prices", "2026"],
  ["Lab", "12 $/sample"],
  ["Core", "0.50 $/core"],
  ["Zone making", "1 $/ac"],
  ["Years it serves", "4"],
  ["Corn", "4.20 $/bu"],
  ["Soybean", "10.50 $/bu"],
] as const;

const PRODUCTS = [
  ["11-52-0", "P2O5", "760 $/ton"],
  ["0-0-60", "K2O", "440 $/ton"],
] as const;

const cardOf = (page: Page, name: string) => page.locator(".side .card", {has: page.getByRole("heading", {name})});

/** Attaches a file that was dropped, once it is read. */
async function attach(page: Page, name: string): Promise<void> {
  const card = cardOf(page, name);
  await card.getByRole("button", {name: "Attach to this field"}).click();
  await card.waitFor({state: "detached"});
}

/** Two attributes of the soil map are layers too. */
async function numbersOfSoilMap(page: Page): Promise<void> {
  const card = cardOf(page, "soil.geojson");
  await card.locator(":scope > details > summary", {hasText: "How it is read"}).click();
  await card.locator("summary", {hasText: /^More$/}).click();
  await card.locator("summary", {hasText: "numeric"}).click();
  for (const [i, [column, label]] of [
    ["om_pct", "Organic matter"],
    ["clay_pct", "Clay"],
  ].entries()) {
    await card.getByRole("button", {name: "+ add to numeric"}).click();
    const one = card.locator("details", {has: page.locator("summary", {hasText: `numeric ${i + 1}`})}).last();
    await one.getByLabel("column", {exact: true}).fill(column ?? "");
    await one.getByLabel("label", {exact: true}).fill(label ?? "");
    await one.getByLabel("unit", {exact: true}).fill("%");
    await one.getByLabel("unit", {exact: true}).press("Enter");
  }
}

/** How each column of a report was measured, and that three of them are passed over. */
async function columnsOfLab(page: Page, name: string): Promise<void> {
  const card = cardOf(page, name);
  await card.locator("summary", {hasText: "How it is read"}).click();
  for (const heading of ["Buffer pH", "Ca M3 (ppm)", "Mg M3 (ppm)"]) {
    const column = card.locator(".column", {has: page.locator("label b", {hasText: heading})});
    await column.getByRole("combobox").first().selectOption({label: "passed over"});
  }
  for (const [heading, method] of [
    ["K M3 (ppm)", "mehlich-3 icp"],
    ["pH", "water 1:1"],
    ["OM (%)", "loss on ignition"],
    ["CEC (meq/100 g)", "sum of cations"],
  ]) {
    await card.getByLabel(`Method of ${heading}`, {exact: true}).selectOption(method ?? "");
  }
  const depth = card.getByLabel(/How deep was the soil sampled/);
  if (await depth.isVisible()) await depth.selectOption("8 in");
}

/** Writes a setting of the station that is open, and waits until the job says it. */
async function write(page: Page, label: string, text: string, group?: string): Promise<void> {
  const side = page.locator("[id=side]");
  const where = group ? side.locator("fieldset", {has: page.locator("legend", {hasText: group})}) : side;
  const field = where.getByLabel(label, {exact: true});
  await field.fill(text);
  await field.press("Enter");
  await where
    .getByLabel(label, {exact: true})
    .and(page.locator(`[value="${text}"]`))
    .waitFor();
}

/** Opens what few need. */
async function more(page: Page): Promise<void> {
  await page.locator("[id=side] summary", {hasText: /^More$/}).click();
}

/** Writes settings of a section of the job that have no place of their own. */
async function section(page: Page, name: string, settings: readonly (readonly [string, string])[]): Promise<void> {
  await page.locator("[id=side] summary", {hasText: "All there is to set"}).click();
  const form = page.locator(".of-section", {has: page.locator("summary", {hasText: new RegExp(`^${name}$`)})});
  await form.locator("summary").first().click();
  for (const [label, text] of settings) {
    await form.getByLabel(label, {exact: true}).fill(text);
    await form.getByLabel(label, {exact: true}).blur();
  }
  await form.getByRole("button", {name: `Save ${name}`}).click();
  await form.getByRole("button", {name: `Save ${name}`}).waitFor({state: "detached"});
}

async function untilBags(page: Page, bags: number): Promise<void> {
  await until(
    () => rowOf(page, "Grid"),
    (figures) => figures.startsWith(`${bags} `),
  );
}

async function jobOf(page: Page): Promise<Record<string, unknown>> {
  const [, id] = /#\/fields\/(.+)$/.exec(page.url()) ?? [];
  return (await (await page.request.get(new URL(`/api/fields/${id}`, page.url()).href)).json()).job;
}
