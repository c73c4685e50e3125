import {mkdtempSync, rmSync, truncateSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {unzipSync} from "fflate";
import type {Locator, Page} from "playwright-core";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import type {FieldPage} from "../../src/server/api-types.ts";
import {expectText, findings, openField, openStation, textOf, until} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

const SAMPLES = new URL("../../sample-data/kiln-forty/", import.meta.url).pathname;

describe.skipIf(skipped)(`files at the bench ${skipped}`, () => {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-files-"));
  let bench: OpenBench;
  let at: WatchedPage;
  let page: Page;

  beforeAll(async () => {
    bench = await openBench();
    at = await bench.page();
    page = at.page;
    await openField(page, bench.url, "Kiln Forty");
    await openStation(page, "Files");
  }, 180_000);
  afterAll(async () => {
    await bench?.close();
    rmSync(folder, {recursive: true, force: true});
  });

  const write = (name: string, bytes: string | Uint8Array): string => {
    const path = join(folder, name);
    writeFileSync(path, bytes);
    return path;
  };
  const drop = (...paths: string[]) => page.locator(".side input[type=file]").setInputFiles(paths);
  const card = (name: string): Locator => page.locator(".card", {has: page.locator("h3", {hasText: name})});
  const row = (name: string): Locator => page.locator("details.file", {hasText: name});
  const field = async (): Promise<FieldPage> => (await page.request.get(`${bench.url}api/fields/1`)).json();
  const putAway = async (name: string) => {
    await page.getByRole("button", {name: `Put ${name} away`}).click();
    await card(name).waitFor({state: "detached"});
  };

  it("shows what each file is used as, its year and crop, and how many remarks it met", async () => {
    expect((await textOf(row("yield-2023-corn.csv"))).replaceAll("\n", " ")).toMatch(
      /a yield log, 2023 corn.*1 remark/,
    );
    expect(await textOf(row("boundary.geojson"))).toContain("the boundary");
    await row("yield-2023-corn.csv").locator("summary").first().click();
    await expectText(page, "details.file[open]", /Reads .*Flow \(lb\/s\) as grain flow/);
    expect(await findings(page)).toEqual([]);
    expect(await row("boundary.geojson").getByRole("button", {name: "Take it off"}).count()).toBe(0);
  });

  it("says in words what is wrong with a bad file, and changes nothing", async () => {
    const {version} = await field();
    const noise = Uint8Array.from({length: 3000}, (_, i) => (i * 7919) % 251);
    const large = write("large.tif", "");
    truncateSync(large, 8_000_000);
    const bad: readonly (readonly [string, RegExp])[] = [
      [write("broken.zip", Uint8Array.of(0x50, 0x4b, 3, 4, ...noise)), /ends before its table of contents/],
      [write("photo.png", Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 13, 10, 26, 10, ...noise)), /is a picture/],
      [write("empty.csv", ""), /is empty/],
      [write("cut.geojson", '{"type":"Feat'), /not valid JSON/],
      [large, /is not a text file/],
    ];
    await drop(...bad.map(([path]) => path));
    for (const [path, words] of bad) {
      const name = path.split("/").at(-1) as string;
      await card(name).locator(".problem", {hasText: words}).waitFor();
      expect(await textOf(card(name))).toContain(name);
    }
    for (const [path] of bad) await putAway(path.split("/").at(-1) as string);
    // A table without places is read, and stays open until somebody says what it is.
    await drop(write("accounts.csv", "Date,Note,Amount\n2024-01-01,seed,5\n2024-02-01,lime,7\n"));
    await card("accounts.csv").getByLabel("This is").selectOption("yield");
    await expectText(page, ".card", /needs the columns of longitude and latitude/);
    expect(await card("accounts.csv").getByRole("button", {name: "Attach to this field"}).isDisabled()).toBe(true);
    await putAway("accounts.csv");
    expect((await field()).version).toBe(version);
  });

  it("reads a log whose headings say nothing, once its columns are told by hand", async () => {
    const rows = Array.from({length: 40}, (_, i) =>
      [i + 1, (-86.389 + i * 0.0001).toFixed(5), 40.5585, 90 + (i % 7), i, 15].join(","),
    );
    await drop(write("harvest.csv", `Fld1,A,BB,CC,DD,EE\n${rows.join("\n")}\n`));
    const log = card("harvest.csv");
    await log.getByLabel("This is").selectOption("yield");
    await expectText(page, ".card", /Which crop was harvested, and in which year\? The file's name does not say\./);
    await log.getByLabel("crop", {exact: true}).fill("corn");
    await log.getByLabel("season", {exact: true}).fill("2022");
    for (const [heading, role] of [
      ["A", "x"],
      ["BB", "y"],
      ["CC", "yield"],
      ["DD", "time"],
    ] as const) {
      await log
        .locator(".column", {has: page.locator("b", {hasText: new RegExp(`^${heading}$`)})})
        .locator("select")
        .first()
        .selectOption(role);
    }
    await log.getByLabel("Unit of CC").selectOption("bu/ac");
    await log.getByLabel("Unit of DD").selectOption("s");
    expect(await findings(page)).toEqual([]);
    await log.getByRole("button", {name: "Attach to this field"}).click();
    await log.waitFor({state: "detached"});
    const {job} = await field();
    expect((job.layers as {yield: unknown[]}).yield.at(-1)).toEqual({
      file: "harvest.csv",
      crop: "corn",
      season: 2022,
      columns: {x: "A", y: "BB", yield: {column: "CC", unit: "bu/ac"}, time: {column: "DD", unit: "s"}},
    });
  });

  it("asks how far cores keep from points before they are attached to be kept from", async () => {
    const point = (lon: number) => ({
      type: "Feature",
      properties: {kind: "inlet"},
      geometry: {type: "Point", coordinates: [lon, 40.5585]},
    });
    const points = (...lons: number[]) => JSON.stringify({type: "FeatureCollection", features: lons.map(point)});
    const before = (await field()).job.sampling;
    await drop(write("inlets.geojson", points(-86.389, -86.388)), write("culverts.geojson", points(-86.387)));
    const one = card("inlets.geojson");
    const attach = one.getByRole("button", {name: "Attach to this field"});
    await one.getByText("How far do cores keep from it").waitFor();
    expect(await attach.isDisabled()).toBe(true);
    expect(await page.getByRole("button", {name: "Attach all that need no answer"}).count()).toBe(0);
    await one.getByLabel(/How far do cores keep from it/).fill("40 ft");
    await one.getByLabel(/How far do cores keep from it/).press("Tab");
    await page.getByRole("button", {name: "Attach all that need no answer (1)"}).waitFor();
    await attach.click();
    await until(
      async () => ((await field()).job.sampling as {keepOuts?: unknown} | undefined)?.keepOuts,
      (keepOuts) => JSON.stringify(keepOuts) === '[{"file":"inlets.geojson","distance":"40 ft"}]',
    );
    await putAway("culverts.geojson");
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await until(
      async () => JSON.stringify((await field()).job.sampling),
      (sampling) => sampling === JSON.stringify(before),
    );
  });

  it("lets the reading of an attached file be put right later", async () => {
    const log = row("harvest.csv");
    await log.locator("summary").first().click();
    await log.locator("summary", {hasText: "How it is read"}).click();
    await log.getByLabel("Unit of CC").selectOption("t/ha");
    await log.getByLabel("season", {exact: true}).fill("2021");
    await log.getByLabel("season", {exact: true}).blur();
    await log.getByRole("button", {name: "Read it so"}).click();
    await expectText(page, "details.file .use", /a yield log, 2021 corn/);
    const logs = ((await field()).job.layers as {yield: {file: string; columns: {yield?: unknown}}[]}).yield;
    expect(logs.filter(({file}) => file === "harvest.csv")).toHaveLength(1);
    expect(logs.at(-1)?.columns.yield).toEqual({column: "CC", unit: "t/ha"});
  });

  it("takes a file off the field, keeps it in the book, and undo brings it back", async () => {
    await row("harvest.csv").getByRole("button", {name: "Take it off this field"}).click();
    await expectText(page, "summary", /2 files in the book that this field does not use/);
    expect(JSON.stringify((await field()).job)).not.toContain("harvest.csv");
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await expectText(page, "details.file .use", /a yield log, 2021 corn/);
    await page.getByRole("button", {name: "Redo"}).click();
    await expectText(page, "summary", /2 files in the book/);
  });

  it("makes one file of the members of a shapefile dropped together", async () => {
    const zip = unzipSync(new Uint8Array(await (await page.request.get(await ratesZip())).body()));
    const members = Object.entries(zip).map(([name, bytes]) => [`zones.${name.split(".").at(-1)}`, bytes] as const);
    expect(members.length).toBeGreaterThanOrEqual(4);
    await drop(...members.map(([name, bytes]) => write(name, bytes)));
    await expectText(page, ".card h3", /^zones\.zip$/);
    expect(await page.locator(".card h3").count()).toBe(1);
    await expectText(page, ".card", /Polygon/);
    await putAway("zones.zip");
    // One member alone is told what it lacks.
    const [dbf] = members.filter(([name]) => name.endsWith(".dbf"));
    await drop(write("alone.dbf", dbf?.[1] ?? ""));
    await expectText(page, ".card .problem", /one member of a shapefile/);
    await putAway("alone.dbf");
  });

  it("says of a report how many ids are bags, and answers others with the same headings the same", async () => {
    const report = (ids: readonly string[]) =>
      `Sample ID,Depth (in),pH,P ppm\n${ids.map((id) => `${id},8,6.5,30`).join("\n")}\n`;
    await drop(write("one.csv", report(["KFG01", "kfg02"])), write("two.csv", report(["XX1"])));
    await card("two.csv")
      .getByText(/None of its 1 id is a bag of this field's plans/)
      .waitFor();
    await card("one.csv")
      .getByText(
        /2 of 2 ids are bags of the plan Grid, and 13 of its 15 bags have no result here; none of Whole field or Zones/,
      )
      .waitFor();
    expect(await textOf(card("one.csv"))).toContain("Depth (in) as the depth, 8 in");
    await card("one.csv")
      .getByLabel(/^Column "pH"/)
      .selectOption("water 1:1");
    await card("one.csv")
      .getByLabel(/^Column "P ppm"/)
      .selectOption("bray-1");
    await card("one.csv").getByRole("button", {name: "Answer two.csv the same"}).click();
    await card("two.csv").getByText("Answered as in one.csv").waitFor();
    expect(
      await card("two.csv")
        .getByLabel(/^Column "P ppm"/)
        .inputValue(),
    ).toBe("bray-1");
    expect(await card("two.csv").getByRole("button", {name: "Attach to this field"}).isEnabled()).toBe(true);
    await putAway("one.csv");
    await putAway("two.csv");
  });

  it("warns of the log of another field, and offers to take it off when it was attached all the same", async () => {
    await drop(write("away.csv", `Longitude,Latitude,Flow (lb/s)\n${"-80,35,9\n".repeat(30)}`));
    await card("away.csv").getByText("None of its positions lies in this field or beside it.").waitFor();
    await card("away.csv").getByLabel("crop", {exact: true}).fill("corn");
    await card("away.csv").getByLabel("season", {exact: true}).fill("2020");
    await card("away.csv").getByRole("button", {name: "Attach to this field"}).click();
    await page.locator("#maps").getByRole("button", {name: "Take away.csv off this field"}).click();
    await page.locator("#maps .problem").waitFor({state: "detached"});
    expect(JSON.stringify((await field()).job)).not.toContain("away.csv");
  });

  it("attaches all files that need no answer at once, and leaves the others to be answered", async () => {
    await page.goto(`${bench.url}#/`);
    await page.locator(".cards a").first().waitFor();
    // What is no boundary begins no field: it waits, and goes along to the one that is made.
    const names = ["boundary.geojson", "yield-2023-corn.csv", "yield-2024-soybean.csv"];
    const chooser = page.locator("input[type=file]").first();
    await chooser.setInputFiles(names.map((name) => `${SAMPLES}${name}`));
    await page.getByText("2 files wait for their field").waitFor();
    expect(await page.getByRole("button", {name: "Make the field"}).count()).toBe(1);
    expect(await page.getByLabel("Name of the field").inputValue()).toBe("Kiln Forty");
    await page.getByLabel("Name of the field").fill("Kiln again");
    await page.getByRole("button", {name: "Make the field"}).click();
    await page.waitForURL(/#\/fields\//);
    await card("yield-2023-corn.csv").getByText("2023 corn, from the file's name.").waitFor();
    await drop(`${SAMPLES}soil.geojson`, `${SAMPLES}elevation.tif`);
    await page.getByRole("button", {name: "Attach all that need no answer (3)"}).click();
    await until(
      () => page.locator(".card h3").allInnerTexts(),
      (left) => left.length === 1,
    );
    expect(await page.locator(".card h3").allInnerTexts()).toEqual(["elevation.tif"]);
    await expectText(page, "details.file .use", /the soil map/);
    expect(at.strayed).toEqual([]);
  });

  it("calls bags as a report on them does, when it is told that they are the same", {timeout: 120_000}, async () => {
    await drop(`${SAMPLES}lab-grid.csv`);
    const report = card("lab-grid.csv");
    await report.getByText("Its 15 ids are those of the plan Grid with KF in place of KA.").waitFor();
    await report.getByText("Look whether it is a report on another field or plan.").waitFor();
    await report.getByRole("button", {name: "Begin this field's ids with KF"}).click();
    await report.getByText("15 of 15 ids are bags of the plan Grid; none of Whole field or Zones.").waitFor();
    expect(await report.getByRole("button", {name: "Begin this field's ids"}).count()).toBe(0);
    expect(at.strayed).toEqual([]);
  });

  async function ratesZip(): Promise<string> {
    const {result} = await until(field, ({version, result: made}) => made?.version === version && made.upTo === "all");
    const rates = result?.outputs.find(({name}) => /^rates-.*\.zip$/.test(name));
    return `${bench.url}api/results/${result?.id}/files/${rates?.name}`;
  }
});
