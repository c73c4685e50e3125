import {readdirSync, readFileSync} from "node:fs";
import {join} from "node:path";
import {describe, expect, test} from "vitest";
import {cli, contents, scratch} from "./in-process.ts";
import {
  EAST,
  type Files,
  type LooseJob,
  labCsv,
  layOut,
  NORTH,
  polygonJson,
  RING,
  SOUTH,
  smallJob,
  WEST,
} from "./small-job.ts";

const IDS = ["WPW01", "WPG01", "WPG02"];
const CENT = 0.005;

function lay(change: (job: LooseJob) => void = () => {}, files: Files = {}): string {
  const job = smallJob();
  job.prices = {year: 2026, lab: "12 $/sample", core: "0.50 $/core", yearsServed: 4, crops: {corn: "4.20 $/bu"}};
  change(job);
  return layOut(scratch(), job, {"boundary.geojson": polygonJson([RING]), "lab.csv": labCsv(IDS), ...files});
}

const comparisonOf = async (job: string): Promise<LooseJob> => {
  const {code, stdout, stderr} = await cli("compare", job, "--json", "--quiet");
  expect(code, stderr).toBe(0);
  return JSON.parse(stdout);
};

/** Composites thrown over the field, with where each was taken. */
const holdOuts = (count: number, p: (i: number) => number): string =>
  [
    "id,lon,lat,P,K,CEC",
    ...Array.from({length: count}, (_, i) => {
      const lon = WEST + ((EAST - WEST) * (0.5 + (i % 4))) / 4;
      const lat = SOUTH + ((NORTH - SOUTH) * (0.5 + Math.floor(i / 4))) / Math.ceil(count / 4);
      return `H${i},${lon},${lat},${p(i)},${120 + i},12`;
    }),
  ].join("\n");

const HOLD_OUTS = {
  files: [{file: "hold.csv", sampleId: "id", x: "lon", y: "lat", analytes: smallJob().lab.files[0].analytes}],
};

describe("loamwright compare", () => {
  test("prints the ledger with intervals and how sure it all is", async () => {
    const {code, stdout} = await cli("compare", lay(), "--quiet");
    expect(code).toBe(0);
    for (const part of ["How sure", "90 %", "interval"]) expect(stdout).toContain(part);
    expect(stdout).not.toContain("loamwright compare");
  });

  test("agrees with the ledger of a run to the pound and the cent", async () => {
    const job = lay();
    const {comparison, certainty, money} = await comparisonOf(job);
    const out = join(scratch(), "out");
    await cli("run", job, "--out", out, "--quiet");
    const ran = JSON.parse(readFileSync(join(out, "comparison.json"), "utf8")).comparison;
    comparison.rows.forEach((row: LooseJob, s: number) => {
      row.products.forEach((line: LooseJob, p: number) => {
        expect(Math.abs(line.totalLb - ran.rows[s].products[p].totalLb)).toBeLessThan(0.001);
        expect(Math.abs(line.totalLb - certainty.strategies[s].products[p].totalLb)).toBeLessThan(0.01);
      });
      const sampling = money.strategies[s].lines.filter(({group}: LooseJob) => group === "sampling");
      const paid = sampling.reduce((sum: number, one: LooseJob) => sum + one.dollars, 0);
      expect(Math.abs(paid - row.samplingCost)).toBeLessThan(CENT);
      const product = money.strategies[s].lines.filter(({group}: LooseJob) => group === "product");
      const dollars = product.reduce((sum: number, one: LooseJob) => sum + one.dollars, 0);
      expect(Math.abs(dollars - row.productCost)).toBeLessThan(CENT);
    });
  });

  test("counts second bags and the crew's hours in the ledger as beside it", async () => {
    const dear = await comparisonOf(
      lay(
        (job) => {
          job.sampling.grid.duplicates = 1;
          job.prices.labour = "40 $/hour";
          job.rates.missing = "zero";
        },
        {"lab.csv": labCsv([...IDS, "WPG03"])},
      ),
    );
    const grid = dear.comparison.rows.find(({strategy}: LooseJob) => strategy === "grid");
    expect(grid.samples).toBe(3);
    const lines = dear.money.strategies.find(({strategy}: LooseJob) => strategy === "grid").lines;
    const paid = lines.filter(({group}: LooseJob) => group === "sampling");
    expect(paid.reduce((sum: number, one: LooseJob) => sum + one.dollars, 0)).toBeCloseTo(grid.samplingCost, 6);
    expect(grid.samplingCost).toBeGreaterThan(3 * 12 + 0.5 * grid.cores);
  });

  test("says under the ledger which ground counts as nothing spread for want of results", async () => {
    const job = lay((settings) => (settings.rates.missing = "zero"), {"lab.csv": labCsv(IDS.slice(0, 2))});
    const {comparison} = await comparisonOf(job);
    expect(comparison.notes.join(" ")).toMatch(/WPG02 of the grid plan, [\d.]+ ac, has no rate of P2O5 and K2O/);
  });

  test("asks what finer sampling pays only with prices of crops, and says so without", async () => {
    const priced = await comparisonOf(lay());
    expect(priced.pay.prices.length).toBe(9);
    const bare = await comparisonOf(
      lay((job) => (job.prices.crops = {}), {
        "lab.csv": "Sample,P,K,CEC\nWPW01,30,150,12\nWPG01,6,80,12\nWPG02,60,220,13\n",
      }),
    );
    expect(bare.pay).toBeUndefined();
    expect(bare.advice.headline).toContain("takes prices of product and crops");
    const mixed = await cli(
      "compare",
      lay((job) => (job.prices.crops = {corn: "150 $/ton"})),
      "--quiet",
    );
    expect([mixed.code, mixed.stderr]).toEqual([3, expect.stringContaining("in $/ton, its yield goal in bu/ac")]);
  });

  test("judges the strategies by hold-outs, and ranks none of them by fewer than ten", async () => {
    const few = await comparisonOf(
      lay((job) => (job.compare = {holdOuts: HOLD_OUTS}), {"hold.csv": holdOuts(8, (i) => 20 + i)}),
    );
    expect(few.holdOuts.map(({what, ranked}: LooseJob) => [what, ranked])).toEqual([
      ["soil-test P", false],
      ["soil-test K", false],
    ]);
    const enough = await comparisonOf(
      lay((job) => (job.compare = {holdOuts: HOLD_OUTS}), {"hold.csv": holdOuts(12, () => 18)}),
    );
    // The whole-field composite reads 18, the hold-outs read 18 everywhere: whole field has no error at all.
    const whole = enough.holdOuts[0].strategies.find(({strategy}: LooseJob) => strategy === "whole-field");
    expect([whole.count, whole.rootMeanSquareError]).toEqual([12, 0]);
  });

  test("refuses hold-outs that nobody knows the place of", async () => {
    const files = [{file: "hold.csv", sampleId: "id", analytes: smallJob().lab.files[0].analytes}];
    const job = lay((settings) => (settings.compare = {holdOuts: {files}}), {"hold.csv": holdOuts(10, () => 20)});
    const {code, stderr} = await cli("compare", job, "--quiet");
    expect([code, stderr]).toEqual([3, expect.stringContaining('where hold-out sample "H0" was taken')]);
  });

  test("refuses hold-outs in another unit or by another method, and converts lb/ac when asked", async () => {
    const withForm = (form: LooseJob, toPpm = false) =>
      lay(
        (job) => {
          job.lab.toPpm = toPpm;
          const [p, ...others] = HOLD_OUTS.files[0]?.analytes ?? [];
          job.compare = {holdOuts: {files: [{...HOLD_OUTS.files[0], analytes: [{...p, ...form}, ...others]}]}};
        },
        {"hold.csv": holdOuts(12, () => 36)},
      );
    const pounds = await cli("compare", withForm({unit: "lb/ac"}), "--quiet");
    expect(pounds.code).toBe(3);
    for (const part of ["is in lb/ac, that of the plans in ppm", 'hold.csv, row 2, column "P"', '"toPpm": true'])
      expect(pounds.stderr).toContain(part);
    const bray = await cli("compare", withForm({method: "bray-1"}), "--quiet");
    expect([bray.code, bray.stderr]).toEqual([3, expect.stringContaining("measured by bray-1")]);
    // 36 lb/ac are 18 ppm, what the whole field reads.
    const converted = await comparisonOf(withForm({unit: "lb/ac"}, true));
    const whole = converted.holdOuts[0].strategies.find(({strategy}: LooseJob) => strategy === "whole-field");
    expect([whole.count, whole.rootMeanSquareError]).toEqual([12, 0]);
  });

  test("knows the places of its own validation bags, in the lab report or in a file of theirs", async () => {
    const bags = Array.from({length: 10}, (_, i) => `WPV${String(i + 1).padStart(2, "0")}`);
    const rows = bags.map((id, i) => `${id},${20 + i},${120 + i},12`).join("\n");
    const planned = (job: LooseJob) => {
      job.sampling.validation = {count: 10};
    };
    const inReport = lay(planned, {"lab.csv": `${labCsv(IDS)}\n${rows}`});
    const [found, told] = [await comparisonOf(inReport), await cli("compare", inReport)];
    expect(found.holdOuts.map(({what, count}: LooseJob) => [what, count])).toEqual([
      ["soil-test P", 10],
      ["soil-test K", 10],
    ]);
    expect(told.stderr).not.toContain("is in no plan");
    const own = await comparisonOf(
      lay(
        (job) => {
          planned(job);
          job.compare = {holdOuts: {files: [{...job.lab.files[0], file: "bags.csv"}]}};
        },
        {"bags.csv": `Sample,P,K,CEC\n${rows}`},
      ),
    );
    expect(own.holdOuts).toEqual(found.holdOuts);
  });

  test("says which hold-outs were left out, and why", async () => {
    const bags = Array.from({length: 10}, (_, i) => `WPV${String(i + 1).padStart(2, "0")},${i === 3 ? "" : 20},120,12`);
    const job = lay(
      (settings) => {
        settings.sampling.validation = {count: 10};
        settings.rates.missing = "zero";
      },
      {"lab.csv": `${labCsv(["WPW01", "WPG01"])}\n${bags.join("\n")}`},
    );
    const {code, stderr} = await cli("compare", job);
    expect(code, stderr).toBe(0);
    const said = stderr.split("\n").find((line) => line.includes("Hold-outs that were left out")) ?? "";
    expect(said).toMatch(/WPV\d\d lies in WPG02, which has no result of P and K;/);
    expect(said).toContain("WPV04 has no result of P");
  });

  test("takes the noise of cores and lab from the job", async () => {
    const still = await comparisonOf(
      lay((job) => (job.compare = {noise: {P: {core: 0, lab: 0}, K: {core: 0, lab: 0}, CEC: {core: 0, lab: 0}}})),
    );
    for (const {products} of still.certainty.strategies) {
      for (const {totalLb, totalLbInterval} of products) {
        expect(Math.abs(totalLbInterval.high - totalLbInterval.low)).toBeLessThan(1e-6 * Math.max(1, totalLb));
      }
    }
  });

  test("runs other guides on the same results, and tells which refuse", async () => {
    const {guides} = await comparisonOf(lay((job) => (job.compare = {otherGuides: ["tri-state-1995", "iowa-2013"]})));
    const refused = guides.filter((row: LooseJob) => row.refused !== undefined);
    expect(guides.some((row: LooseJob) => row.totalLb !== undefined)).toBe(true);
    for (const row of refused) expect(row.refused.length).toBeGreaterThan(20);
  });

  test("gives the same figures for the same seed", async () => {
    const job = lay();
    expect(await comparisonOf(job)).toEqual(await comparisonOf(job));
  });
});

describe("loamwright report", () => {
  test("writes both pages and every table, all of them or none", async () => {
    const out = join(scratch(), "out");
    const {code, stderr} = await cli("report", lay(), "--out", out, "--date", "14 April 2026");
    expect(code, stderr).toBe(0);
    const files = readdirSync(out);
    expect(files).toEqual(
      expect.arrayContaining(["field-report.html", "record.html", "tables.json", "table-money.csv"]),
    );
    const page = readFileSync(join(out, "field-report.html"), "utf8");
    for (const part of ["Wren Patch", "14 April 2026", "licensed or certified adviser"]) expect(page).toContain(part);
    // Nothing is fetched: the page works without a network.
    expect(page).not.toMatch(/(src|href)="https?:/);
  });

  test("gives the same bytes again, and refuses a paper it does not know", async () => {
    const job = lay();
    const [one, two] = [join(scratch(), "a"), join(scratch(), "b")];
    await cli("report", job, "--out", one, "--quiet");
    await cli("report", job, "--out", two, "--quiet");
    expect(contents(one)).toEqual(contents(two));
    const {code, stderr} = await cli("report", job, "--out", one, "--paper", "legal");
    expect([code, stderr]).toEqual([3, expect.stringContaining('"legal" is not a size of paper')]);
  });
});
