import {afterAll, beforeAll, describe, expect, it} from "vitest";
import type {FieldPage} from "../../src/server/api-types.ts";
import {expectText, ledgerSettled, openField, openStation, until} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

const PATIENT = 120_000;

describe.skipIf(skipped)(`prices at the bench ${skipped}`, () => {
  let bench: OpenBench;
  let at: WatchedPage;

  beforeAll(async () => {
    bench = await openBench();
    at = await bench.page();
    await openField(at.page, bench.url, "Kiln Forty");
    await openStation(at.page, "Ledger");
  }, 180_000);
  afterAll(() => bench?.close());

  const asked = async (): Promise<FieldPage["job"]> =>
    ((await (await at.page.request.get(`${bench.url}api/fields/1`)).json()) as FieldPage).job;
  const box = (label: string) => at.page.getByLabel(label, {exact: true});
  const enter = async (label: string, text: string): Promise<void> => {
    await box(label).fill(text);
    await box(label).press("Enter");
  };

  it("are those that are counted with, each with its source, while the job has none", {timeout: PATIENT}, async () => {
    for (const label of ["Lab", "Core", "Zone making", "Years it serves", "Corn", "Soybean", "Year of the prices"]) {
      await enter(label, "");
    }
    await until(asked, ({prices}) => prices === undefined);
    await ledgerSettled(at.page);
    // As src/compare/prices.ts has them.
    expect(await box("Lab").getAttribute("placeholder")).toBe("10 $/sample");
    await at.page.locator(".side summary", {hasText: /^More$/}).click();
    expect(await box("Broadcasting").getAttribute("placeholder")).toBe("4.90 $/ac");
    expect(await box("Several rates, extra").getAttribute("placeholder")).toBe("1.50 $/ac");
    await expectText(at.page, ".setting .hint", /published 2016, Iowa custom-rate survey/);
  });

  it("bring their year along, the first of them already", {timeout: PATIENT}, async () => {
    await enter("Lab", "12 $/sample");
    const {prices} = await until(asked, (job) => job.prices !== undefined);
    expect(prices).toEqual({lab: "12 $/sample", year: new Date().getFullYear()});
    expect(await at.page.locator(".wrong").count()).toBe(0);
  });

  it("stay marked when refused, and are tried again when written again", {timeout: PATIENT}, async () => {
    const {page} = at;
    await enter("Core", "0.40");
    await expectText(page, ".wrong", /^Not in the job\. .*"0\.40" is not a price of a core/);
    // The same text again is tried again, and says so again.
    await box("Core").fill("");
    await box("Core").fill("0.40");
    await box("Lab").focus();
    await expectText(page, ".wrong", /^Not in the job/);
    expect(await box("Core").inputValue()).toBe("0.40");
    await enter("Core", "0.40 $/core");
    await page.locator(".wrong").waitFor({state: "detached"});
    await until(asked, ({prices}) => (prices as {core?: string} | undefined)?.core === "0.40 $/core");
    expect(at.strayed).toEqual([]);
  });
});
