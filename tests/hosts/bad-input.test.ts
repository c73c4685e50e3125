import {existsSync, mkdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {beforeAll, describe, expect, test} from "vitest";
import {encodeUtf8} from "../../src/formats/text.ts";
import {zip} from "../../src/formats/zip.ts";
import {cli, contents, scratch} from "./in-process.ts";
import {
  boundaryShapefile,
  type Files,
  heights,
  type LooseJob,
  labCsv,
  layOut,
  polygonJson,
  RING,
  smallJob,
  YIELD,
  yieldCsv,
} from "./small-job.ts";

// Every way of going wrong that a job meets: each ends with the exit code of bad input and one sentence that names
// what is wrong, and leaves nothing behind.

let good: Files;
let ids: string[];

beforeAll(async () => {
  const folder = scratch();
  const {lab: _lab, rates: _rates, products: _products, ...planOnly} = smallJob();
  const job = layOut(folder, planOnly, {"boundary.geojson": polygonJson([RING])});
  const {code, stderr} = await cli("run", job, "--out", join(folder, "out"));
  expect(code, stderr).toBe(0);
  ids = ["whole-field", "grid"].flatMap((strategy) => {
    const units = JSON.parse(readFileSync(join(folder, "out", `plan-${strategy}-units.geojson`), "utf8"));
    return units.features.map(({properties}: {properties: Record<string, string>}) => properties.sample as string);
  });
  good = {
    "boundary.geojson": polygonJson([RING]),
    "lab.csv": labCsv(ids),
    "yield.csv": yieldCsv(),
    "soil.geojson": polygonJson([RING], {unit: "Ab1", om: 2.4}),
    "elevation.tif": await heights(),
  };
});

interface Wrong {
  readonly what: string;
  /** What the first line on stderr must say. */
  readonly says: RegExp;
  readonly job?: (job: LooseJob) => unknown;
  readonly files?: () => Files | Promise<Files>;
}

const withYield =
  (change: object = {}) =>
  (job: LooseJob): void => {
    job.layers.yield = [{...YIELD, ...change}];
  };
const withSoil =
  (change: object = {}) =>
  (job: LooseJob): void => {
    job.layers.soilMap = {file: "soil.geojson", class: "unit", ...change};
  };
const withElevation =
  (change: object = {}) =>
  (job: LooseJob): void => {
    job.layers.elevation = {file: "elevation.tif", unit: "m", ...change};
  };
const boundaryFrom =
  (file: string, more: object = {}) =>
  (job: LooseJob): void => {
    job.field.boundary = {file, ...more};
  };
const analyte =
  (change: object) =>
  (job: LooseJob): void => {
    Object.assign(job.lab.files[0].analytes[0], change);
  };
const moved = (change: (lon: number, lat: number) => [number, number]): string =>
  polygonJson([RING.map(([lon, lat]) => change(lon, lat))]);
const members = (change: (files: Map<string, Uint8Array>) => void): Files => {
  const files = boundaryShapefile();
  change(files);
  return Object.fromEntries(files);
};
const lines = (csv: string | Uint8Array | undefined): string[] => String(csv).split("\n");

const WRONG: readonly Wrong[] = [
  // The job
  {what: "a job that is not JSON", job: () => '{"field": {', says: /job\.json is not JSON/},
  {what: "a job that is empty", job: () => "", says: /is not JSON/},
  {what: "a job that is a list", job: () => "[]", says: /the job/},
  {
    what: "a setting that is not known",
    job: (job) => {
      job.sampling.gridd = job.sampling.grid;
    },
    says: /"gridd" is not a setting of sampling.*\n.*Did you mean "grid"\?/,
  },
  {
    what: "a job without a field",
    job: (job) => {
      delete job.field;
    },
    says: /field is missing/,
  },
  {
    what: "a quantity without a unit",
    job: (job) => {
      job.sampling.grid.cellArea = "2.5";
    },
    says: /sampling\.grid\.cellArea.*2\.5.*unit/,
  },
  {
    what: "a quantity of another kind",
    job: (job) => {
      job.sampling.depth = "8 ac";
    },
    says: /sampling\.depth.*ac/,
  },
  {
    what: "a negative size",
    job: (job) => {
      job.layers.cellSize = "-5 m";
    },
    says: /cellSize: "-5 m" is less than nothing\./,
  },
  ...["cellSize", "depth", "cellArea", "maxArea", "yieldGoal"].flatMap((setting) =>
    ["0", "-3"].map(
      (number): Wrong => ({
        what: `${setting} of ${number}`,
        job: (job) => {
          withElevation()(job);
          if (setting === "cellSize") job.layers.cellSize = `${number} m`;
          if (setting === "depth") job.sampling.depth = `${number} in`;
          if (setting === "cellArea") job.sampling.grid.cellArea = `${number} ac`;
          if (setting === "maxArea") job.sampling.wholeField = {maxArea: `${number} ac`};
          if (setting === "yieldGoal") job.rates.crops[0].yieldGoal = `${number} bu/ac`;
        },
        says: new RegExp(`${number}`),
      }),
    ),
  ),
  {
    what: "cells by the billion",
    job: (job) => {
      withElevation()(job);
      job.layers.cellSize = "0.01 m";
    },
    says: /cells/,
  },
  {
    what: "an unknown guide",
    job: (job) => {
      job.rates.guide = "tri-state-1720";
    },
    says: /tri-state-1720/,
  },
  {
    what: "an unknown crop",
    job: (job) => {
      job.rates.crops[0].crop = "kiwi";
    },
    says: /kiwi/,
  },
  {
    what: "a product without the nutrient",
    job: (job) => {
      job.products[0].analysis = "0-0-60";
    },
    says: /0-0-60|P2O5/,
  },
  {
    what: "a product that is no analysis",
    job: (job) => {
      job.products[0].analysis = "potash";
    },
    says: /potash/,
  },
  {
    what: "limits that contradict each other",
    job: (job) => {
      job.machine = {min: "500 lb/ac", max: "100 lb/ac"};
    },
    says: /500|100/,
  },
  {
    what: "a zone strategy without layers",
    job: (job) => {
      job.strategies = ["zone"];
    },
    says: /no layers/,
  },
  {
    what: "the same strategy twice",
    job: (job) => {
      job.strategies = ["grid", "grid"];
    },
    says: /strategies: each strategy once\./,
  },
  {
    what: "a file that is not there",
    job: boundaryFrom("boundry.geojson"),
    says: /There is no file boundry\.geojson.*\n.*boundary\.geojson/,
  },
  {
    what: "a folder in place of a file",
    job: boundaryFrom("sub"),
    files: () => ({"sub/x.txt": "x"}),
    says: /sub is a folder, not a file/,
  },
  // The boundary
  {what: "an empty boundary", files: () => ({"boundary.geojson": ""}), says: /boundary\.geojson is empty/},
  {
    what: "a cut-off GeoJSON",
    files: () => ({"boundary.geojson": polygonJson([RING]).slice(0, 150)}),
    says: /boundary\.geojson/,
  },
  {
    what: "JSON nested a hundred thousand deep",
    files: () => ({
      "boundary.geojson": `{"type":"FeatureCollection","features":${"[".repeat(100_000)}${"]".repeat(100_000)}}`,
    }),
    says: /boundary\.geojson/,
  },
  {
    what: "coordinates nested a thousand deep",
    files: () => ({"boundary.geojson": `{"type":"Polygon","coordinates":${"[".repeat(1000)}${"]".repeat(1000)}}`}),
    says: /boundary\.geojson/,
  },
  {
    what: "coordinates that are not numbers",
    files: () => ({"boundary.geojson": polygonJson([RING.map(([lon], i) => [lon, i === 2 ? "NaN" : 40.55])])}),
    says: /boundary\.geojson/,
  },
  {
    what: "coordinates that are null",
    files: () => ({"boundary.geojson": polygonJson([RING.map(([lon]) => [lon, Number.NaN])])}),
    says: /boundary\.geojson/,
  },
  {
    what: "latitude before longitude",
    files: () => ({"boundary.geojson": moved((lon, lat) => [lat, lon])}),
    says: /swap|order|latitude/i,
  },
  {
    what: "metres where degrees belong",
    files: () => ({"boundary.geojson": moved((lon, lat) => [550_000 + lon * 1000, 4_488_000 + lat * 1000])}),
    says: /degrees|coordinate/,
  },
  {
    what: "a wrong coordinate system",
    job: boundaryFrom("boundary.geojson", {crs: "EPSG:999999"}),
    says: /999999/,
  },
  {
    what: "a boundary that crosses itself",
    files: () => ({
      "boundary.geojson": polygonJson([[RING[0], RING[2], RING[1], RING[3], RING[0]]]),
    }),
    says: /cross/i,
  },
  {
    what: "a field of thirty kilometres",
    files: () => ({"boundary.geojson": moved((lon, lat) => [-86.4 + (lon + 86.4) * 180, 40.55 + (lat - 40.55) * 230])}),
    says: /km|large|acres|ac\b/,
  },
  {
    what: "a field of one square foot",
    files: () => ({"boundary.geojson": moved((lon, lat) => [-86.4 + (lon + 86.4) / 600, 40.55 + (lat - 40.55) / 600])}),
    says: /holds 0\.1 m²/,
  },
  {
    what: "a line in place of a polygon",
    files: () => ({"boundary.geojson": JSON.stringify({type: "LineString", coordinates: RING})}),
    says: /LineString shapes, not polygons/,
  },
  {what: "a table for a boundary", job: boundaryFrom("lab.csv"), says: /lab\.csv holds no shapes: it is a table/},
  {
    what: "a raster for a boundary",
    job: boundaryFrom("elevation.tif"),
    says: /elevation\.tif holds no shapes: it is a raster/,
  },
  {
    what: "a shapefile without its .prj",
    job: boundaryFrom("boundary.shp"),
    files: () => members((files) => files.delete("boundary.prj")),
    says: /coordinate system|\.prj/,
  },
  {
    what: "a shapefile with another's .shx",
    job: boundaryFrom("boundary.shp"),
    files: () =>
      members((files) => {
        const shx = files.get("boundary.shx")?.slice() as Uint8Array;
        new DataView(shx.buffer).setInt32(100, 900);
        files.set("boundary.shx", shx);
      }),
    says: /\.shx|boundary/,
  },
  {
    what: "a cut-off shapefile",
    job: boundaryFrom("boundary.shp"),
    files: () => members((files) => files.set("boundary.shp", files.get("boundary.shp")?.slice(0, 160) as Uint8Array)),
    says: /boundary/,
  },
  {
    what: "a zip that breaks off",
    job: boundaryFrom("boundary.zip"),
    files: () => {
      const bytes = zip(boundaryShapefile());
      return {"boundary.zip": bytes.slice(0, bytes.length - 60)};
    },
    says: /boundary\.zip/,
  },
  {
    what: "a zip that would write outside its folder",
    job: boundaryFrom("boundary.zip"),
    files: () => ({"boundary.zip": zip(new Map([...boundaryShapefile(), ["../escaped.txt", encodeUtf8("x")]]))}),
    says: /boundary\.zip holds a file with a path that leads out of it/,
  },
  {
    what: "a zip without a shapefile",
    job: boundaryFrom("boundary.zip"),
    files: () => ({"boundary.zip": zip(new Map([["readme.txt", encodeUtf8("no shapes")]]))}),
    says: /boundary\.zip|shapefile/,
  },
  {
    what: "a PDF",
    job: boundaryFrom("map.pdf"),
    files: () => ({"map.pdf": "%PDF-1.7\n%rest"}),
    says: /map\.pdf is a PDF/,
  },
  // Lab results
  {
    what: "no id that matches",
    files: () => ({"lab.csv": labCsv(ids.map((_, i) => `ZZ${i}`))}),
    says: /ZZ0|no .*id|none/i,
  },
  {
    what: "a unit without results",
    files: () => ({"lab.csv": labCsv(ids.slice(0, -1))}),
    says: /WP/,
  },
  {what: "an unknown unit", job: analyte({unit: "furlongs"}), says: /furlongs/},
  {what: "no method", job: analyte({method: undefined}), says: /method is missing/},
  {what: "an extractant nobody knows", job: analyte({method: "strong coffee"}), says: /strong coffee/},
  {what: "an extractant the guide is not made for", job: analyte({method: "bray-1"}), says: /bray-1/i},
  {
    what: "a column of P2O5",
    job: analyte({column: "P2O5"}),
    files: () => ({"lab.csv": labCsv(ids).replace("Sample,P,", "Sample,P2O5,")}),
    says: /P2O5/,
  },
  {what: "a column that is not there", job: analyte({column: "Phosphorus"}), says: /Phosphorus/},
  {
    what: "one id with two different results",
    files: () => ({"lab.csv": `${labCsv(ids)}\n${ids[0]},95,300,21`}),
    says: /WP/,
  },
  {what: "a lab report with a header only", files: () => ({"lab.csv": "Sample,P,K,CEC\n"}), says: /lab\.csv/},
  {
    what: "a spreadsheet",
    job: (job) => {
      job.lab.files[0].file = "lab.xlsx";
    },
    files: () => ({"lab.xlsx": zip(new Map([["xl/workbook.xml", encodeUtf8("<workbook/>")]]))}),
    says: /lab\.xlsx is a spreadsheet/,
  },
  // Layers
  {
    what: "a yield log of another field",
    job: withYield(),
    files: () => ({"yield.csv": yieldCsv(0.3)}),
    says: /yield\.csv/,
  },
  {
    what: "header codes nobody knows",
    job: withYield(),
    files: () => ({"yield.csv": yieldCsv(0, (i) => `x${i % 2}`)}),
    says: /x0, x1/,
  },
  {
    what: "a season column without years",
    job: withYield({season: {column: "Header"}}),
    says: /"Header" holds no year\. \(yield\.csv, column "Header"\)/,
  },
  {
    what: "a flow without a unit",
    job: withYield({columns: {...YIELD.columns, flow: "Flow"}}),
    files: () => ({"yield.csv": yieldCsv().replace("Flow (lb/s)", "Flow")}),
    says: /Flow.*unit|unit.*Flow/,
  },
  {
    what: "positions that are all lost",
    job: withYield(),
    files: () => ({
      "yield.csv": lines(yieldCsv())
        .map((line, i) => (i === 0 ? line : line.replace(/^[^,]+,[^,]+/, "NaN,NaN")))
        .join("\n"),
    }),
    says: /yield\.csv|position/,
  },
  {what: "a soil map without the column of classes", job: withSoil({class: "mapunit"}), says: /mapunit/},
  {
    what: "a soil map of elsewhere",
    job: withSoil(),
    files: () => ({"soil.geojson": polygonJson([RING.map(([lon, lat]) => [lon + 1, lat])], {unit: "Ab1"})}),
    says: /soil\.geojson/,
  },
  {what: "heights without a unit", job: withElevation({unit: undefined}), says: /elevation\.tif does not say/},
  {
    what: "heights of elsewhere",
    job: withElevation(),
    files: async () => ({"elevation.tif": await heights(9000)}),
    says: /elevation\.tif/,
  },
  {
    what: "a cut-off GeoTIFF",
    job: withElevation(),
    files: async () => ({"elevation.tif": (await heights()).slice(0, 3000)}),
    says: /elevation\.tif/,
  },
  {
    what: "text named .tif",
    job: withElevation(),
    files: () => ({"elevation.tif": "heights of my field\n"}),
    says: /elevation\.tif/,
  },
  {
    what: "a point cloud",
    job: withElevation({file: "cloud.las"}),
    files: () => ({"cloud.las": "LASF\0\0\0\0\u0001\u0002"}),
    says: /cloud\.las/,
  },
];

describe("bad input ends a run with exit code 3, one clear sentence and nothing written", () => {
  test.each(WRONG.map((wrong) => [wrong.what, wrong] as const))("%s", async (_, {says, job: change, files}) => {
    const folder = scratch();
    const job = smallJob();
    const text = change?.(job);
    const path = layOut(folder, typeof text === "string" ? text : job, {...good, ...(await files?.())});
    const before = contents(folder);
    const {code, stdout, stderr} = await cli("run", path, "--out", join(folder, "out"));
    expect(stderr).toMatch(says);
    expect(stderr).not.toContain("This is our fault");
    expect(stderr).not.toMatch(/^\s+at .*\.ts/m);
    expect(code).toBe(3);
    expect(stdout).toBe("");
    expect(contents(folder)).toEqual(before);
    // One sentence first, in a person's terms and of a length they read.
    const [first = ""] = stderr.split("\n");
    expect(first).toMatch(/[.!?)]$/);
    expect(first.length).toBeLessThan(300);
    expect(first).not.toMatch(/undefined|\[object|NaN is not|ENOENT/);
  });

  test("the good job these are made from runs", async () => {
    const folder = scratch();
    const job = smallJob();
    withYield()(job);
    withSoil()(job);
    withElevation()(job);
    const {code, stderr} = await cli("run", layOut(folder, job, good), "--out", join(folder, "out"));
    expect(stderr).not.toMatch(/^ {2}error:/m);
    expect(code, stderr).toBe(0);
  });
});

describe("a folder for results that cannot be used is refused before anything is written", () => {
  test("a file where the folder should be", async () => {
    const folder = scratch();
    const path = layOut(folder, smallJob(), {...good, results: "mine"});
    const before = contents(folder);
    const {code, stderr} = await cli("run", path, "--out", join(folder, "results"));
    expect(stderr).toMatch(/results is a file, not a folder\./);
    expect(code).toBe(3);
    expect(contents(folder)).toEqual(before);
  });

  test("a folder below a file", async () => {
    const folder = scratch();
    const path = layOut(folder, smallJob(), {...good, results: "mine"});
    const before = contents(folder);
    const {code, stderr} = await cli("run", path, "--out", join(folder, "results", "deeper"));
    expect(stderr).toMatch(/^Nothing was written/);
    expect(code).toBe(3);
    expect(contents(folder)).toEqual(before);
  });

  test("an output that would fall on an input", async () => {
    const folder = scratch();
    const job = smallJob();
    job.field.boundary = "plan-grid-units.geojson";
    const path = layOut(folder, job, {...good, "plan-grid-units.geojson": good["boundary.geojson"] as string});
    const before = contents(folder);
    const {code, stderr} = await cli("run", path, "--out", folder);
    expect(stderr).toMatch(/plan-grid-units\.geojson .*would overwrite an input/);
    expect(code).toBe(3);
    expect(contents(folder)).toEqual(before);
  });

  test("a job file that is not there", async () => {
    const folder = scratch();
    const {code, stderr} = await cli("run", join(folder, "jobb.json"), "--out", join(folder, "out"));
    expect(stderr).toMatch(/jobb\.json cannot be read/);
    expect(code).toBe(3);
    expect(existsSync(join(folder, "out"))).toBe(false);
  });
});

describe("a wrong command line ends with exit code 2", () => {
  test.each([
    ["no --out", ["run", "job.json"], /--out/],
    ["an unknown option", ["run", "job.json", "--out", "x", "--sead", "7"], /--sead[\s\S]*--seed/],
    ["an unknown command", ["rnu", "job.json"], /rnu/],
    ["no file to check", ["check"], /files/],
    ["nothing at all", [], /Usage/],
  ])("%s", async (_, args, says) => {
    const {code, stderr} = await cli(...args);
    expect(stderr).toMatch(says);
    expect(code).toBe(2);
  });

  test("a seed that is no number is bad input", async () => {
    const folder = scratch();
    mkdirSync(folder, {recursive: true});
    writeFileSync(join(folder, "boundary.geojson"), good["boundary.geojson"] as string);
    const path = layOut(folder, smallJob(), good);
    const {code, stderr} = await cli("run", path, "--out", join(folder, "out"), "--seed", "seven");
    expect(stderr).toMatch(/"seven" is not a whole number/);
    expect(code).toBe(3);
  });
});
