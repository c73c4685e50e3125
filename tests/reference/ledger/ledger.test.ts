import {execFileSync} from "node:child_process";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, beforeAll, describe, expect, test} from "vitest";
import type {ComparisonRow} from "../../../src/compare/comparison.ts";
import {runJobFile} from "../../jobs/run-job.ts";
import {systemPython} from "../gdal.ts";

// The ledger against a script that shares nothing with the product but the files it hands over.

const SCRIPT = new URL("rederive.py", import.meta.url).pathname;
/** Acres stand in the files to the millionth: over 70 polygons at 450 lb/ac that is at most 0.016 lb, as a rule 0.002. */
const LB = 0.01;
/** Half a cent, and what 0.01 lb cost. */
const CENT = 0.005 + 0.01 * 0.4;

interface Derived extends Pick<ComparisonRow, "samples" | "cores" | "samplingCost" | "totalCost"> {
  readonly acres: number;
  readonly products: readonly Record<"totalLb" | "meanLbPerAcre" | "nutrientLb" | "nitrogenLb" | "cost", number>[];
}

describe.each(["millrace", "kiln-forty"])("the ledger of %s", (name) => {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-ledger-"));
  const job = `sample-data/${name}/job.json`;
  let rows: readonly ComparisonRow[];
  let derived: Record<string, Derived>;

  beforeAll(async () => {
    const run = await runJobFile(job);
    for (const [file, bytes] of run.outputs) writeFileSync(join(folder, file), bytes);
    rows = run.comparison.rows;
    derived = JSON.parse(execFileSync(systemPython(), [SCRIPT, job, folder], {encoding: "utf8"}));
  });
  afterAll(() => rmSync(folder, {recursive: true, force: true}));

  test("has a row for every strategy that was handed over", () => {
    expect(rows.map(({strategy}) => strategy).sort()).toEqual(Object.keys(derived).sort());
  });

  test("comes out the same to the hundredth of a pound", () => {
    for (const row of rows) {
      row.products.forEach((line, p) => {
        const again = derived[row.strategy]?.products[p];
        for (const key of ["totalLb", "nutrientLb", "nitrogenLb", "meanLbPerAcre"] as const) {
          expect(
            Math.abs(line[key] - (again?.[key] ?? Number.NaN)),
            `${row.strategy} ${line.code} ${key}`,
          ).toBeLessThan(LB);
        }
      });
    }
  });

  test("comes out the same to the cent, and counts the same samples and cores", () => {
    for (const row of rows) {
      const again = derived[row.strategy] as Derived;
      expect([row.samples, row.cores]).toEqual([again.samples, again.cores]);
      row.products.forEach((line, p) => {
        expect(Math.abs((line.cost ?? Number.NaN) - (again.products[p]?.cost ?? 0))).toBeLessThan(CENT);
      });
      expect(Math.abs((row.samplingCost ?? Number.NaN) - (again.samplingCost ?? 0))).toBeLessThan(CENT);
      expect(Math.abs((row.totalCost ?? Number.NaN) - (again.totalCost ?? 0))).toBeLessThan(2 * CENT);
    }
  });
});
