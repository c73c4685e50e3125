import {describe, expect, it} from "vitest";
import {getReady} from "../../src/server/get-ready.ts";
import type {Pool} from "../../src/server/pool.ts";
import type {KnownResult} from "../../src/server/results.ts";

const AFTER_MS = 5;
const later = () => new Promise((resolve) => setTimeout(resolve, 10 * AFTER_MS));

/** A pool that only notes what it is asked for, and fails at it. */
function noting() {
  const asked: string[] = [];
  const call = async (name: string, _args: unknown, about?: string) => {
    asked.push(`${name} ${about}`);
    throw new Error("as for a file that is no more");
  };
  return {asked, pool: {call, end: async () => undefined} as unknown as Pool};
}

const result = (field: string, keptAs?: string): KnownResult => ({
  id: keptAs ?? "made here",
  field,
  version: 1,
  madeAt: "2026-04-01T00:00:00.000Z",
  spec: {job: "{}", files: [], upTo: "all", evidence: true, ...(keptAs !== undefined && {keptAs})},
  kept: true,
  program: "0.1.0",
});

describe("what the first change of a field rests on", () => {
  it("is made once, some time after a result from the shelf is first looked at; that it fails is nobody's matter", async () => {
    const {asked, pool} = noting();
    const ready = getReady(pool, AFTER_MS);
    for (const field of ["1", "1", "2"]) ready.lookedAt(result(field, `run ${field}`));
    expect(asked).toEqual([]);
    await later();
    ready.lookedAt(result("1", "run 1"));
    await later();
    expect(asked).toEqual(["ready 1", "ready 2"]);
  });

  it("is at hand already for a result that was made here", async () => {
    const {asked, pool} = noting();
    getReady(pool, AFTER_MS).lookedAt(result("1"));
    await later();
    expect(asked).toEqual([]);
  });

  it("is not begun when the server goes", async () => {
    const {asked, pool} = noting();
    const ready = getReady(pool, AFTER_MS);
    ready.lookedAt(result("1", "run 1"));
    ready.close();
    await later();
    expect(asked).toEqual([]);
  });
});
