import {existsSync, readdirSync, readFileSync, writeFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {describeGuide} from "../../src/recommend/describe-guide.ts";
import {GUIDES} from "../../src/recommend/find-guide.ts";

// Pages made from the guides' data. `REGEN=1 npx vitest run … tests/recommend/guide-pages.test.ts` writes them again.
const FOLDER = new URL("../../docs/guides/", import.meta.url);

describe("the page of a guide", () => {
  it.each(GUIDES.map((guide) => [guide.id, guide] as const))("%s says what its data say", (id, guide) => {
    const page = new URL(`${id}.md`, FOLDER);
    const text = describeGuide(guide);
    if (process.env.REGEN) writeFileSync(page, text);
    expect(existsSync(page) ? readFileSync(page, "utf8") : "").toBe(text);
  });

  it("stands for every guide, and no page for a guide that is gone", () => {
    const pages = readdirSync(FOLDER).filter((name) => name !== "your-own.md");
    expect(pages.sort()).toEqual(GUIDES.map(({id}) => `${id}.md`).sort());
  });

  it("never prints an unset number", () => {
    for (const guide of GUIDES) expect(describeGuide(guide)).not.toMatch(/undefined|NaN|n\/a|\[object/);
  });
});
