import {copyFileSync, existsSync, readdirSync, readFileSync} from "node:fs";
import {join} from "node:path";
import {describe, expect, it} from "vitest";
import {readGeoTiff} from "../../src/formats/read-geotiff.ts";
import {readShapefile} from "../../src/formats/read-shapefile.ts";
import {cli, contents, scratch} from "./in-process.ts";
import {
  EAST,
  type Files,
  heights,
  type LooseJob,
  labCsv,
  layOut,
  NORTH,
  polygonJson,
  RING,
  SOUTH,
  smallJob,
  WEST,
  YIELD,
  yieldCsv,
} from "./small-job.ts";

const MIDDLE = (WEST + EAST) / 2;
const box = (west: number, south: number, east: number, north: number) => [
  [
    [west, south],
    [east, south],
    [east, north],
    [west, north],
    [west, south],
  ],
];
const west = {at: [WEST + 0.0003, SOUTH + 0.0006]};

async function zonedJob(zones: object = {count: 2}, more: (job: LooseJob) => void = () => {}): Promise<string> {
  const files: Files = {
    "boundary.geojson": polygonJson([RING]),
    "yield.csv": yieldCsv(),
    "heights.tif": await heights(),
    "lab.csv": labCsv(["WP-1"]),
    "drawn.geojson": JSON.stringify({
      type: "FeatureCollection",
      features: [
        {name: "Hill", rings: box(WEST, SOUTH, MIDDLE, NORTH)},
        {name: "Bottom", rings: box(MIDDLE, SOUTH, EAST, NORTH)},
      ].map(({name, rings}) => ({
        type: "Feature",
        properties: {name},
        geometry: {type: "Polygon", coordinates: rings},
      })),
    }),
    "edits.json": JSON.stringify([{edit: "rename", zone: west, name: "Sand"}]),
  };
  const job = smallJob();
  job.strategies = ["whole-field", "zone"];
  job.layers = {...job.layers, yield: [YIELD], elevation: {file: "heights.tif", unit: "m"}};
  job.zones = zones;
  delete job.lab;
  delete job.rates;
  more(job);
  return layOut(scratch(), job, files);
}

const jsonIn = (folder: string, name: string): LooseJob => JSON.parse(readFileSync(join(folder, name), "utf8"));

describe("loamwright zones", () => {
  it("prints what each zone is like and the verdict, and writes what it found", async () => {
    const job = await zonedJob();
    const out = join(scratch(), "zones");
    const {code, stdout, stderr} = await cli("zones", job, "--out", out);
    expect(code, stderr).toBe(0);
    expect(stdout).toMatch(/^Wren Patch: \d zones?\n/);
    expect(stdout).toContain("Mean and standard deviation in each zone");
    expect(stdout).toContain("Verdict\n\n");
    expect(readdirSync(out).sort()).toEqual(["zones-agreement.tif", "zones.geojson", "zones.json", "zones.zip"]);
    const record = jsonIn(out, "zones.json");
    expect(record.kind).toBe("zones");
    expect(record.judgement.verdict.length).toBeGreaterThan(0);
    expect(record.judgement.stability.agreement).toBeUndefined();
    const share = record.zones.reduce((sum: number, zone: {share: number}) => sum + zone.share, 0);
    expect(share).toBeCloseTo(1, 9);

    const zip = new Uint8Array(readFileSync(join(out, "zones.zip")));
    const read = readShapefile(new Map([["zones.zip", zip]]), "zones.zip").value;
    expect(read.features).toHaveLength(record.zones.length);
    expect(read.features[0]?.properties).toMatchObject({ZONE: 1, LABEL: "Zone 1"});
    const {value: raster} = await readGeoTiff(new Uint8Array(readFileSync(join(out, "zones-agreement.tif"))), "a.tif");
    for (const v of raster.values) expect(Number.isNaN(v) || (v >= 0 && v <= 1)).toBe(true);

    await cli("zones", job, "--out", `${out}-again`);
    expect(contents(`${out}-again`)).toEqual(contents(out));
  });

  it("prints for machines", async () => {
    const {code, stdout} = await cli("zones", await zonedJob(), "--json", "--quiet");
    expect(code).toBe(0);
    expect(Object.keys(JSON.parse(stdout))).toEqual(["field", "zones", "edits", "judgement", "issues"]);
  });

  it("chooses how many zones, and takes a number from the command line", async () => {
    const job = await zonedJob();
    const chosen = await cli("zones", job, "--k", "choose");
    expect(chosen.code, chosen.stderr).toBe(0);
    expect(chosen.stdout).toMatch(/How many zones/);
    expect(chosen.stdout).toMatch(/(Make \d zones:|Do not zone this field:)/);
    const one = await cli("zones", job, "--k", "1");
    expect(one.stdout).toMatch(/^Wren Patch: 1 zone\n/);
    expect(one.stdout).toContain("One zone is the whole field: there is nothing to judge.");
    const many = await cli("zones", job, "--k", "13");
    expect(many.code).toBe(3);
    expect(many.stderr).toContain('"13" is not a number of zones. Write 1 to 12'.split(". ")[0] as string);
  });

  it("prices a bag of the choice with its cores: 15 of them, as many as are asked for, or as an error wants", async () => {
    const perBag = async (zone: object, shared: object = {}): Promise<number[]> => {
      const job = await zonedJob({count: "choose", mostToTry: 3}, (own) => {
        own.prices = {lab: "10 $/sample", core: "0.50 $/core", year: 2026};
        own.sampling = {...own.sampling, ...shared, zone};
      });
      const {stdout, stderr, code} = await cli("zones", job, "--json");
      expect(code, stderr).toBe(0);
      const {rows} = JSON.parse(stdout).choice as {rows: {composites: number; cost: number}[]};
      return rows.map(({composites, cost}) => cost / composites);
    };
    expect(await perBag({})).toEqual([17.5, 17.5, 17.5]);
    expect(await perBag({cores: 8})).toEqual([14, 14, 14]);
    // Student's t finds 24 cores for ± 15 % at a spread of 35 %, as src/sampling/cores-needed.ts has it.
    expect(await perBag({}, {errorPct: 15})).toEqual([22, 22, 22]);
  });

  it("does not need the lab results that a job names for later", async () => {
    const job = await zonedJob({count: 2}, (own) => {
      own.lab = smallJob().lab;
      own.lab.files[0].file = "not-yet.csv";
    });
    const {code, stderr} = await cli("zones", job);
    expect(code, stderr).toBe(0);
  });

  it("makes the edits of a file, and those of the job", async () => {
    const fromFile = await cli("zones", await zonedJob({count: 2, edits: "edits.json"}));
    expect(fromFile.code, fromFile.stderr).toBe(0);
    expect(fromFile.stdout).toContain("1 of 1 edits made.");
    expect(fromFile.stdout).toMatch(/\d Sand /);
    const pin = {edit: "pin", polygon: box(MIDDLE, SOUTH, MIDDLE + 0.0004, SOUTH + 0.0004), name: "Old yard"};
    const {stdout} = await cli(
      "zones",
      await zonedJob({count: 2, edits: [pin, {edit: "rename", zone: {at: [0, 0]}, name: "x"}]}),
    );
    expect(stdout).toContain("Old yard");
    expect(stdout).toContain("1 of 2 edits made.\nEdit 2 (rename) was left out: its place is not in the field.");
  });

  it("takes edits from the command line instead", async () => {
    const job = await zonedJob();
    const {stdout, stderr} = await cli("zones", job, "--edits", join(job, "..", "edits.json"));
    expect(stdout, stderr).toContain("1 of 1 edits made.");
  });

  it("refuses edits that cannot be meant, naming each", async () => {
    const wrong = [{edit: "merge", zones: [west]}, {edit: "split", zone: west}, {edit: "paint"}];
    const {code, stderr} = await cli("zones", await zonedJob({count: 2, edits: wrong}));
    expect(code).toBe(3);
    expect(stderr).toContain("zones.edits.0.zones");
    expect(stderr).toContain("needs a line, or a number of parts, and not both.");
  });

  it("takes a zone map drawn elsewhere, and judges it by the seasons", async () => {
    const {code, stdout, stderr} = await cli("zones", await zonedJob({import: {file: "drawn.geojson", zone: "name"}}));
    expect(code, stderr).toBe(0);
    expect(stdout).toMatch(/1 Hill .*\n2 Bottom /);
    expect(stdout).toContain("kept back");
    const unnamed = await cli("zones", await zonedJob({import: {file: "drawn.geojson", zone: "kind"}}));
    expect(unnamed.code).toBe(3);
    expect(unnamed.stderr).toContain('Polygon 1 of drawn.geojson has no "kind".');
  });

  it("takes its own shapefile back as it was", async () => {
    const out = join(scratch(), "zones");
    await cli("zones", await zonedJob(), "--out", out);
    const before = jsonIn(out, "zones.json").zones.map(({area}: {area: number}) => area);
    const job = await zonedJob({import: {file: "back.zip", zone: "ZONE"}});
    copyFileSync(join(out, "zones.zip"), join(job, "..", "back.zip"));
    const again = join(scratch(), "again");
    const {code, stderr} = await cli("zones", job, "--out", again);
    expect(code, stderr).toBe(0);
    const after = jsonIn(again, "zones.json").zones.map(({area}: {area: number}) => area);
    // Nine decimals of a degree are 0.1 mm.
    expect(after).toEqual(before.map((area: number) => expect.closeTo(area, 0)));
  });

  it("refuses a job without layers", async () => {
    const {code, stderr} = await cli(
      "zones",
      await zonedJob({}, (job) => {
        job.layers = {cellSize: "10 m"};
      }),
    );
    expect(code).toBe(3);
    expect(stderr).toContain("There are no layers to make zones from.");
  });
});

describe("loamwright run", () => {
  it("judges zones where the job asks for it, and records the verdict", async () => {
    const out = join(scratch(), "out");
    const job = await zonedJob({count: 2, judge: true, edits: "edits.json"});
    const {code, stdout, stderr} = await cli("run", job, "--out", out, "--json");
    expect(code, stderr).toBe(0);
    const {verdict} = jsonIn(out, "zones.json").judgement;
    expect(JSON.parse(stdout).zoneVerdict).toEqual(verdict);
    const record = jsonIn(out, "run.json");
    expect(record.zones.judgement.verdict).toEqual(verdict);
    expect(record.zones.edits).toEqual([{number: 1, edit: "rename", applied: true}]);
    expect(Object.keys(record.inputs)).toContain("edits.json");
    expect(Object.keys(record.outputs)).toContain("zones.json");
  });

  it("writes no judgement where the job does not ask", async () => {
    const out = join(scratch(), "out");
    const {code, stderr} = await cli("run", await zonedJob(), "--out", out);
    expect(code, stderr).toBe(0);
    expect(existsSync(join(out, "zones.json"))).toBe(false);
    expect(jsonIn(out, "run.json").zones).toBeUndefined();
  });
});
