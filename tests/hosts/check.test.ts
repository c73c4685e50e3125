import {writeFileSync} from "node:fs";
import {join} from "node:path";
import {beforeAll, describe, expect, test} from "vitest";
import {writeShapefile} from "../../src/formats/write-shapefile.ts";
import type {LonLatRing} from "../../src/geo/shapes.ts";
import {cli, scratch} from "./in-process.ts";
import {boundaryShapefile, polygonJson, RING} from "./small-job.ts";

const SAMPLE = new URL("../../sample-data/kiln-forty/", import.meta.url).pathname;

let out: string;

beforeAll(async () => {
  out = join(scratch(), "out");
  expect((await cli("run", join(SAMPLE, "job.json"), "--out", out, "--quiet")).code).toBe(0);
  const point = (kind: string, lat: number, name = ""): string =>
    `<${kind} lat="${lat}" lon="-86.39">${name}</${kind}>`;
  const track = `<trk><trkseg>${point("trkpt", 40.55)}${point("trkpt", 40.56)}</trkseg></trk>`;
  const walk = `<gpx version="1.1">${point("wpt", 40.55, "<name>KFG01</name>")}${track}</gpx>`;
  writeFileSync(join(out, "walk.gpx"), walk);
});

describe("check says what a file holds", () => {
  // Numbers beside the sample's README: 38 ac, 9,652 records, 9 soil polygons, heights of 242 to 245 m in 2 m cells.
  test.each<[string, () => string, RegExp[]]>([
    ["a boundary", () => `${SAMPLE}boundary.geojson`, [/1 Polygon/, /38\.0 ac \(15\.40 ha\)/, /all shapes are valid/]],
    [
      "a yield log",
      () => `${SAMPLE}yield-2023-corn.csv`,
      [
        /a table, by its headings a yield log: 9,652 rows, 11 columns/,
        /Flow \(lb\/s\): 9,652 filled, 0 to [\d.]+; taken for [^,]*flow/,
        /Header: .*text such as "down"/,
      ],
    ],
    [
      "a soil map",
      () => `${SAMPLE}soil.geojson`,
      [/9 Polygon/, /columns: unit, name, .*om_pct/, /all shapes are valid/],
    ],
    [
      "heights",
      () => `${SAMPLE}elevation.tif`,
      [/cells of 2 × 2 metres, EPSG:26916/, /values 24[12]\.\d{1,4} to 245\.\d{1,4}, unit/],
    ],
    [
      "a lab report",
      () => `${SAMPLE}lab-grid.csv`,
      [
        /by its headings a lab report: 15 rows/,
        /P M3-ICP \(ppm\): 15 filled, 14 to 65; taken for P in mg\/kg by mehlich-3 icp$/m,
      ],
    ],
    [
      "a walk",
      () => join(out, "walk.gpx"),
      [/1 waypoint called KFG01, 1 track of 2 points/, /from 40.55 to 40.56 degrees north/],
    ],
    ["a job", () => `${SAMPLE}job.json`, [/a job for Kiln Forty: whole-field, grid, zone/, /rates by tri-state-2020/]],
    ["zones", () => join(out, "zones.geojson"), [/3 MultiPolygon/, /38\.0 ac/, /all shapes are valid/]],
    ["cores", () => join(out, "plan-grid-cores.geojson"), [/150 Point/, /columns: sample, core/]],
    [
      "zipped rates",
      () => join(out, "rates-grid.zip"),
      [/rate MAP_\w+: 0\.0 to \d+\.0, mean/, /rate MOP_\w+:/, /15 polygons, 0 invalid, 0 overlaps/],
    ],
    ["rates of whole zones", () => join(out, "rates-zone.geojson"), [/0 invalid, 0 overlaps/]],
    ["the record of a run", () => join(out, "run.json"), [/run record/]],
  ])("of %s", async (_, path, says) => {
    const {code, stdout, stderr} = await cli("check", path());
    expect(code, stdout + stderr).toBe(0);
    expect(stderr).toBe("");
    expect(stdout.split("\n")[0]).toBe(path());
    for (const line of says) expect(stdout).toMatch(line);
    expect(stdout).not.toMatch(/undefined|NaN|Infinity|error:/);
  });

  test("of all of a run's files in one go, as JSON", async () => {
    const paths = ["zones.geojson", "rates-grid.geojson", "comparison.csv", "comparison.json"].map((f) => join(out, f));
    const {code, stdout, stderr} = await cli("check", "--json", ...paths);
    expect(code, stderr).toBe(0);
    const findings = JSON.parse(stdout);
    expect(findings.map(({file}: {file: string}) => file)).toEqual(paths);
    expect(findings[1].facts.rates.polygons).toBe(15);
  });
});

/** Strips of a hundredth of a degree side by side, each `wide` times its place; over 1 they overlap. */
function strips(rates: readonly number[], wide = 1): Uint8Array {
  const features = rates.map((rate, i) => {
    const [west, east] = [-86.4 + i * 0.002, -86.4 + (i + wide) * 0.002];
    const ring: LonLatRing = [
      [west, 40.55],
      [east, 40.55],
      [east, 40.552],
      [west, 40.552],
      [west, 40.55],
    ];
    return {geometry: {type: "Polygon" as const, coordinates: [ring]}, properties: {RATE: rate}};
  });
  return writeShapefile({name: "rates", features}, [{name: "RATE", type: "N", width: 10, decimals: 2}]).value.zip;
}

function save(bytes: Uint8Array | string, name: string): string {
  const path = join(scratch(), name);
  writeFileSync(path, bytes);
  return path;
}

describe("check ends with exit code 3 when a rate file would spread other than meant", () => {
  test("sound rates pass", async () => {
    const {code, stdout} = await cli("check", save(strips([150, 200, 250]), "rates.zip"));
    expect(stdout).toMatch(/rate RATE: 150\.0 to 250\.0, mean 200\.0/);
    expect(code).toBe(0);
  });

  test("two polygons over the same ground", async () => {
    const {code, stdout} = await cli("check", save(strips([150, 200], 1.2), "rates.zip"));
    expect(stdout).toMatch(/2 polygons, 0 invalid, 1 overlap\n/);
    expect(stdout).toMatch(/error: 1 pair of records share ground; the most, 1\.86 ac, are 1 and 2\./);
    expect(code).toBe(3);
  });

  test("200 lb/ac written as 22,417 mg/m²", async () => {
    const {code, stdout} = await cli("check", save(strips([22417, 22417]), "rates.zip"));
    expect(stdout).toMatch(
      /error: Column RATE has a mean of 22,417: too much for lb\/ac; it looks like mg\/m².*200 lb\/ac/,
    );
    expect(code).toBe(3);
  });

  test("lime in lb/ac is asked about but passes", async () => {
    const {code, stdout} = await cli("check", save(strips([4000, 6000]), "rates.zip"));
    expect(stdout).toMatch(/warning: Column RATE/);
    expect(code).toBe(0);
  });

  test("a rate below zero", async () => {
    const {code, stdout} = await cli("check", save(strips([100, -1]), "rates.zip"));
    expect(stdout).toMatch(/error: Column RATE goes down to −1: a rate cannot be below zero/);
    expect(code).toBe(3);
  });

  test("a boundary that crosses itself", async () => {
    const path = save(polygonJson([[RING[0], RING[2], RING[1], RING[3], RING[0]]]), "boundary.geojson");
    const {code, stdout} = await cli("check", path);
    expect(stdout).toMatch(/error: Shape 1 is not valid: self-intersection/);
    expect(code).toBe(3);
  });
});

describe("check tells what it cannot read and goes on with the next file", () => {
  test("in words", async () => {
    const bad = save("%PDF-1.7", "map.pdf");
    const {code, stdout, stderr} = await cli("check", bad, `${SAMPLE}boundary.geojson`, `${SAMPLE}boundry.geojson`);
    expect(code).toBe(3);
    expect(stderr).toMatch(/map\.pdf is a PDF/);
    expect(stderr).toMatch(/There is no file boundry\.geojson.*\nDid you mean boundary\.geojson\?/);
    expect(stderr).not.toContain("our fault");
    expect(stdout).toContain("38.0 ac");
  });

  test("for machines", async () => {
    const {code, stdout} = await cli("check", "--json", save("", "empty.csv"), `${SAMPLE}boundary.geojson`);
    expect(code).toBe(3);
    const [bad, good] = JSON.parse(stdout);
    expect(bad.error.code).toBe("file/empty");
    expect(good.kind).toBe("shapes");
  });

  test("a later check does not inherit the exit code of an earlier one", async () => {
    await cli("check", save("", "empty.csv"));
    expect((await cli("check", `${SAMPLE}boundary.geojson`)).code).toBe(0);
  });

  test("a loose shapefile is read with its members, and a missing coordinate system can be named", async () => {
    const folder = scratch();
    for (const [name, bytes] of boundaryShapefile())
      if (!name.endsWith(".prj")) writeFileSync(join(folder, name), bytes);
    const shp = join(folder, "boundary.shp");
    expect((await cli("check", shp)).code).toBe(3);
    const named = await cli("check", shp, "--crs", "EPSG:4326");
    expect(named.code, named.stderr).toBe(0);
    expect(named.stdout).toMatch(/1 Polygon/);
  });
});
