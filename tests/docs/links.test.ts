import {existsSync, readdirSync, readFileSync} from "node:fs";
import {dirname, join} from "node:path";
import {fileURLToPath} from "node:url";
import {describe, expect, it} from "vitest";

const ROOT = fileURLToPath(new URL("../..", import.meta.url));
const pages = [
  "README.md",
  "DEVELOPERS.md",
  ...readdirSync(join(ROOT, "docs"), {recursive: true, encoding: "utf8"})
    .filter((name) => name.endsWith(".md"))
    .map((name) => join("docs", name)),
];

describe("the pages", () => {
  it.each(pages)("%s points only at files that are there", (page) => {
    const text = readFileSync(join(ROOT, page), "utf8");
    const links = [...text.matchAll(/\]\((?!https?:|#)([^)#]+)[^)]*\)/g)].map((m) =>
      join(dirname(page), m[1] as string),
    );
    const named = [...text.matchAll(/`((?:src|tests|docs|sample-data)\/[\w./-]+)`/g)].map((m) => m[1] as string);
    const broken = [...links, ...named].filter((path) => !/NAME/.test(path) && !existsSync(join(ROOT, path)));
    expect(broken).toEqual([]);
  });
});
