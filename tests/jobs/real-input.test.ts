import {beforeAll, describe, expect, test} from "vitest";
import type {Job} from "../../src/pipeline/job.ts";
import type {RunResult} from "../../src/pipeline/run.ts";
import {ledgerText} from "../../src/report/ledger-text.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {hasSharedData, jsonOf, runJobFile} from "./run-job.ts";

// Whole runs on open data from real fields: hand samples, ties, blanks and all. The data is no part of the project.

test.skipIf(hasSharedData)("skipped: no shared data", () => {
  expect(hasSharedData).toBe(false);
});

describe.runIf(hasSharedData)("a research farm with 18 seasons of hand-harvested points in mixed crops", () => {
  let run: RunResult;
  beforeAll(async () => {
    run = await runJobFile("tests/jobs/cook-farm/job.json");
    console.log(ledgerText(run.comparison));
  });

  test("the field holds about the 37.5 ha its keepers state", () => {
    // README of the data: "37.5 ha research farm", rounded to 0.1 ha.
    expect(run.field.area / 10_000).toBeCloseTo(37.5, 1);
  });

  test("every harvest year becomes a season and every one of the 6,546 rows has one reason", () => {
    const seasons = run.layers?.seasons ?? [];
    expect(seasons.map(({cleaned}) => cleaned.season)).toEqual(Array.from({length: 18}, (_, i) => 1999 + i));
    expect(sum(seasons.map(({cleaned}) => sum(Object.values(cleaned.counts))))).toBe(6546);
  });

  test("the 149 points without a yield are counted as such, and points at the edge stay in", () => {
    // Counted in the file: GrainYieldDryPerArea is empty on 149 rows. Every point lies on the farm.
    const counts = (run.layers?.seasons ?? []).map(({cleaned}) => cleaned.counts);
    expect(sum(counts.map((c) => c["no-yield"]))).toBe(149);
    expect(sum(counts.map((c) => c["outside-field"]))).toBe(0);
  });

  test("grams per square metre are read as hundredths of a tonne per hectare", () => {
    // First row of the file: 220.83661417322836 g/m2 in 1999.
    expect(run.layers?.seasons[0]?.cleaned.yieldTPerHa[0]).toBeCloseTo(2.20836614, 8);
  });

  test("seasons are shares of their own crop's mean, so that no crop stands above the others", () => {
    for (const {layer} of run.layers?.seasons ?? []) {
      const known = layer.values.filter((value) => !Number.isNaN(value));
      // Cells are weighted by the map, points by the crop: a few percent apart.
      expect(sum([...known]) / known.length).toBeGreaterThan(90);
      expect(sum([...known]) / known.length).toBeLessThan(110);
    }
  });

  test("yield, soil map units, relative elevation and slope all speak for the zones", () => {
    expect(run.layers?.features.map(({theme}) => theme)).toEqual(["yield", "soil", "terrain", "terrain"]);
    expect(run.zoneMap?.zones).toHaveLength(4);
  });

  test("all three plans tile the field and the ledger compares the sampling alone", () => {
    expectPlansToTile(run, ["whole-field", "grid", "zone"]);
    expect(run.comparison.rows.flatMap(({products}) => products)).toEqual([]);
    expect(run.comparison.notes.join("\n")).toContain("No lab results yet");
    expect([...run.outputs.keys()].filter((name) => name.startsWith("rates"))).toEqual([]);
  });
});

describe.runIf(hasSharedData)("256 soil tests of a soybean plot, at known places, by another extractant", () => {
  const path = "tests/jobs/soja98/job.json";

  test("a guide made for another extractant is refused", async () => {
    await expect(runJobFile(path, withoutOverride)).rejects.toMatchObject({code: "recommend/guide-does-not-fit"});
  });

  describe("with a reason given", () => {
    let run: RunResult;
    beforeAll(async () => {
      run = await runJobFile(path);
      console.log(ledgerText(run.comparison));
    });

    test("it runs, and the ledger and every recommendation say: for arithmetic only", () => {
      const notes = run.comparison.notes.join("\n");
      expect(notes).toMatch(/for arithmetic only/i);
      expect(notes).toContain("this test has another extractant");
      for (const {recommendations} of run.strategies) {
        for (const {issues} of recommendations) {
          expect(issues.map(({message}) => message).join("\n")).toMatch(/for arithmetic only/i);
        }
      }
    });

    test("each plan's units share all 256 places", () => {
      const {lab} = jsonOf(run, "run.json") as {lab: string[]};
      expect(lab).toHaveLength(3);
      for (const sentence of lab) expect(sentence).toContain("256 places, 0 results without a place");
      expectPlansToTile(run, ["whole-field", "grid", "zone"]);
      expect(run.zoneMap?.zones).toHaveLength(3);
    });

    test("the rate of the one field-wide test follows from the file's mean of 4.03 ppm by the guide's formula", () => {
      // Mean of the 256 values in the file: 4.031 ppm. Tri-State 2020 under the critical level of 20 ppm: 5 lb P2O5 per
      // ppm of shortfall a year over four years, plus removal, 0.79 lb/bu at 45 bu/ac: (20 - 4.031) * 5 + 35.55.
      // Of 0-46-0: 250.86 lb/ac, to the whole pound 251.
      const line = run.comparison.rows[0]?.products[0];
      // The mean weighs by area on the ellipsoid and in the field's frame, which differ in the ninth digit.
      expect(line?.meanLbPerAcre).toBeCloseTo(Math.round(((20 - 4.03125) * 5 + 45 * 0.79) / 0.46), 5);
    });

    test("only phosphate is spread", () => {
      expect(new Set(run.comparison.rows.flatMap(({products}) => products.map(({nutrient}) => nutrient)))).toEqual(
        new Set(["P2O5"]),
      );
    });
  });
});

describe.runIf(hasSharedData)("20 samples in a wide lab report, their places in another file", () => {
  const path = "tests/jobs/field50/job.json";

  test("all 20 results join, and the run says so", async () => {
    const run = await runJobFile(path);
    console.log(ledgerText(run.comparison));
    const {lab} = jsonOf(run, "run.json") as {lab: string[]};
    expect(lab).toEqual([
      "3 units, 3 with results from 20 places, 0 results without a place",
      "6 units, 6 with results from 20 places, 0 results without a place",
    ]);
    expectPlansToTile(run, ["whole-field", "grid"]);
    expect(run.strategies.flatMap(({receipts}) => receipts.map(({passed}) => passed))).toEqual(Array(8).fill(true));
  });

  test("a grid finer than the samples is refused at the first cell without one", async () => {
    const finer = (job: Job): Job => ({
      ...job,
      sampling: {...job.sampling, grid: {cellArea: (5 * SQUARE_METRES_PER_ACRE) as never}},
    });
    await expect(runJobFile(path, finer)).rejects.toMatchObject({
      code: "recommend/no-test",
      message: expect.stringMatching(/^Unit "FTG\d+" has no soil test for P\.$/),
    });
  });
});

function withoutOverride(job: Job): Job {
  if (!job.rates) return job;
  const {acceptMethod: _, ...rates} = job.rates;
  return {...job, rates};
}

function expectPlansToTile(run: RunResult, strategies: readonly string[]): void {
  expect(run.strategies.map(({plan}) => plan.strategy)).toEqual(strategies);
  for (const {plan} of run.strategies) {
    // The frame's scale is true to 1e-6 over such fields.
    expect(Math.abs(sum(plan.units.map(({area}) => area)) / run.field.area - 1)).toBeLessThan(2e-6);
    for (const {cores} of plan.units) expect(cores.length).toBeGreaterThan(0);
  }
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
