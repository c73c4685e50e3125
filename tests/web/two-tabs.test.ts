import type {Page} from "playwright-core";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {expectText, openField, openStation, rowOf, until} from "./at-the-bench.ts";
import {type OpenBench, openBench, skipped, type WatchedPage} from "./open-bench.ts";

if (skipped) console.log(`two tabs ${skipped}`);
const PATIENT = 240_000;
const SEEN_AGAIN = "dispatchEvent(new Event('focus'))";

describe.skipIf(skipped !== "")("one field in two tabs", () => {
  let bench: OpenBench;
  let watched: WatchedPage;
  let one: Page;
  let other: Page;
  /** A window of another browser: nothing tells it what the tabs of this one do. */
  let stranger: WatchedPage;

  beforeAll(async () => {
    bench = await openBench();
    watched = await bench.page();
    one = watched.page;
    await openKiln(one);
    other = await one.context().newPage();
    await openKiln(other);
    stranger = await bench.page();
    // Not in sight, it does not look by itself.
    await stranger.page
      .context()
      .addInitScript("Object.defineProperty(document, 'visibilityState', {value: 'hidden'})");
    await openKiln(stranger.page);
  }, PATIENT);
  afterAll(() => bench?.close());

  const openKiln = async (page: Page): Promise<void> => {
    await openField(page, bench.url, "Kiln Forty");
  };
  const cell = (page: Page) => page.getByLabel("Cell", {exact: true});
  const setCell = async (page: Page, text: string): Promise<void> => {
    await cell(page).fill(text);
    await cell(page).press("Enter");
  };

  /** Until nothing is being worked out: a run that is ended by another's change tells of it. */
  const untilQuiet = (page: Page) =>
    until(
      async () => {
        const {version, result} = await page.evaluate(() => fetch("api/fields/1").then((answer) => answer.json()));
        return {isMade: result.version === version, said: await page.locator(".progress").textContent()};
      },
      ({isMade, said}) => isMade && said === "",
    );

  const untilGrid = (page: Page, bags: number) =>
    until(
      () => rowOf(page, "Grid"),
      (figures) => figures.startsWith(`${bags} `),
    );

  it("a change in one is shown in the other, with what comes of it", {timeout: PATIENT}, async () => {
    for (const page of [one, other]) await openStation(page, "Plan");
    const before = await rowOf(one, "Grid");
    await setCell(one, "5 ac");
    await other.locator("[id=side] input[value='5 ac']").waitFor();
    await untilGrid(other, 8);
    await untilGrid(one, 8);
    expect(await rowOf(other, "Grid")).toBe(await rowOf(one, "Grid"));
    expect(await rowOf(other, "Grid")).not.toBe(before);
  });

  it("undo in the other takes back what the one did, and both see it", {timeout: PATIENT}, async () => {
    await other.getByRole("button", {name: "Undo", exact: true}).click();
    for (const page of [one, other]) {
      await page.locator("[id=side] input[value='2.5 ac']").waitFor();
      await untilGrid(page, 15);
    }
  });

  it("a change made without having seen another is refused, and the field shown as it is", {
    timeout: PATIENT,
  }, async () => {
    const {page} = stranger;
    await openStation(page, "Plan");
    await openStation(one, "Plan");
    for (const each of [one, page]) await untilQuiet(each);
    await setCell(one, "4 ac");
    await one.locator("[id=side] input[value='4 ac']").waitFor();
    await page.getByLabel("Depth", {exact: true}).fill("7 in");
    await page.getByLabel("Depth", {exact: true}).press("Enter");
    await expectText(page, ".setting .wrong", /The field was changed elsewhere meanwhile: its job is at version \d+/);
    await expectText(page, ".setting .wrong", /make the change again if it is still wanted/);
    await page.locator("[id=side] input[value='4 ac']").waitFor();
    // What was written still stands there, and goes in the second time.
    expect(await page.getByLabel("Depth", {exact: true}).inputValue()).toBe("7 in");
    await page.getByLabel("Depth", {exact: true}).press("Enter");
    await page.locator(".setting .wrong").waitFor({state: "detached"});
    await page.locator("[id=side] input[value='7 in']").waitFor();
    expect(await cell(page).inputValue()).toBe("4 ac");
  });

  it("of one setting changed by two the second is refused, and is told so though the box shows the first", {
    timeout: PATIENT,
  }, async () => {
    const {page} = stranger;
    await one.evaluate(SEEN_AGAIN);
    await one.locator("[id=side] input[value='7 in']").waitFor();
    for (const each of [one, page]) await untilQuiet(each);
    const before = await rowOf(page, "Grid");
    await setCell(one, "5 ac");
    await one.locator("[id=side] input[value='5 ac']").waitFor();
    await setCell(page, "6 ac");
    await page.locator("[id=side] input[value='5 ac']").waitFor();
    await expectText(page, ".setting .wrong", /^Not in the job: 6 ac\. The field was changed elsewhere meanwhile/);
    await cell(page).blur();
    await until(
      () => rowOf(page, "Grid"),
      (figures) => figures !== before,
    );
    expect(await page.locator(".setting .wrong").count()).toBe(1);
    expect(await cell(page).inputValue()).toBe("5 ac");
    await setCell(page, "4 ac");
    await page.locator(".setting .wrong").waitFor({state: "detached"});
    await one.evaluate(SEEN_AGAIN);
    await one.locator("[id=side] input[value='4 ac']").waitFor();
  });

  it("what is being written when another changes it stands, and the change is told", {timeout: PATIENT}, async () => {
    const {page} = stranger;
    await cell(page).fill("3.2 ac");
    await setCell(one, "4.5 ac");
    await one.locator("[id=side] input[value='4.5 ac']").waitFor();
    await page.evaluate(SEEN_AGAIN);
    await expectText(page, ".setting .overtaken", /^Elsewhere it was set to 4\.5 ac meanwhile\.$/);
    expect(await cell(page).inputValue()).toBe("3.2 ac");
    await cell(page).press("Enter");
    await page.locator(".setting .overtaken").waitFor({state: "detached"});
    await page.locator("[id=side] input[value='3.2 ac']").waitFor();
    await one.evaluate(SEEN_AGAIN);
    await one.locator("[id=side] input[value='3.2 ac']").waitFor();
  });

  it("undo without having seen another's change takes nothing back", {timeout: PATIENT}, async () => {
    await one.evaluate(SEEN_AGAIN);
    await one.locator("[id=side] input[value='7 in']").waitFor();
    for (const each of [one, stranger.page]) await untilQuiet(each);
    await setCell(one, "3 ac");
    await one.locator("[id=side] input[value='3 ac']").waitFor();
    const {page} = stranger;
    await page.getByRole("button", {name: "Undo", exact: true}).click();
    await expectText(page, "main .problem", /changed elsewhere meanwhile/);
    await page.locator("[id=side] input[value='3 ac']").waitFor();
    expect(await page.getByLabel("Depth", {exact: true}).inputValue()).toBe("7 in");
  });

  it("a window that is looked at again shows what was done meanwhile", {timeout: PATIENT}, async () => {
    await setCell(one, "2 ac");
    await one.locator("[id=side] input[value='2 ac']").waitFor();
    await stranger.page.evaluate(SEEN_AGAIN);
    await stranger.page.locator("[id=side] input[value='2 ac']").waitFor();
  });

  it("one of another browser that is in sight shows it by itself, and what no longer holds is not said any more", {
    timeout: PATIENT,
  }, async () => {
    const {page} = await bench.page();
    await page.goto(bench.url);
    await page.locator(".cards a", {hasText: "Kiln Forty"}).click();
    await expectText(page, ".without-rates", /samples were taken by/);
    await openStation(page, "Plan");
    await openStation(one, "Plan");
    await setCell(one, "2.5 ac");
    await page.locator("[id=side] input[value='2.5 ac']").waitFor();
    await setCell(one, "2 ac");
    await page.locator("[id=side] input[value='2 ac']").waitFor();
    await one.getByLabel("Depth", {exact: true}).fill("8 in");
    await setCell(one, "2.5 ac");
    await page.locator(".without-rates").waitFor({state: "detached"});
    await page.context().close();
  });

  it("two settings changed in quick succession are both kept", {timeout: PATIENT}, async () => {
    await cell(one).fill("2.2 ac");
    await one.getByLabel("Depth", {exact: true}).fill("6 in");
    await one.getByLabel("Depth", {exact: true}).press("Enter");
    await one.locator("[id=side] input[value='6 in']").waitFor();
    await one.locator("[id=side] input[value='2.2 ac']").waitFor();
    expect(await one.locator(".setting .wrong").count()).toBe(0);
  });

  it("asked nothing of any network but its own server, and met no error but the refusals", () => {
    for (const {strayed, errors} of [watched, stranger]) {
      expect(strayed).toEqual([]);
      expect(errors.filter((text) => !text.includes("409"))).toEqual([]);
    }
  });
});
