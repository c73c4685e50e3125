import {existsSync, readdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {beforeAll, describe, expect, test} from "vitest";
import {nodeSqlite} from "../../src/cli/sqlite-host.ts";
import {writeGeoPackage} from "../../src/formats/geopackage/write-geopackage.ts";
import {readTaskData} from "../../src/formats/iso11783/read-task-data.ts";
import {writeTaskData} from "../../src/formats/iso11783/write-task-data.ts";
import {unzip, zip} from "../../src/formats/zip.ts";
import {planOf, map as product, zone} from "../formats/iso11783/plans.ts";
import {cli, contents, scratch, sha256} from "./in-process.ts";
import {type Files, type LooseJob, labCsv, layOut, polygonJson, RING, smallJob} from "./small-job.ts";

const ALL = ["geojson", "shapefile", "geopackage", "iso 11783-10"];

/** Results for every sample of the small job's plans. */
let lab = "";
beforeAll(async () => {
  const {out} = await run((job) => {
    job.lab = job.rates = job.products = undefined;
  });
  lab = labCsv(
    ["whole-field", "grid"].flatMap((strategy) => {
      const units = JSON.parse(readFileSync(join(out, `plan-${strategy}-units.geojson`), "utf8"));
      return units.features.map(({properties}: {properties: {sample: string}}) => properties.sample);
    }),
  );
});

/** The small job with changes, laid out and run; the folder it wrote and what it said. */
async function run(change: (job: LooseJob) => void, files: Files = {}) {
  const job = smallJob();
  change(job);
  const folder = scratch();
  const path = layOut(folder, job, {"boundary.geojson": polygonJson([RING]), "lab.csv": lab, ...files});
  const out = join(folder, "out");
  return {out, ...(await cli("run", path, "--out", out, "--quiet"))};
}

const list = (folder: string): string[] =>
  readdirSync(folder, {recursive: true, withFileTypes: true})
    .filter((entry) => entry.isFile())
    .map((entry) => join(entry.parentPath, entry.name).slice(folder.length + 1))
    .sort();

describe("a job without hand-over settings", () => {
  test("writes GeoJSON and shapefile and no folder, and its record knows of no such settings", async () => {
    const {out, code, stderr} = await run(() => {});
    expect(code, stderr).toBe(0);
    expect(readdirSync(out).filter((name) => /^rates|^taskdata|^hand/.test(name))).toEqual([
      "rates-grid.geojson",
      "rates-grid.zip",
      "rates-whole-field.geojson",
      "rates-whole-field.zip",
    ]);
    expect(JSON.parse(readFileSync(join(out, "run.json"), "utf8")).job).not.toHaveProperty("handOver");
  });
});

describe("a job that asks for every format and the folder", () => {
  let out: string;
  const ask = (job: LooseJob): void => {
    job.handOver = {formats: ALL, folder: true, strategy: "grid", task: {customer: "Grower One", farm: "Home Farm"}};
    job.machine = {step: "1 lb/ac", outside: "25 lb/ac"};
  };
  beforeAll(async () => {
    const found = await run(ask);
    expect(found.code, found.stderr).toBe(0);
    out = found.out;
  });

  test("writes a file of each format for each strategy, and receipts for each product in each", () => {
    for (const strategy of ["grid", "whole-field"]) {
      for (const ending of ["geojson", "zip", "gpkg"])
        expect(existsSync(join(out, `rates-${strategy}.${ending}`))).toBe(true);
      expect(existsSync(join(out, `taskdata-${strategy}.zip`))).toBe(true);
    }
    const {receipts} = JSON.parse(readFileSync(join(out, "run.json"), "utf8")) as {
      receipts: {file: string; passed: boolean; checks: {what: string; inFile: string}[]}[];
    };
    expect(receipts).toHaveLength(2 * 4 * 2);
    expect(receipts.every(({passed}) => passed)).toBe(true);
    const task = receipts.find(({file}) => file === "taskdata-grid.zip");
    expect(task?.checks.find(({what}) => what === "rate outside")).toMatchObject({
      planned: "25 lb/ac",
      inFile: "the same",
    });
  });

  test("puts the files of one strategy into the folder, task data unpacked", () => {
    expect(list(join(out, "hand-over"))).toEqual([
      "SHA256SUMS",
      "TASKDATA/TASKDATA.XML",
      "applicator-sheet.html",
      "rates-grid.geojson",
      "rates-grid.gpkg",
      "rates-grid.zip",
    ]);
    for (const name of ["rates-grid.geojson", "rates-grid.gpkg", "rates-grid.zip"]) {
      expect(sha256(readFileSync(join(out, "hand-over", name)))).toBe(sha256(readFileSync(join(out, name))));
    }
  });

  test("lists checksums of everything in the folder in the form sha256sum checks", () => {
    const lines = readFileSync(join(out, "hand-over", "SHA256SUMS"), "utf8")
      .trimEnd()
      .split("\n");
    const named = lines.map((line) => {
      const [, sum, name] = /^([0-9a-f]{64}) {2}(\S+)$/.exec(line) ?? [];
      expect(sha256(readFileSync(join(out, "hand-over", name as string)))).toBe(sum);
      return name;
    });
    expect(named.sort()).toEqual(list(join(out, "hand-over")).filter((name) => name !== "SHA256SUMS"));
  });

  test("is passed by check as it lies on the stick, with the same totals as the ledger", async () => {
    const {code, stdout} = await cli("check", join(out, "hand-over"), join(out, "hand-over", "rates-grid.gpkg"));
    expect(code, stdout).toBe(0);
    const {comparison} = JSON.parse(readFileSync(join(out, "comparison.json"), "utf8"));
    const row = comparison.rows.find((one: {strategy: string}) => one.strategy === "grid");
    for (const {totalLb} of row.products as {totalLb: number}[]) {
      // A tenth of a pound from the rounding to whole mg/m².
      const shown = [...stdout.matchAll(/total ([\d,.]+) lb/g)].map(([, text]) => Number(text?.replaceAll(",", "")));
      expect(shown.filter((lb) => Math.abs(lb - totalLb) <= 0.15)).toHaveLength(2);
    }
    expect(stdout).toMatch(/outside the polygons: 25 lb\/ac and 25 lb\/ac; without a position: 25 lb\/ac/);
  });

  test("names customer, farm and field for the terminal", () => {
    const files = unzip(readFileSync(join(out, "taskdata-grid.zip")), "taskdata-grid.zip");
    const {fields, tasks} = readTaskData(files).value;
    expect(fields).toMatchObject([{name: "Wren Patch", customer: "Grower One", farm: "Home Farm"}]);
    expect(tasks).toMatchObject([{name: "Wren Patch grid"}]);
  });

  test("says on the sheet what goes where, what lies outside and which file is which", () => {
    const html = readFileSync(join(out, "hand-over", "applicator-sheet.html"), "utf8");
    expect(html).toContain("<h1>Wren Patch</h1>");
    for (const text of ["11-52-0", "0-0-60", "column MAP_LBAC", "11-52-0 25\u00a0lb/ac · 0-0-60 25\u00a0lb/ac"])
      expect(html).toContain(text);
    expect(html).toContain(sha256(readFileSync(join(out, "rates-grid.zip"))).slice(0, 12));
    expect(html).toMatch(/Zoom to latitude 40\.55\d+, longitude -86\.39\d+/);
    expect(html).toMatch(/have a licensed or certified adviser sign/);
    expect(html).not.toMatch(/undefined|NaN|Infinity|<script|https?:\/\/(?!www\.w3\.org)/);
  });

  test("comes out the same, byte for byte, a second time", async () => {
    expect(contents((await run(ask)).out)).toEqual(contents(out));
  });

  test("a later run without the folder takes its files away", async () => {
    const job = smallJob();
    const folder = scratch();
    const path = layOut(
      folder,
      {...job, handOver: {folder: true, strategy: "grid"}},
      {"boundary.geojson": polygonJson([RING]), "lab.csv": lab},
    );
    const target = join(folder, "out");
    await cli("run", path, "--out", target, "--quiet");
    expect(list(join(target, "hand-over"))).toHaveLength(4);
    writeFileSync(join(target, "hand-over", "note.txt"), "mine");
    layOut(folder, job, {});
    await cli("run", path, "--out", target, "--quiet");
    expect(list(join(target, "hand-over"))).toEqual(["note.txt"]);
  });
});

describe("the folder holds one strategy", () => {
  test("which is asked for where there are several", async () => {
    const {code, stderr} = await run((job) => {
      job.handOver = {folder: true};
    });
    expect(code).toBe(3);
    expect(stderr).toMatch(/rates of several strategies: whole-field, grid\.\nSay which one/);
  });

  test("and is the only one there is where there is one", async () => {
    const {out, code} = await run((job) => {
      job.strategies = ["grid"];
      job.baseline = "grid";
      job.handOver = {folder: true};
    });
    expect(code).toBe(0);
    expect(list(join(out, "hand-over"))).toContain("rates-grid.zip");
  });

  test("one the job does not have is refused with those it has", async () => {
    const {code, stderr} = await run((job) => {
      job.handOver = {folder: true, strategy: "zone"};
    });
    expect(code).toBe(3);
    expect(stderr).toMatch(/no rates of the zone strategy, but: whole-field, grid/);
  });

  test("a job without rates has nothing to hand over", async () => {
    const {code, stderr} = await run((job) => {
      delete job.lab;
      delete job.rates;
      delete job.products;
      job.handOver = {folder: true};
    });
    expect(code).toBe(3);
    expect(stderr).toMatch(/no rates to hand over/);
  });
});

describe("task data as cells", () => {
  test.each(["grid 1", "grid 2"])(
    "of a %s holds every rate, and check adds it up to the ledger's total",
    async (map) => {
      const {out, code, stderr} = await run((job) => {
        job.handOver = {formats: ["iso 11783-10"], task: {map, cell: "3 m", edition: 3, units: "metric"}};
      });
      expect(code, stderr).toBe(0);
      const checked = await cli("check", join(out, "taskdata-grid.zip"));
      expect(checked.code, checked.stdout).toBe(0);
      expect(checked.stdout).toMatch(
        new RegExp(`task Wren Patch grid: a grid of type ${map.slice(-1)}, \\d+ × \\d+ cells`),
      );
      const within = [...checked.stdout.matchAll(/([\d,.]+) lb within the boundary/g)].map(([, lb]) =>
        Number(lb?.replaceAll(",", "")),
      );
      expect(within).toHaveLength(2);
      const {receipts} = JSON.parse(readFileSync(join(out, "run.json"), "utf8")) as {
        receipts: {file: string; totalLb: number; plannedLb: number; checks: {what: string; planned: string}[]}[];
      };
      for (const {totalLb, plannedLb, checks} of receipts.filter(({file}) => file === "taskdata-grid.zip")) {
        // Two cells of ground meet at one border: 3 m cells move no more than this.
        expect(Math.abs(totalLb - plannedLb)).toBeLessThan(0.01 * plannedLb);
        expect(within.some((lb) => Math.abs(lb - plannedLb) < 0.01 * plannedLb)).toBe(true);
        expect(
          Number(checks.find(({what}) => what.startsWith("cells wholly in"))?.planned.replace(/\D/g, "")),
        ).toBeGreaterThan(1000);
      }
    },
  );
});

describe("GeoPackage and task data as inputs", () => {
  let plain: Record<string, string>;
  /** Everything but the record, which names the input. */
  const results = (out: string): Record<string, string> => {
    const {"run.json": _, ...rest} = contents(out);
    return rest;
  };
  beforeAll(async () => {
    plain = results((await run(() => {})).out);
  });

  const geoPackage = async (...names: string[]): Promise<Uint8Array> =>
    writeGeoPackage(
      await nodeSqlite(),
      names.map((name) => ({
        name,
        features: [{geometry: {type: "Polygon" as const, coordinates: [RING]}, properties: {name}}],
      })),
    ).value;
  const taskData = () =>
    writeTaskData(
      {name: "Wren Patch", boundary: [[RING]]},
      [planOf([product], {zones: [zone("All", [100], [RING])]})],
      {softwareVersion: "1"},
    ).value;

  test("a boundary from a GeoPackage gives the same results, byte for byte", async () => {
    const {out, code, stderr} = await run(
      (job) => {
        job.field.boundary = "farm.gpkg";
      },
      {"farm.gpkg": await geoPackage("field")},
    );
    expect(code, stderr).toBe(0);
    expect(results(out)).toEqual(plain);
  });

  test("of several layers the one named; without a name they are listed", async () => {
    const files = {"farm.gpkg": await geoPackage("field", "other")};
    const named = await run((job) => {
      job.field.boundary = {file: "farm.gpkg", layer: "Field"};
    }, files);
    expect(results(named.out)).toEqual(plain);
    const unnamed = await run((job) => {
      job.field.boundary = "farm.gpkg";
    }, files);
    expect(unnamed.code).toBe(3);
    expect(unnamed.stderr).toMatch(/farm\.gpkg holds 2 layers: field, other/);
  });

  test.each<[string, string, () => Files]>([
    ["zipped", "task.zip", () => ({"task.zip": zip(taskData())})],
    ["in its folder", "TASKDATA/TASKDATA.XML", () => Object.fromEntries(taskData())],
  ])("a boundary from task data, %s, gives the same results", async (_, file, files) => {
    const {out, code, stderr} = await run((job) => {
      job.field.boundary = {file, layer: "boundary"};
    }, files());
    expect(code, stderr).toBe(0);
    expect(results(out)).toEqual(plain);
  });

  test("zones of a task are taken as zones drawn elsewhere", async () => {
    const half = (west: number, east: number) => [
      [
        [west, 40.55],
        [east, 40.55],
        [east, 40.5512],
        [west, 40.5512],
        [west, 40.55],
      ],
    ];
    const task = writeTaskData(
      {name: "Wren Patch", boundary: [[RING]]},
      [
        planOf([product], {
          zones: [
            zone("Low", [100], half(-86.4, -86.399) as never),
            zone("High", [200], half(-86.399, -86.398) as never),
          ],
        }),
      ],
      {softwareVersion: "1"},
    ).value;
    const {out, code, stderr} = await run(
      (job) => {
        job.strategies = ["whole-field", "zone"];
        job.zones = {import: {file: "task.zip", layer: "Broadcast"}};
        delete job.lab;
        delete job.rates;
        delete job.products;
      },
      {"task.zip": zip(task)},
    );
    expect(code, stderr).toBe(0);
    const zones = JSON.parse(readFileSync(join(out, "zones.geojson"), "utf8"));
    expect(zones.features).toHaveLength(2);
  });

  test("a task without a layer's name lists what there is", async () => {
    const {code, stderr} = await run(
      (job) => {
        job.field.boundary = "task.zip";
      },
      {"task.zip": zip(taskData())},
    );
    expect(code).toBe(3);
    expect(stderr).toMatch(/task\.zip holds 2 layers: boundary, Broadcast/);
  });
});
