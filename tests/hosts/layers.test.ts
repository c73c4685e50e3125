import {readFileSync} from "node:fs";
import {join} from "node:path";
import {describe, expect, test} from "vitest";
import {readGeoTiff} from "../../src/formats/read-geotiff.ts";
import {cli, contents, scratch} from "./in-process.ts";
import {heights, layOut, polygonJson, RING, SOUTH, smallJob, WEST, YIELD, yieldCsv} from "./small-job.ts";

const POINTS = [
  "lon,lat,ec",
  ...Array.from({length: 30}, (_, i) => {
    const [col, row] = [i % 6, Math.floor(i / 6)];
    return `${(WEST + 0.0002 + col * 0.0003).toFixed(7)},${(SOUTH + 0.0001 + row * 0.00025).toFixed(7)},${20 + col}`;
  }),
].join("\n");

async function jobWithEverything(folder: string, change: (job: ReturnType<typeof smallJob>) => void = () => {}) {
  const {lab: _lab, ...job} = smallJob();
  job.layers = {
    cellSize: "10 m",
    yield: [YIELD],
    soilMap: {
      file: "soil.geojson",
      class: "mukey",
      numeric: [{column: "om", label: "Organic matter", unit: "%"}],
      tables: [{file: "components.csv", on: "mukey", key: "key", share: "pct", columns: ["key", "pct", "om"]}],
    },
    elevation: {file: "heights.tif", unit: "m"},
    rasters: [{file: "heights.tif", label: "Conductivity", unit: "mS/m"}],
    points: [
      {file: "ec.csv", x: "lon", y: "lat", column: "ec", label: "Deep conductivity", unit: "mS/m", theme: "soil"},
    ],
  };
  change(job);
  return layOut(folder, job, {
    "boundary.geojson": polygonJson([RING]),
    "yield.csv": yieldCsv(),
    "soil.geojson": polygonJson([RING], {mukey: 11}),
    "components.csv": "11|80|3\n11|20|5\n".replaceAll("|", ","),
    "heights.tif": await heights(),
    "ec.csv": POINTS,
  });
}

describe("loamwright layers", () => {
  test("makes every layer of the job and prints what each holds", async () => {
    const folder = scratch();
    const {code, stdout, stderr} = await cli("layers", await jobWithEverything(folder), "--out", join(folder, "out"));
    expect(code, stderr).toBe(0);
    for (const label of ["Organic matter", "Conductivity", "Deep conductivity", "Slope"])
      expect(stdout).toContain(label);
    expect(stdout).toContain("Rank correlation");
    const files = Object.keys(contents(join(folder, "out")));
    expect(files).toContain("layers.json");
    expect(files).toContain("layer-deep-conductivity.tif");
  });

  test("writes GeoTIFF files that hold the values of the audit", async () => {
    const folder = scratch();
    await cli("layers", await jobWithEverything(folder), "--out", join(folder, "out"), "--quiet");
    const record = JSON.parse(readFileSync(join(folder, "out", "layers.json"), "utf8"));
    const bytes = new Uint8Array(readFileSync(join(folder, "out", "layer-soil-om.tif")));
    const {value} = await readGeoTiff(bytes, "layer-soil-om.tif");
    const known = [...value.values].filter((v) => !Number.isNaN(v));
    // 80 % with 3 and 20 % with 5 is 3.4 everywhere; the file holds 32-bit floats.
    expect(known.every((v) => Math.abs(v - 3.4) < 1e-6)).toBe(true);
    const shares = Object.values(record.shareOfDistancePct) as number[];
    expect(shares.reduce((sum, share) => sum + share, 0)).toBeCloseTo(100, 6);
    const om = record.layers.find(({id}: {id: string}) => id === "soil-om");
    expect(om.spread.count).toBe(known.length);
  });

  test("prints JSON for machines", async () => {
    const {code, stdout} = await cli("layers", await jobWithEverything(scratch()), "--json", "--quiet");
    expect(code).toBe(0);
    const found = JSON.parse(stdout);
    expect(found.layers.map(({id}: {id: string}) => id)).toContain("conductivity");
    expect(found.correlation.ids).not.toContain("soil-unit");
  });

  test("refuses a job without layers, points without columns and one label twice", async () => {
    const none = await cli("layers", await jobWithEverything(scratch(), (job) => (job.layers = {})));
    expect([none.code, none.stderr]).toEqual([3, expect.stringContaining("names nothing to make layers from")]);
    const columns = await cli("layers", await jobWithEverything(scratch(), (job) => delete job.layers.points[0].x));
    expect([columns.code, columns.stderr]).toEqual([3, expect.stringContaining("hold positions are not named")]);
    const twice = await cli(
      "layers",
      await jobWithEverything(scratch(), (job) => (job.layers.points[0].label = "Conductivity")),
    );
    expect([twice.code, twice.stderr]).toEqual([3, expect.stringContaining("Two layers of the job are called")]);
  });
});
