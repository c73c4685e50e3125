import {join} from "node:path";
import {describe, expect, it} from "vitest";
import {appliedOf} from "../../src/book/as-applied.ts";
import {withBook} from "../../src/book/book.ts";
import {findField} from "../../src/book/fields.ts";
import {sourcesOf} from "../../src/book/sources.ts";
import {verifyBook} from "../../src/book/verify.ts";
import {nodeBookHost} from "../../src/cli/book-host.ts";
import {cli, scratch} from "./in-process.ts";
import {EAST, layOut, NORTH, polygonJson, RING, SOUTH, smallJob, WEST} from "./small-job.ts";

// What was spread, kept in a book.

const host = await nodeBookHost({who: "tests"});

const PASSES = 14;
const STEPS = 60;

/** To and fro over the whole field at 150 lb/ac; the last record of each pass switched off. */
function log(): string {
  const lines = ["Longitude,Latitude,Time (s),Applied rate (lb/ac),Swath (ft),State"];
  let time = 36_000;
  for (let pass = 0; pass < PASSES; pass++) {
    for (let i = 0; i <= STEPS; i++) {
      const lon = WEST + ((EAST - WEST) * (pass % 2 === 0 ? i : STEPS - i)) / STEPS;
      const lat = SOUTH + ((NORTH - SOUTH) * (pass + 0.5)) / PASSES;
      lines.push([lon.toFixed(8), lat.toFixed(8), time++, 150, 31.22, i === STEPS ? "off" : "on"].join(","));
    }
    time += 20;
  }
  return lines.join("\n");
}

function laid(): {book: string; job: string} {
  const folder = scratch();
  const {lab: _l, rates: _r, products: _p, ...job} = smallJob();
  const plan = {file: "plan.geojson", rate: "RATE_LBAC"};
  const files = {
    "boundary.geojson": polygonJson([RING]),
    "plan.geojson": polygonJson([RING], {UNIT: "all", RATE_LBAC: 150}),
    "log.csv": log(),
  };
  const asApplied = [{files: ["log.csv"], plan}];
  return {book: join(folder, "farm.gpkg"), job: layOut(join(folder, "job"), {...job, asApplied}, files)};
}

describe("loamwright as-applied --book", () => {
  it("keeps log and records on the map of the book, once", async () => {
    const {book, job} = laid();
    expect((await cli("book", "create", book)).code).toBe(0);
    const first = await cli("as-applied", job, "--book", book, "--on", "2026-04-20");
    expect(first.code, first.stderr).toBe(0);
    expect(first.stderr).toContain("1 log kept in");
    const again = await cli("as-applied", job, "--book", book, "--on", "2026-04-20");
    expect(again.stderr).toContain("0 logs kept in");
    expect(again.stderr).toContain("1 there already");
    withBook(host, book, (open) => {
      const field = findField(open, "Wren Patch");
      const [pass, ...others] = appliedOf(open, field);
      expect(others).toEqual([]);
      expect(pass).toMatchObject({spreadOn: "2026-04-20", points: PASSES * (STEPS + 1)});
      // 150 lb on each of some 5.3 acres (169.5 m by 133.3 m); the account of rate, swath and distance is the log's own.
      const acres = Number(open.db.all("SELECT acres FROM fields")[0]?.acres);
      expect((pass?.totalLb ?? 0) / (150 * acres)).toBeCloseTo(1, 1);
      const rates = open.db.all(
        "SELECT rate_lb_ac AS rate, count(*) AS n FROM as_applied_points GROUP BY 1 ORDER BY 1",
      );
      expect(rates).toEqual([
        {rate: 0, n: PASSES},
        {rate: 150, n: PASSES * STEPS},
      ]);
      expect(sourcesOf(open, field.id).map(({name}) => name)).toContain("log.csv");
      expect(verifyBook(open).flatMap(({faults}) => faults)).toEqual([]);
    });
  });

  it("says so before the work when there is no such book or no such day", async () => {
    const {book, job} = laid();
    const missing = await cli("as-applied", job, "--book", book);
    expect(missing.code).toBe(3);
    expect(missing.stderr).toContain("There is no book");
    for (const day of ["20 April", "2026-02-30"]) {
      const wrong = await cli("as-applied", job, "--book", book, "--on", day);
      expect(wrong.code).toBe(3);
      expect(wrong.stderr).toContain(`"${day}" is no day.`);
    }
  });
});
