import {readFileSync} from "node:fs";
import {join} from "node:path";
import {describe, expect, test} from "vitest";
import {cli, scratch} from "./in-process.ts";
import {type LooseJob, layOut, polygonJson, RING, smallJob} from "./small-job.ts";

// One field whole and in two grid cells; the lab knows the grid alone, or another grid than the job now makes.

const GRID = ["WPG01", "WPG02"];

const RESULTS: Record<string, string> = {WPW01: "30,150,12", WPG01: "21,111,12", WPG02: "24,130,14"};
const lab = (ids: readonly string[]): string =>
  ["Sample,P,K,CEC", ...ids.map((id) => `${id},${RESULTS[id]}`), ""].join("\n");

async function run(ids: readonly string[], change: (job: LooseJob) => void) {
  const folder = scratch();
  const job = smallJob();
  change(job);
  const path = layOut(folder, job, {"boundary.geojson": polygonJson([RING]), "lab.csv": lab(ids)});
  const {code, stderr} = await cli("run", path, "--out", join(folder, "out"));
  const read = (name: string): LooseJob => JSON.parse(readFileSync(join(folder, "out", name), "utf8"));
  return {code, stderr, read};
}

describe("a plan without results", () => {
  test("stops the run as long as the job says nothing else, with the ways on", async () => {
    const {code, stderr} = await run(GRID, () => {});
    expect(code).not.toBe(0);
    expect(stderr).toMatch(/"missing": "zero" under "rates", or "leave out" to go on without this plan/);
  });

  test("is left out when the job says so: no rate, no file, no say as baseline, and a warning", async () => {
    const {code, stderr, read} = await run(GRID, (job) => {
      job.rates.missing = "leave out";
    });
    expect(code, stderr).toBe(0);
    const {rows, baseline, notes} = read("comparison.json").comparison;
    expect(baseline).toBe("grid");
    const [whole, grid] = rows;
    expect(whole).toMatchObject({strategy: "whole-field", products: []});
    expect(grid.products.map(({analysis}: LooseJob) => analysis)).toEqual(["11-52-0", "0-0-60"]);
    const said =
      /^The whole-field plan has no rates and is left out of the comparison\. Unit "whole field" has no soil test/;
    expect(notes.some((note: string) => said.test(note))).toBe(true);
    const record = read("run.json");
    expect(record.issues.filter(({code: what}: LooseJob) => what === "rates/plan-left-out")).toHaveLength(1);
    const files = Object.keys(record.outputs).join(" ");
    expect(files).toContain("rates-grid.geojson");
    expect(files).not.toContain("rates-whole-field");
  });

  test("rates of the others are those of a run in which every plan has results", async () => {
    const some = await run(GRID, (job) => {
      job.rates.missing = "leave out";
    });
    const all = await run(["WPW01", ...GRID], () => {});
    expect(some.read("rates-grid.geojson")).toEqual(all.read("rates-grid.geojson"));
  });
});

describe("results of another plan than the job makes", () => {
  test("refuse the run, or leave that plan out", async () => {
    const marked = (missing?: string) => (job: LooseJob) => {
      job.lab.plans = {grid: "GXXXXXX"};
      if (missing) job.rates.missing = missing;
    };
    const ids = ["WPW01", ...GRID];
    const refused = await run(ids, marked());
    expect(refused.stderr).toMatch(/The samples were taken by grid plan GXXXXXX/);
    const {code, stderr, read} = await run(ids, marked("leave out"));
    expect(code, stderr).toBe(0);
    const [whole, grid] = read("comparison.json").comparison.rows;
    expect(whole.products).toHaveLength(2);
    expect(grid.products).toEqual([]);
  });
});
