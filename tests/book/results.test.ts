import {writeFileSync} from "node:fs";
import {join} from "node:path";
import {beforeAll, describe, expect, it} from "vitest";
import {addApplied} from "../../src/book/as-applied.ts";
import {createBook} from "../../src/book/book.ts";
import {findField, listFields} from "../../src/book/fields.ts";
import {fieldHistory, restoreSource, restoreVersion} from "../../src/book/history.ts";
import type {BookHost} from "../../src/book/host.ts";
import {readLog} from "../../src/book/log.ts";
import {prune} from "../../src/book/prune.ts";
import {addSource} from "../../src/book/sources.ts";
import {staleResults} from "../../src/book/stale.ts";
import {takeOut} from "../../src/book/take-out.ts";
import {verifyBook} from "../../src/book/verify.ts";
import {nodeBookHost} from "../../src/cli/book-host.ts";
import {importJob, keepRun} from "../../src/cli/keep-run.ts";
import {decodeBlob} from "../../src/formats/geopackage/blob.ts";
import {toLonLat} from "../../src/geo/frame.ts";
import {geodesicAreaM2} from "../../src/geo/geodesic.ts";
import type {LonLatMultiPolygon} from "../../src/geo/shapes.ts";
import {labCsv} from "../hosts/small-job.ts";
import {fullFiles, fullJob, runIn, type SmallRun, scratch, within} from "./small-run.ts";

let host: BookHost;
let first: SmallRun;
beforeAll(async () => {
  host = await nodeBookHost({who: "Ada", waitMs: 0});
  first = await runIn(scratch(), fullJob(), fullFiles());
});

const IDS = ["WPW01", "WPG01", "WPG02", "WPZ01", "WPZ02"];
const otherLab = (): string => labCsv([...IDS].reverse());

/** A new book with the first run in it. */
function withFirstRun(): string {
  const path = join(scratch(), "farm.gpkg");
  createBook(host, path);
  keep(path, first);
  return path;
}

const keep = (path: string, {path: job, opened, run}: SmallRun) =>
  within(host, path, (book) => keepRun(book, job, opened, run));

describe("a run that is kept", () => {
  it("gives back every file to the byte, its own and those it read", () => {
    const path = withFirstRun();
    const {files, job, version} = within(host, path, (book) => takeOut(book, findField(book, "Wren Patch")));
    expect(version).toBe(1);
    expect(job).toBe("sources/job.json");
    for (const [name, bytes] of first.run.outputs) expect(files.get(`results/${name}`), name).toEqual(bytes);
    for (const [name, bytes] of first.opened.files) expect(files.get(`sources/${name}`), name).toEqual(bytes);
    const layers = [...files.keys()].filter((name) => name.startsWith("layers/"));
    expect(layers).toHaveLength((first.run.layers?.features.length ?? 0) + 1); // and the zones
    expect(files.size).toBe(first.run.outputs.size + first.opened.files.size + layers.length + 1);
  });

  it("stands in the tables as it came out: acres, cores, rates and pounds tie out", () => {
    const path = withFirstRun();
    within(host, path, ({db}) => {
      const number = (sql: string): number => Number(db.all(sql)[0]?.n);
      const {run} = first;
      const acres = run.field.area / 4046.8564224;
      // Square metres that GIS would measure on the shapes themselves, against the field's own.
      for (const table of ["zones", "sampling_units"]) {
        const where = table === "zones" ? "" : "WHERE strategy = 'grid'";
        const measured = db
          .all(`SELECT geom FROM ${table} ${where}`)
          .reduce((sum, {geom}) => sum + areaOf(geom as Uint8Array), 0);
        expect(measured / run.field.area).toBeCloseTo(1, 5); // frame against geodesic: 1e-6
        expect(number(`SELECT sum(acres) AS n FROM ${table} ${where}`)).toBeCloseTo(acres, 2);
      }
      const cores = run.strategies.flatMap(({plan}) => plan.units.flatMap((unit) => unit.cores));
      expect(number("SELECT count(*) AS n FROM cores WHERE current")).toBe(cores.length);
      expect(number("SELECT sum(cores) AS n FROM plans")).toBe(cores.length);
      for (const {plan, recommendations, prescriptions} of run.strategies) {
        const kept = db.all("SELECT unit, nutrient, rate FROM recommendations WHERE strategy = ? ORDER BY id", [
          plan.strategy,
        ]);
        expect(kept).toEqual(
          recommendations.map(({unit, nutrient, rateLbPerAcre}) => ({unit, nutrient, rate: rateLbPerAcre})),
        );
        for (const {product, totals} of prescriptions) {
          const [row] = db.all(
            `SELECT p.total_lb, sum(g.acres * g.rate_lb_ac) AS spread FROM prescriptions p
             JOIN rate_polygons g ON g.prescription_id = p.id WHERE p.strategy = ? AND p.product = ?`,
            [plan.strategy, product.code],
          );
          expect(row?.total_lb).toBe(totals.productLb);
          // Acres are rounded to four decimals.
          expect(Number(row?.spread)).toBeCloseTo(totals.productLb, 0);
        }
      }
      const workings = run.strategies.flatMap(({recommendations}) => recommendations.flatMap(({working}) => working));
      expect(db.all("SELECT text, value FROM workings ORDER BY id")).toEqual(
        workings.map(({text, value}) => ({text, value})),
      );
      expect(db.all("SELECT year, what, crop FROM seasons")).toEqual([{year: 2024, what: "yield log", crop: "corn"}]);
    });
  });

  it("makes no new version when it is kept again, and the book does not grow", () => {
    const path = withFirstRun();
    const before = within(host, path, ({db}) => db.all("PRAGMA page_count"));
    expect(keep(path, first)).toMatchObject({version: 1, isNew: false});
    within(host, path, ({db}) => {
      expect(db.all("PRAGMA page_count")).toEqual(before);
      expect(readLog(db).map(({what}) => what)).toEqual(["began the book", "ran"]);
    });
  });

  it("leaves the book as it was when keeping it fails at the very end", () => {
    const path = withFirstRun();
    const broken = {...first.run, comparison: {...first.run.comparison, rows: [{strategy: "grid"} as never]}};
    const changed = {...first, run: {...broken, outputs: new Map([["run.json", new Uint8Array([123, 125])]])}};
    expect(() => keep(path, changed)).toThrow();
    within(host, path, (book) => {
      expect(fieldHistory(book, findField(book, "Wren Patch")).versions).toHaveLength(1);
      expect(verifyBook(book).flatMap(({faults}) => faults)).toEqual([]);
    });
  });
});

describe("what is stale", () => {
  it("is nothing after a run, and with a new lab report all that rests on it and nothing else", async () => {
    const path = withFirstRun();
    expect(within(host, path, (book) => staleResults(book, 1))).toEqual([]);
    const folder = scratch();
    await runIn(folder, fullJob(), fullFiles(otherLab()));
    const {changed} = await importJob(host, path, join(folder, "job.json"));
    expect(changed).toEqual([{name: "lab.csv", version: 2}]);
    const stale = within(host, path, (book) => staleResults(book, 1));
    const steps = ["whole-field", "grid", "zone"].flatMap((s) => [
      `soil tests ${s}`,
      `rates ${s}`,
      `prescription ${s}`,
    ]);
    expect(stale.map(({step}) => step)).toEqual([...steps, "comparison"]);
    expect(stale[0]?.reasons).toEqual(["lab.csv has changed"]);
    expect(stale[1]?.reasons).toEqual(["it rests on soil tests whole-field"]);
    expect(within(host, path, listFields)[0]?.stale).toEqual(stale);
  });

  it("follows a yield log through layers and zones to the zone plan, and leaves grid and whole field alone", async () => {
    const path = withFirstRun();
    const folder = scratch();
    const {opened} = await runIn(folder, fullJob(), fullFiles());
    const log = opened.files.get("yield.csv") as Uint8Array;
    await runIn(folder, fullJob(), {...fullFiles(), "yield.csv": log.subarray(0, log.length - 200)});
    await importJob(host, path, join(folder, "job.json"));
    const steps = within(host, path, (book) => staleResults(book, 1)).map(({step}) => step);
    expect(steps).toEqual([
      "layers",
      "zones",
      "plan zone",
      "soil tests zone",
      "rates zone",
      "prescription zone",
      "comparison",
    ]);
  });

  it("sees a setting that changed, and not how the job is laid out", async () => {
    const path = withFirstRun();
    const folder = scratch();
    await runIn(folder, JSON.stringify(fullJob(), null, 4), fullFiles());
    await importJob(host, path, join(folder, "job.json"));
    expect(within(host, path, (book) => staleResults(book, 1))).toEqual([]);
    const grid = fullJob((job) => {
      job.sampling.grid.cellArea = "1 ac";
      job.sampling.grid.cores = 6;
    });
    const {lab: _lab, rates: _rates, products: _products, ...plansOnly} = grid;
    await runIn(folder, plansOnly, fullFiles());
    await importJob(host, path, join(folder, "job.json"));
    const stale = within(host, path, (book) => staleResults(book, 1));
    expect(stale.find(({step}) => step === "plan grid")?.reasons).toEqual(["its settings in the job have changed"]);
    expect(stale.find(({step}) => step === "rates grid")?.reasons).toEqual([
      "the job no longer asks for it",
      "it rests on soil tests grid",
    ]);
    expect(stale.some(({step}) => step === "plan whole-field" || step === "zones")).toBe(false);
  });

  it("is nothing where lab results are only tied to the plans they were taken by", async () => {
    const path = withFirstRun();
    const folder = scratch();
    await runIn(folder, fullJob(), fullFiles());
    const tied = fullJob();
    tied.lab.plans = {grid: "a mark"};
    writeFileSync(join(folder, "job.json"), JSON.stringify(tied));
    await importJob(host, path, join(folder, "job.json"));
    expect(within(host, path, (book) => staleResults(book, 1))).toEqual([]);
  });

  it("is over when the job is run again, or the earlier file put back in force", async () => {
    const path = withFirstRun();
    const second = await runIn(scratch(), fullJob(), fullFiles(otherLab()));
    expect(keep(path, second)).toMatchObject({version: 2, isNew: true});
    expect(within(host, path, (book) => staleResults(book, 1))).toEqual([]);
    within(host, path, (book) => restoreSource(book, "wren patch", "lab.csv", 1));
    expect(within(host, path, (book) => staleResults(book, 1))).not.toEqual([]);
    within(host, path, (book) => restoreVersion(book, "Wren Patch", 1));
    expect(within(host, path, (book) => staleResults(book, 1))).toEqual([]);
  });
});

describe("versions", () => {
  it("can be gone back to and forth; maps show the one in force, and the log tells of it", async () => {
    const path = withFirstRun();
    const second = await runIn(scratch(), fullJob(), fullFiles(otherLab()));
    keep(path, second);
    const inForce = () =>
      within(host, path, ({db}) =>
        ["zones", "cores", "sampling_units", "rate_polygons"].map((table) =>
          db.all(`SELECT DISTINCT version FROM ${table} WHERE current`).map(({version}) => version),
        ),
      );
    expect(inForce()).toEqual([[2], [2], [2], [2]]);
    within(host, path, (book) => restoreVersion(book, "Wren Patch", 1));
    expect(inForce()).toEqual([[1], [1], [1], [1]]);
    const out = within(host, path, (book) => takeOut(book, findField(book, "Wren Patch")));
    expect(out.files.get("results/comparison.json")).toEqual(first.run.outputs.get("comparison.json"));
    const later = within(host, path, (book) => takeOut(book, findField(book, "Wren Patch"), 2));
    expect(later.files.get("results/comparison.json")).toEqual(second.run.outputs.get("comparison.json"));
    within(host, path, ({db}) =>
      expect(readLog(db).at(-1)).toMatchObject({what: "restored", who: "Ada", detail: {version: 1, instead: 2}}),
    );
    expect(() => within(host, path, (book) => restoreVersion(book, "Wren Patch", 9))).toThrow("no version 9");
    expect(() => within(host, path, (book) => restoreVersion(book, "Wren Path", 1))).toThrow('no field "Wren Path"');
  });

  it("are pruned but for the latest and the one in force; files that were put in stay, all of them", async () => {
    const path = withFirstRun();
    for (const seed of [2, 3, 4]) {
      keep(
        path,
        await runIn(
          scratch(),
          fullJob((job) => Object.assign(job, {seed})),
          fullFiles(),
        ),
      );
    }
    within(host, path, (book) => restoreVersion(book, "Wren Patch", 1));
    const sources = within(host, path, (book) => fieldHistory(book, field1(book)).sources);
    const pruned = within(host, path, (book) => prune(book, [field1(book)], 1));
    expect(pruned.versions).toEqual([
      {field: "Wren Patch", version: 3},
      {field: "Wren Patch", version: 2},
    ]);
    expect(pruned.bytes).toBeGreaterThan(10_000);
    within(host, path, (book) => {
      const {versions, sources: left} = fieldHistory(book, field1(book));
      expect(versions.map(({version, prunedAt}) => [version, prunedAt === undefined])).toEqual([
        [1, true],
        [2, false],
        [3, false],
        [4, true],
      ]);
      expect(left).toEqual(sources);
      expect(verifyBook(book).flatMap(({faults}) => faults)).toEqual([]);
      expect(() => restoreVersion(book, "Wren Patch", 2)).toThrow(expect.objectContaining({code: "book/pruned"}));
      restoreVersion(book, "Wren Patch", 4);
      expect(takeOut(book, field1(book)).files.size).toBeGreaterThan(10);
    });
  });
});

describe("cores as the crew took them", () => {
  it("stand on the map beside the planned ones, with how far off they are", async () => {
    const [unit] = first.run.strategies.find(({plan}) => plan.strategy === "grid")?.plan.units ?? [];
    if (!unit) throw new Error("the grid has no unit");
    const frame = first.run.field.frame;
    // Each core 3 m east of its mark, less the last one.
    const rows = unit.cores.slice(0, -1).map(({number, x, y}) => {
      const [lon, lat] = toLonLat(frame, {x: x + 3, y});
      return `${unit.id},${number},${lon},${lat}`;
    });
    const job = fullJob((one) => {
      const columns = {sampleId: "Sample", core: "Core", x: "Lon", y: "Lat"};
      one.sampling.taken = {files: [{file: "cores.csv", strategy: "grid", ...columns}]};
    });
    const files = {...fullFiles(), "cores.csv": ["Sample,Core,Lon,Lat", ...rows].join("\n")};
    const path = withFirstRun();
    keep(path, await runIn(scratch(), job, files));
    within(host, path, ({db}) => {
      const taken = db.all("SELECT sample, core, distance_ft, known_by, off, geom FROM cores_taken WHERE current");
      expect(taken.map(({sample, core}) => [sample, core])).toEqual(
        unit.cores.slice(0, -1).map((c) => [unit.id, c.number]),
      );
      for (const row of taken) expect(row).toMatchObject({distance_ft: 9.8, known_by: "id", off: 0}); // 3 m
      expect(taken[0]?.geom).toBeInstanceOf(Uint8Array);
    });
  });
});

describe("files with paths", () => {
  it("that climb above the job are laid out so that the job finds them, and none gets out of the folder", async () => {
    const folder = scratch();
    const job = fullJob((one) => {
      one.field.boundary = "../shared/boundary.geojson";
      one.lab.files[0].file = "../../lab reports/lab.csv";
    });
    const {"boundary.geojson": boundary = "", "lab.csv": lab = "", "yield.csv": log = ""} = fullFiles();
    const kept = await runIn(join(folder, "farm", "wren"), job, {
      "../shared/boundary.geojson": boundary,
      "../../lab reports/lab.csv": lab,
      "yield.csv": log,
    });
    const path = join(folder, "farm.gpkg");
    createBook(host, path);
    keep(path, kept);
    const {files, job: where} = within(host, path, (book) => takeOut(book, findField(book, "Wren Patch")));
    expect([...files.keys()].filter((name) => name.startsWith("sources/")).sort()).toEqual([
      "sources/job2/job/job.json",
      "sources/job2/job/yield.csv",
      "sources/job2/shared/boundary.geojson",
      "sources/lab reports/lab.csv",
    ]);
    expect(where).toBe("sources/job2/job/job.json");
  });
});

describe("names that fall together", () => {
  it("on a disk that knows no capitals, or with characters it does not take, each get a place of their own", () => {
    const path = withFirstRun();
    within(host, path, (book) => {
      const names = [
        "Lab.csv",
        "logs:1.bin",
        "logs_1.bin",
        "C:\\farm\\old.csv",
        "/etc/../../old.csv",
        "../../../../up.csv",
      ];
      const given = names.map((name, i) => ({name, bytes: Uint8Array.of(i)}));
      for (const {name, bytes} of given) addSource(book, 1, name, bytes);
      const {files} = takeOut(book, field1(book));
      const places = [...files].filter(([name]) => name.startsWith("sources/"));
      expect(places).toHaveLength(names.length + 4);
      expect(new Set(places.map(([name]) => name.toLowerCase())).size).toBe(places.length);
      for (const {bytes} of given) expect(places.filter(([, got]) => Buffer.compare(got, bytes) === 0)).toHaveLength(1);
      expect(places.filter(([name]) => /\.\.|:|\\/.test(name))).toEqual([]);
    });
  });
});

describe("what was spread", () => {
  it("is kept with the controller's file, point by point", () => {
    const path = withFirstRun();
    const bytes = new TextEncoder().encode("lon,lat,rate\n-86.399,40.5505,148\n");
    within(host, path, (book) => {
      addApplied(book, field1(book), {
        product: "11-52-0",
        spreadOn: "2026-04-20",
        files: [{name: "spread.csv", bytes}],
        points: [
          {at: [-86.399, 40.5505], rateLbPerAcre: 148, targetLbPerAcre: 150},
          {at: [-86.3989, 40.5505], rateLbPerAcre: Number.NaN},
        ],
      });
      expect(book.db.all("SELECT position, rate_lb_ac, target_lb_ac FROM as_applied_points")).toEqual([
        {position: 1, rate_lb_ac: 148, target_lb_ac: 150},
        {position: 2, rate_lb_ac: null, target_lb_ac: null},
      ]);
      expect(takeOut(book, field1(book)).files.get("sources/spread.csv")).toEqual(bytes);
      expect(verifyBook(book).flatMap(({faults}) => faults)).toEqual([]);
    });
  });
});

const field1 = (book: Parameters<typeof findField>[0]) => findField(book, "Wren Patch");

function areaOf(blob: Uint8Array): number {
  const shape = decodeBlob(blob);
  if (shape === "empty" || "wrong" in shape) throw new Error("a shape that cannot be read");
  return geodesicAreaM2(shape.geometry.coordinates as LonLatMultiPolygon);
}
