import {join} from "node:path";
import {expect, it} from "vitest";
import {nodeBookHost} from "../../src/cli/book-host.ts";
import {killAgainAndAgain} from "./kill-loop.ts";
import {scratch} from "./small-run.ts";

// The same with 200 kills stands in the reference suite.
it("a book loses nothing committed when its process is killed at any moment, 20 times", async () => {
  const outcome = await killAgainAndAgain(await nodeBookHost(), join(scratch(), "farm.gpkg"), 20, 7);
  expect(outcome.losses).toEqual([]);
  expect(outcome.committed).toBeGreaterThan(10);
  // Else the kills only ever met an idle process, and nothing was tried.
  expect(outcome.midway).toBeGreaterThan(6);
}, 600_000);
