import {afterAll, beforeAll, describe, expect, it} from "vitest";
import type {FieldPage} from "../../src/server/api-types.ts";
import {expectText, findings, ledgerSettled, openField, openStation, until} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

const PATIENT = 120_000;

describe.skipIf(skipped)(`settings of a job at the bench ${skipped}`, () => {
  let bench: OpenBench;
  let at: WatchedPage;

  beforeAll(async () => {
    bench = await openBench();
    at = await bench.page();
    await openField(at.page, bench.url, "Kiln Forty");
    await openStation(at.page, "Rates");
  }, 180_000);
  afterAll(() => bench?.close());

  const job = async (): Promise<FieldPage["job"]> =>
    ((await (await at.page.request.get(`${bench.url}api/fields/1`)).json()) as FieldPage).job;

  it("offers the guides there are, with the crops of the chosen one", {timeout: PATIENT}, async () => {
    const {page} = at;
    const guide = page.getByLabel("Guide", {exact: true});
    await guide.locator("option", {hasText: "Illinois"}).waitFor({state: "attached"});
    expect((await guide.locator("option").allInnerTexts()).length).toBeGreaterThanOrEqual(9);
    const crops = page.locator("datalist", {has: page.locator("option[value=alfalfa]")});
    expect(await crops.first().locator("option").count()).toBe(4);
  });

  it("works out lime too, when asked", {timeout: PATIENT}, async () => {
    const {page} = at;
    await page.getByRole("button", {name: "+ work lime out too"}).click();
    await page.getByLabel("Target pH").waitFor();
    expect((await job()).lime).toEqual({method: "e-2567", targetPh: 6.5});
    // One sample has no buffer pH, which the run says in words.
    await expectText(page, "main .problem", /needs lime and has no buffer pH/);
    await page.getByRole("button", {name: "take lime out"}).click();
    await until(job, ({lime}) => lime === undefined);
    await ledgerSettled(page);
  });

  it("reaches a credit for manure by form, and says what is wrong with a half of one", {timeout: PATIENT}, async () => {
    const {page} = at;
    const open = (name: RegExp) => page.locator(".side summary", {hasText: name}).first().click();
    await open(/^More$/);
    await open(/^All there is to set$/);
    await open(/^rates$/);
    await open(/^policy/);
    await open(/^credits/);
    await page.getByRole("button", {name: "+ add to credits"}).click();
    const credit = page.locator(".of-section", {has: page.locator("> summary", {hasText: "credits 1"})}).last();
    await credit.getByLabel("credits", {exact: true}).selectOption({label: "manure"});
    await credit.getByLabel("nutrient").selectOption({label: "P2O5"});
    await credit.getByLabel("amount").fill("4000 gal/ac");
    expect(await findings(page)).toEqual([]);
    await page.getByRole("button", {name: "Save rates"}).click();
    await expectText(page, ".all-of-it .problem", /content/);
    expect((await job()).rates).not.toHaveProperty("policy");
    await credit.getByLabel("content").fill("10 lb/1000 gal");
    await credit.getByLabel("available %").fill("80");
    await page.getByRole("button", {name: "Save rates"}).click();
    await page.getByRole("button", {name: "Save rates"}).waitFor({state: "detached"});
    expect((await job()).rates).toMatchObject({
      policy: {
        credits: [
          {kind: "manure", nutrient: "P2O5", amount: "4000 gal/ac", content: "10 lb/1000 gal", availablePct: 80},
        ],
      },
    });
    await ledgerSettled(page);
  });

  it("takes the whole job as text, and says in which line it is wrong", {timeout: PATIENT}, async () => {
    const {page} = at;
    await page.locator(".side summary", {hasText: "the job as text"}).click();
    const text = page.getByLabel("The job as text");
    const before = await text.inputValue();
    await text.fill(before.replace(/"seed": \d+,/, "").replace("{", '{\n  "seed": 9,,'));
    await page.getByRole("button", {name: "Save the job"}).click();
    await expectText(page, ".all-of-it .problem", /not JSON.*line 2/);
    await text.fill(before.replace('"zones"', '"zonnes"'));
    await page.getByRole("button", {name: "Save the job"}).click();
    await expectText(page, ".all-of-it .problem", /zonnes/);
    await text.fill(JSON.stringify({...(await job()), seed: 9}));
    await page.getByRole("button", {name: "Save the job"}).click();
    await until(job, ({seed}) => seed === 9);
    expect(await text.inputValue()).toContain('"seed": 9');
    expect(at.strayed).toEqual([]);
  });

  it("has settings and files that can be used on a phone", {timeout: PATIENT}, async () => {
    const phone = await bench.page({viewport: {width: 390, height: 844}, hasTouch: true});
    const {page} = phone;
    await page.goto(bench.url);
    await page.locator(".cards a", {hasText: "Kiln Forty"}).click();
    await page.locator("figure").first().waitFor();
    const overflow = () => page.evaluate("document.documentElement.scrollWidth - innerWidth") as Promise<number>;
    await page.getByRole("button", {name: "Settings"}).click();
    const box = await page.locator("dialog[open]").boundingBox();
    expect(box?.width).toBeLessThanOrEqual(390);
    expect(await findings(page)).toEqual([]);
    await page.getByRole("button", {name: "Close"}).click();
    await openStation(page, "Files");
    await page.locator("details.file summary").first().click();
    expect(await overflow()).toBeLessThanOrEqual(0);
    await openStation(page, "Rates");
    await page.locator(".side summary", {hasText: /^More$/}).click();
    await page.locator(".side summary", {hasText: "All there is"}).click();
    await page.locator(".side summary", {hasText: /^machine$/}).click();
    expect(await overflow()).toBeLessThanOrEqual(0);
  });
});
