import type {Page} from "playwright-core";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {expectText, openField, openStation, until} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

const PATIENT = 120_000;

describe.skipIf(skipped)(`what is looked at ${skipped}`, () => {
  let bench: OpenBench;
  let at: WatchedPage;
  let page: Page;

  beforeAll(async () => {
    bench = await openBench();
    at = await bench.page();
    page = at.page;
    await openField(page, bench.url, "Kiln Forty");
  }, PATIENT);
  afterAll(() => bench?.close());

  /** The scale bar: its length on the ground and on the page. */
  const scaleOf = async () => {
    const bar = page.locator("figure.map .under > span").first();
    return `${await bar.textContent()} in ${await bar.locator("svg").getAttribute("width")}`;
  };
  /** A wheel's zoom goes on for a while. */
  const steady = async () => {
    let last: string[] = [];
    return until(scaleOf, (scale) => {
      last = [...last, scale].slice(-5);
      return last.length === 5 && last.every((one) => one === scale);
    });
  };
  const looksAgain = async () => {
    await page.locator("figure.large[data-strategy=zone][aria-busy=false]").waitFor();
    await expectText(page, "nav.itinerary [aria-current=step]", /^Layers/);
    expect(await page.locator("input[name=show]:checked").getAttribute("value")).toBe("layer");
    expect(await page.getByRole("combobox", {name: "Layer"}).locator("option:checked").textContent()).toBe("Slope");
  };

  it("is fitted to a window of another size, unless a part of it was chosen", {timeout: PATIENT}, async () => {
    const {width, height} = page.viewportSize() ?? {width: 1280, height: 800};
    const before = await scaleOf();
    await page.setViewportSize({width: 1920, height: 1080});
    await until(scaleOf, (scale) => scale !== before);
    await page.setViewportSize({width, height});
    await until(scaleOf, (scale) => scale === before);
    await page.locator("figure.map canvas").first().hover();
    await page.mouse.wheel(0, -600);
    const near = await steady();
    expect(near).not.toBe(before);
    await page.setViewportSize({width: 1920, height: 1080});
    await page.locator("figure.map[aria-busy=false]").nth(2).waitFor();
    expect(await scaleOf()).toBe(near);
    await page.setViewportSize({width, height});
    await page.getByRole("button", {name: "whole field in view"}).click();
    await until(scaleOf, (scale) => scale === before);
  });

  it("is found again after a reload and on the way back, and not in a field opened anew", {
    timeout: PATIENT,
  }, async () => {
    await openStation(page, "Layers");
    await page.getByRole("combobox", {name: "Layer"}).selectOption({label: "Slope"});
    await page.getByRole("button", {name: "enlarge the map of zones"}).click();
    await looksAgain();
    const large = await scaleOf();
    await page.reload();
    await looksAgain();
    expect(await scaleOf()).toBe(large);
    await page.getByRole("link", {name: "Loamwright"}).click();
    await page.locator(".cards a").first().waitFor();
    await page.goBack();
    await looksAgain();
    await page.goto(bench.url);
    await page.locator(".cards a", {hasText: "Kiln Forty"}).click();
    await expectText(page, "nav.itinerary [aria-current=step]", /^Rates/);
    expect(await page.locator("figure.large").count()).toBe(0);
    expect({strayed: at.strayed, errors: at.errors}).toEqual({strayed: [], errors: []});
  });
});
