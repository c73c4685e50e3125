import {readdirSync, readFileSync} from "node:fs";
import {join} from "node:path";
import {describe, expect, test} from "vitest";
import {cli, scratch} from "./in-process.ts";
import {EAST, type LooseJob, layOut, NORTH, polygonJson, RING, SOUTH, smallJob, WEST} from "./small-job.ts";

// One field of some 50 acres in twenty grid cells, with what a machine, a ditch and a mix ask for.

const GRID = Array.from({length: 20}, (_, i) => `WPG${String(i + 1).padStart(2, "0")}`);
const WIDE: typeof RING = RING.map(([lon, lat]) => [WEST + 3 * (lon - WEST), SOUTH + 3.1 * (lat - SOUTH)]);
const east = WEST + 3 * (EAST - WEST);
const north = SOUTH + 3.1 * (NORTH - SOUTH);

/** P and K that fall from west to east, so that rates differ. */
const lab = [
  "Sample,P,K,CEC,pH",
  ...["WPW01", "WPW02", "WPW03", ...GRID].map(
    (id, i) => `${id},${12 + ((7 * i) % 40)},${90 + ((17 * i) % 90)},14,${5.6 + (i % 5) / 5}`,
  ),
].join("\n");

const DITCH = JSON.stringify({
  type: "FeatureCollection",
  features: [
    {
      type: "Feature",
      properties: {kind: "ditch"},
      geometry: {
        type: "LineString",
        coordinates: [
          [WEST, SOUTH],
          [east, north],
        ],
      },
    },
    {type: "Feature", properties: {kind: "gate"}, geometry: {type: "Point", coordinates: [WEST, north]}},
  ],
});

const ditch = {
  file: "ditch.geojson",
  only: [{column: "kind", is: "ditch"}],
  name: "Mill ditch",
  kind: "ditch",
  distance: "35 ft",
  rate: "zero",
};

function lay(...changes: ((job: LooseJob) => void)[]): string {
  const job = smallJob();
  job.lab.files[0].analytes.push({analyte: "pH", column: "pH", unit: "pH", method: "water 1:1"});
  job.machine = {step: "5 lb/ac", min: "40 lb/ac", max: "400 lb/ac"};
  job.prices = {year: 2026, crops: {corn: "4.20 $/bu"}};
  for (const change of changes) change(job);
  return layOut(scratch(), job, {
    "boundary.geojson": polygonJson([WIDE]),
    "lab.csv": lab,
    "ditch.geojson": DITCH,
  });
}

async function run(job: string) {
  const out = join(scratch(), "out");
  const {code, stdout, stderr} = await cli("run", job, "--out", out);
  if (code !== 0) throw new Error(stderr);
  const json = (name: string): LooseJob => JSON.parse(readFileSync(join(out, name), "utf8"));
  return {stdout, stderr, json, files: readdirSync(out), record: json("run.json")};
}

const rates = (file: LooseJob, column: string): number[] => file.features.map((f: LooseJob) => f.properties[column]);
const issues = (record: LooseJob, code: string): LooseJob[] =>
  record.issues.filter((one: LooseJob) => one.code === code);
const grid = (record: LooseJob, product = "11-52-0"): LooseJob =>
  record.prescriptions.find((one: LooseJob) => one.strategy === "grid" && one.product === product);

/** Every total of the ledger, and the same from the rates asked again. */
async function bothTotals(job: string): Promise<[number, number][]> {
  const {code, stdout, stderr} = await cli("compare", job, "--json", "--quiet");
  expect(code, stderr).toBe(0);
  const {comparison, certainty} = JSON.parse(stdout);
  return comparison.rows.flatMap((row: LooseJob, s: number) =>
    certainty.strategies[s].products.map((again: LooseJob, p: number) => [row.products[p].totalLb, again.totalLb]),
  );
}

describe("a job without machine settings", () => {
  test("has one polygon for each unit, and no record of levels, merging or setbacks", async () => {
    const {json, record, files} = await run(lay());
    expect(json("rates-grid.geojson").features).toHaveLength(20);
    expect(record.prescriptions).toBeUndefined();
    expect(files.filter((name) => name.startsWith("rates-"))).toEqual([
      "rates-grid.geojson",
      "rates-grid.zip",
      "rates-whole-field.geojson",
      "rates-whole-field.zip",
    ]);
  });
});

describe("a ditch through the field", () => {
  test("is cut out as polygons at zero, counted, and marked to be checked", async () => {
    const {json, record} = await run(lay((job) => Object.assign(job, {setbacks: [ditch]})));
    const file = json("rates-grid.geojson");
    const held = file.features.filter((f: LooseJob) => f.properties.UNIT.startsWith("SETBACK1"));
    expect(held.length).toBeGreaterThan(0);
    for (const {properties} of held) expect([properties.MAP_LBAC, properties.MOP_LBAC]).toEqual([0, 0]);
    const acres = held.reduce((sum: number, f: LooseJob) => sum + f.properties.ACRES, 0);
    const [taken] = grid(record).setbacks;
    expect(taken.acres).toBeCloseTo(acres, 4);
    // The ditch is the field's diagonal: 70 ft wide on about 2,120 ft, less its ends.
    expect(acres).toBeGreaterThan(2.5);
    expect(acres).toBeLessThan((70 * 2200) / 43_560);
    expect(taken.openLb).toBeGreaterThan(0);
    expect(issues(record, "prescription/setback")[0]).toMatchObject({
      hint: expect.stringContaining("Check local code"),
    });
    const whole = file.features.reduce((sum: number, f: LooseJob) => sum + f.properties.ACRES, 0);
    expect(whole).toBeCloseTo(record.field.areaM2 / 4046.8564224, 3);
  });

  test("that is off takes nothing out, and that is said", async () => {
    const {record, json} = await run(lay((job) => Object.assign(job, {setbacks: [{...ditch, on: false}]})));
    expect(issues(record, "setback/off")).toHaveLength(1);
    expect(json("rates-grid.geojson").features).toHaveLength(20);
  });

  test("that names no product of the job is refused", async () => {
    const job = lay((job) => Object.assign(job, {setbacks: [{...ditch, products: ["46-0-0"]}]}));
    const {code, stderr} = await cli("run", job, "--out", join(scratch(), "out"));
    expect([code, stderr]).toEqual([3, expect.stringContaining('names "46-0-0"')]);
  });

  test("that is not in its file is refused", async () => {
    const job = lay((job) => Object.assign(job, {setbacks: [{...ditch, only: [{column: "kind", is: "moat"}]}]}));
    const {code, stderr} = await cli("run", job, "--out", join(scratch(), "out"));
    expect([code, stderr]).toEqual([3, expect.stringContaining("holds no shape")]);
  });
});

const everything = (job: LooseJob): void => {
  job.setbacks = [ditch, {...ditch, name: "Wider", distance: "100 ft", rate: {share: 0.5}, products: ["11-52-0"]}];
  Object.assign(job.machine, {levels: 4, merge: {within: "20 lb/ac"}, swath: "80 ft", load: "6 ton", maxCorners: 4000});
};

const separate = (job: LooseJob): void => {
  job.machine.files = "separate";
};

describe("a machine with its limits", () => {
  test("gets no more rates than it takes, in polygons it can treat, with loads counted", async () => {
    const {json, record} = await run(lay(everything));
    const {levels, merging, loads, totalLb, shiftedBy} = grid(record);
    const open = json("rates-grid.geojson").features.filter((f: LooseJob) => !f.properties.UNIT.startsWith("SETBACK"));
    expect(new Set(rates({features: open}, "MAP_LBAC")).size).toBeLessThanOrEqual(4);
    expect(levels.length).toBeLessThanOrEqual(4);
    expect(open.length).toBeLessThan(20 + 15);
    expect(merging.leastWidthM).toBeCloseTo((15 * 1609.344 * 4) / 3600, 6);
    expect((loads.count - 1) * 12_000 + loads.lastLb).toBeCloseTo(totalLb, 6);
    expect(Object.keys(shiftedBy)).toEqual([
      "roundingLb",
      "minimumLb",
      "maximumLb",
      "levelsLb",
      "setbacksLb",
      "mergingLb",
    ]);
  });

  test("products by themselves have files by themselves", async () => {
    const {files, json} = await run(lay(everything, separate));
    expect(files).toEqual(expect.arrayContaining(["rates-grid.geojson", "rates-grid-mop.geojson"]));
    const unitsIn = (name: string): string[] => json(name).features.map((f: LooseJob) => f.properties.UNIT);
    expect(unitsIn("rates-grid-mop.geojson")).not.toEqual(unitsIn("rates-grid.geojson"));
  });
});

describe("a mix", () => {
  const mix = (job: LooseJob): void => {
    job.rates.blend = {nitrogen: "0.50 $/lb"};
    job.products.splice(1, 0, {analysis: "18-46-0", nutrient: "P2O5", price: "700 $/ton"});
  };

  test("takes the cheaper phosphate everywhere and says what it leaves out", async () => {
    const {json, record} = await run(lay(mix));
    const file = json("rates-grid.geojson");
    expect(new Set(rates(file, "MAP_LBAC"))).toEqual(new Set([0]));
    expect(rates(file, "DAP_LBAC").some((rate) => rate > 0)).toBe(true);
    expect(issues(record, "blend/not-used")[0].message).toContain("no 11-52-0");
  });

  test("without a mix, two products for one nutrient are warned of", async () => {
    const {record} = await run(lay(mix, (job) => delete job.rates.blend));
    expect(issues(record, "prescription/nutrient-twice")[0].message).toContain(
      "18-46-0 is prescribed for P2O5 in full",
    );
  });
});

describe("lime", () => {
  const lime = (job: LooseJob): void => {
    job.lime = {method: "pennsylvania", targetPh: 6.5, acidityMeq: 3, material: {name: "ground limestone", ccePct: 90}};
    job.machine.lime = {price: "25 $/ton", load: "20 ton"};
  };

  test("is a prescription in a file of its own, and a line of the ledger", async () => {
    const {json, record, stdout} = await run(lay(lime));
    const file = json("rates-grid-lime.geojson");
    expect(rates(file, "LIME_LBAC").every((rate) => rate === 0 || (rate >= 1000 && rate % 100 === 0))).toBe(true);
    const tons = new Map(record.lime.map((one: LooseJob) => [one.unit, one.tonPerAcre]));
    for (const {properties} of file.features) {
      const asked = 2000 * (tons.get(properties.UNIT) as number);
      if (properties.LIME_LBAC > 0) expect(Math.abs(properties.LIME_LBAC - asked)).toBeLessThanOrEqual(50);
    }
    expect(stdout).toContain("lime (LIME)");
    expect(grid(record, "lime").loads.lbPerLoad).toBe(40_000);
  });

  test("needs to be named, and is spread without fertilizer as well", async () => {
    const nameless = lay(lime, (job) => delete job.lime.material);
    expect(await cli("run", nameless, "--out", join(scratch(), "out"))).toMatchObject({
      code: 3,
      stderr: expect.stringContaining("nothing says which"),
    });
    const {files} = await run(lay(lime, (job) => Object.assign(job, {rates: undefined, products: []})));
    expect(files).toContain("rates-grid.geojson");
  });
});

describe("rates between samples", () => {
  const between = (job: LooseJob): void => {
    job.rates.between = "interpolated";
  };

  test("follow interpolated tests on the grid plan, and say by what method and how sure", async () => {
    const {json, record} = await run(lay(between));
    expect(json("rates-grid.geojson").features.every((f: LooseJob) => /^R\d+$/.test(f.properties.UNIT))).toBe(true);
    const [said] = issues(record, "rates/interpolated");
    expect(said.message).toMatch(
      /^Rates of P2O5 follow soil-test P, interpolated by (kriging|inverse distance|nearest|mean): /,
    );
    expect(json("rates-whole-field.geojson").features).toHaveLength(1);
  });

  test("cannot know what is set for single units", async () => {
    const job = lay(between, (job) => Object.assign(job.rates.crops[0], {byUnit: {WPG01: "150 bu/ac"}}));
    expect(await cli("run", job, "--out", join(scratch(), "out"))).toMatchObject({
      code: 3,
      stderr: expect.stringContaining("for single units"),
    });
  });
});

describe("the ledger and its intervals", () => {
  const cases: [string, (job: LooseJob) => void][] = [
    ["levels, merging, setbacks and corners", () => {}],
    ["a mix with all of that", (job) => Object.assign(job.rates, {blend: true})],
    ["interpolated rates with all of that", (job) => Object.assign(job.rates, {between: "interpolated"})],
    ["products by themselves", separate],
  ];
  for (const [what, change] of cases) {
    test(`tell the same total with ${what}`, async () => {
      for (const [ledger, again] of await bothTotals(lay(everything, change)))
        expect(Math.abs(ledger - again)).toBeLessThan(0.01);
    });
  }
});
