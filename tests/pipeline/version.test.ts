import {readFileSync} from "node:fs";
import {expect, test} from "vitest";
import {VERSION} from "../../src/pipeline/version.ts";

test("the program says the version of its package", () => {
  const path = new URL("../../package.json", import.meta.url);
  expect(VERSION).toBe(JSON.parse(readFileSync(path, "utf8")).version);
});
