import {readFileSync} from "node:fs";
import type {Locator, Page} from "playwright-core";

// What a person does and sees at the bench, for every browser test.

const AXE = new URL("../../node_modules/axe-core/axe.min.js", import.meta.url).pathname;

/** Opens a sample field from the book, until it is worked out. */
export async function openField(page: Page, url: string, name: "Kiln Forty" | "Millrace"): Promise<void> {
  await page.goto(url);
  await page.locator(".cards a", {hasText: name}).click();
  await ledgerSettled(page);
}

/** Opens a station by the itinerary. */
export async function openStation(page: Page, station: string): Promise<void> {
  await page.locator("nav.itinerary button", {has: page.locator("b", {hasText: new RegExp(`^${station}`)})}).click();
}

/**
 * Until a drawing has begun on the enlarged map. The field is fitted to it a frame or two later, and keys go from its
 * middle: nobody is quicker than that, but a test is.
 */
export async function drawingBegun(page: Page): Promise<void> {
  await page.locator(".hand-bar").waitFor();
  await page.locator("figure.large canvas").waitFor();
  await page.waitForTimeout(400);
  await page.locator("figure.large[aria-busy=false]").waitFor();
}

/** Until the next change is in the job: it is then about to be worked out. Asked for before the change, which may be quick. */
export async function jobSaved(page: Page): Promise<void> {
  await page.waitForResponse((answer) => answer.request().method() === "PUT" && answer.url().endsWith("/job"));
}

/** Until the ledger is of the job as it is, says how sure it is, and nothing is being worked out: seen twice in a row. */
export async function ledgerSettled(page: Page): Promise<void> {
  let seen = 0;
  await until(
    async () => {
      const ready = await page.locator('.ledger-of:not(.old)[aria-busy="false"] .sure b').count();
      const said = await page.locator(".progress").textContent();
      seen = ready > 0 && said === "" ? seen + 1 : 0;
      return {ready, said, seen};
    },
    (now) => now.seen === 2,
  );
}

/** The figures of a strategy in the ledger. */
export async function rowOf(page: Page, strategy: string): Promise<string> {
  const row = page.locator("table.ledger tbody tr", {has: page.locator("th", {hasText: strategy})});
  return (await row.locator("td").allInnerTexts()).join(" ").replace(/\s+/g, " ").trim();
}

export const textOf = async (of: Locator): Promise<string> => (await of.first().allInnerTexts())[0] ?? "";

/** Until something that fits the selector says so. */
export async function expectText(page: Page, selector: string, text: RegExp): Promise<void> {
  await page.locator(selector, {hasText: text}).first().waitFor();
}

/** Asks until the answer will do, and gives it; after the patience the last answer stands in the error. */
export async function until<T>(ask: () => Promise<T>, will: (found: T) => boolean, patienceMs = 120_000): Promise<T> {
  const end = Date.now() + patienceMs;
  for (;;) {
    const found = await ask();
    if (will(found)) return found;
    if (Date.now() > end) throw new Error(`still ${JSON.stringify(found)}`);
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
}

export interface Focus {
  readonly tag: string;
  /** Label, words or kind of what has the focus. */
  readonly name: string;
  /** Whether a person sees that it has. */
  readonly outlined: boolean;
}

export async function focusOf(page: Page): Promise<Focus> {
  return (await page.evaluate(FOCUSED)) as Focus;
}

const FOCUSED = `(() => {
  const at = document.activeElement;
  const ringed = (on) => {
    const {outlineStyle, outlineWidth, opacity} = getComputedStyle(on);
    return outlineStyle !== "none" && outlineWidth !== "0px" && opacity !== "0";
  };
  const name = at.getAttribute("aria-label") ?? at.labels?.[0]?.innerText ?? at.innerText ?? at.tagName;
  // Of a choice that is drawn as its words, the words wear the ring.
  const outlined = at === document.body || ringed(at) || (at.type === "radio" && ringed(at.closest("label")));
  return {tag: at.tagName, name: name.trim().replace(/\\s+/g, " "), outlined};
})()`;

/** Findings of axe-core of these weights, with the elements they are about. */
export async function findings(page: Page, weights: readonly string[] = ["serious", "critical"]): Promise<string[]> {
  await page.evaluate(readFileSync(AXE, "utf8"));
  const found = (await page.evaluate("axe.run(document, {resultTypes: ['violations']})")) as {
    violations: {id: string; impact: string; nodes: {html: string}[]}[];
  };
  return found.violations
    .filter(({impact}) => weights.includes(impact))
    .map(({id, nodes}) => `${id}: ${nodes.map(({html}) => html.slice(0, 160)).join(" | ")}`);
}
