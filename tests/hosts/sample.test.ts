import {existsSync, readdirSync, readFileSync} from "node:fs";
import {join} from "node:path";
import {unzipSync} from "fflate";
import {describe, expect, it} from "vitest";
import {readGeoJson} from "../../src/formats/read-geojson.ts";
import {readGpx} from "../../src/formats/read-gpx.ts";
import {readTable} from "../../src/formats/read-table.ts";
import {writeGpx} from "../../src/formats/write-gpx.ts";
import {gpxFaults} from "../formats/gpx-rules.ts";
import {cli, contents, scratch} from "./in-process.ts";
import {type Files, labCsv, layOut, polygonJson, RING, smallJob} from "./small-job.ts";

const BOUNDARY: Files = {"boundary.geojson": polygonJson([RING])};

/** The job without its lab report on the disk: none is needed yet. */
function laidOut(change: (job: ReturnType<typeof smallJob>) => void = () => {}, files: Files = {}): string {
  const job = smallJob();
  change(job);
  return layOut(scratch(), job, {...BOUNDARY, ...files});
}

const bytes = (folder: string, name: string): Uint8Array => new Uint8Array(readFileSync(join(folder, name)));
const text = (folder: string, name: string): string => readFileSync(join(folder, name), "utf8");
const rows = (folder: string, name: string) => readTable(bytes(folder, name), name).value;

describe("loamwright sample", () => {
  it("writes what a crew carries, without any lab report, and prints bags, cores, walk, time and cost", async () => {
    const out = join(scratch(), "papers");
    const job = laidOut((j) => {
      j.prices = {year: 2026, lab: "12 $/sample", core: "0.50 $/core"};
    });
    const {code, stdout} = await cli("sample", job, "--out", out);
    expect(code).toBe(0);
    expect(readdirSync(out).sort()).toEqual(
      [
        "sampling.json",
        ...["whole-field", "grid"].flatMap((strategy) =>
          [
            "-sheet.html",
            "-labels.html",
            "-bags.csv",
            "-submittal.csv",
            ".gpx",
            ".kml",
            "-cores.csv",
            "-cores.geojson",
            "-units.geojson",
            "-cores.zip",
            "-units.zip",
          ].map((ending) => `plan-${strategy}${ending}`),
        ),
      ].sort(),
    );
    // Two bags of ten cores at 12 $ and half a dollar a core.
    const {plans} = JSON.parse((await cli("sample", job, "--out", out, "--json", "--quiet")).stdout);
    const grid = plans.find(({strategy}: {strategy: string}) => strategy === "grid");
    expect(grid.cost).toBe(12 * grid.bags + 0.5 * grid.cores);
    expect(stdout).toMatch(
      new RegExp(
        `Grid +${grid.mark} +${grid.bags} +${grid.cores} +[\\d,]+ ft +${grid.hours.toFixed(1)} h +${grid.cost}`,
      ),
    );
  });

  it("holds the same cores in every file", async () => {
    const out = join(scratch(), "papers");
    await cli("sample", laidOut(), "--strategy", "grid", "--out", out, "--quiet");
    const geo = (await readGeoJson(bytes(out, "plan-grid-cores.geojson"), "cores")).value.features;
    const gpx = readGpx(bytes(out, "plan-grid.gpx"), "gpx").value;
    const csv = rows(out, "plan-grid-cores.csv").rows;
    expect(gpxFaults(bytes(out, "plan-grid.gpx"))).toEqual([]);
    expect(geo.length).toBeGreaterThan(10);
    geo.forEach(({id, geometry}, i) => {
      expect(gpx.waypoints[i]).toMatchObject({name: id, position: geometry.coordinates});
      const [, sample, core, lon, lat] = csv[i] as string[];
      expect([`${sample}-${core}`, Number(lon), Number(lat)]).toEqual([
        id,
        ...(geometry.coordinates as unknown as number[]),
      ]);
    });
    expect(Object.keys(unzipSync(bytes(out, "plan-grid-cores.zip")))).toContain("plan-grid-cores.shp");
    const ids = rows(out, "plan-grid-bags.csv").rows.map(([, id]) => id);
    for (const name of ["sheet", "labels"])
      for (const id of ids) expect(text(out, `plan-grid-${name}.html`)).toContain(id);
    expect(rows(out, "plan-grid-submittal.csv").rows.map(([id]) => id)).toEqual(ids);
  });

  it("asks the laboratory for the tests the job will read", async () => {
    const out = join(scratch(), "papers");
    await cli("sample", laidOut(), "--out", out, "--quiet");
    expect(rows(out, "plan-grid-submittal.csv").rows[0]?.[6]).toBe(
      "P (mehlich-3 icp); K (mehlich-3 icp); CEC (sum of cations)",
    );
    await cli(
      "sample",
      laidOut((j) => delete j.lab),
      "--out",
      out,
      "--quiet",
    );
    expect(rows(out, "plan-grid-submittal.csv").rows[0]?.[6]).toMatch(
      /^P \(mehlich-3 icp.*; K \(.*; pH; buffer pH; OM; CEC$/,
    );
  });

  it("prints for A4 when asked, and is the same bytes twice", async () => {
    const [one, two] = [join(scratch(), "a"), join(scratch(), "b")];
    const job = laidOut();
    await cli("sample", job, "--out", one, "--paper", "a4", "--quiet");
    await cli("sample", job, "--out", two, "--paper", "a4", "--quiet");
    expect(contents(one)).toEqual(contents(two));
    expect(text(one, "plan-grid-sheet.html")).toContain("size: 210mm 297mm");
  });

  it("leaves the results of a run in the same folder alone, and takes its own stale papers away", async () => {
    const out = join(scratch(), "both");
    const job = laidOut(undefined, {"lab.csv": labCsv(["WPW01", "WPG01", "WPG02", "WPG03"])});
    await cli("run", job, "--out", out, "--quiet");
    const before = contents(out);
    expect(before["comparison.csv"]).toBeDefined();
    await cli("sample", job, "--out", out, "--quiet");
    expect(contents(out)).toMatchObject(before);
    await cli("sample", job, "--out", out, "--strategy", "grid", "--quiet");
    expect(existsSync(join(out, "plan-whole-field-sheet.html"))).toBe(false);
    expect(existsSync(join(out, "comparison.csv"))).toBe(true);
  });

  it("knows its strategies and says so", async () => {
    const {code, stderr} = await cli("sample", laidOut(), "--out", scratch(), "--strategy", "grit");
    expect([code, stderr]).toEqual([2, expect.stringContaining("whole-field, grid, zone")]);
  });

  it("needs layers for zones", async () => {
    const {code, stderr} = await cli("sample", laidOut(), "--out", join(scratch(), "x"), "--strategy", "zone");
    expect([code, stderr]).toEqual([3, expect.stringContaining("no layers")]);
  });
});

describe("what came back", () => {
  /** The planned cores of the grid, from its own papers. */
  async function planned() {
    const out = join(scratch(), "papers");
    await cli("sample", laidOut(), "--out", out, "--strategy", "grid", "--quiet");
    return rows(out, "plan-grid-cores.csv").rows as string[][];
  }
  const NORTH_M = 1 / 111_000;

  it("is read from a CSV log: places, distances, skipped bags with their reason", async () => {
    const cores = await planned();
    const [first] = cores;
    const bag = first?.[1] as string;
    const other = cores.find(([, sample]) => sample !== bag)?.[1] as string;
    const log = cores
      .filter(([, sample]) => sample === bag)
      .map(
        ([, sample, core, lon, lat], i) =>
          `${sample?.toLowerCase()},${core},${lon},${Number(lat) + i * NORTH_M},2025-10-21 14:0${i % 10}:00,`,
      );
    const job = laidOut(
      (j) => {
        j.sampling.taken = {
          files: [
            {file: "log.csv", sampleId: "Bag", core: "Core", x: "Lon", y: "Lat", time: "Time", skipped: "Why not"},
          ],
        };
        delete j.lab;
        delete j.rates;
        j.products = [];
      },
      {"log.csv": ["Bag,Core,Lon,Lat,Time,Why not", ...log, `${other},,,,,standing water`].join("\n")},
    );
    const out = join(scratch(), "back");
    const {code, stderr} = await cli("run", job, "--out", out);
    expect(code).toBe(0);
    expect(stderr).toContain(`${other} (standing water)`);
    const taken = rows(out, "plan-grid-taken.csv");
    const own = taken.rows.filter(([sample]) => sample === bag);
    // Core after core a metre further north than planned, 3.28 ft each.
    const distances = own.map((row) => Number(row[taken.header.indexOf("distance_ft")]));
    distances.forEach((feet, i) => {
      expect(Math.abs(feet - 3.28 * i)).toBeLessThan(0.1 + 0.02 * i);
    });
    expect(own.map((row) => row[2])).toEqual(distances.map((feet) => (feet > 15 ? "off" : "taken")));
    expect(
      taken.rows
        .filter(([sample]) => sample === other)
        .every((row) => row[2] === "skipped" && row[11] === "standing water"),
    ).toBe(true);
    const record = JSON.parse(text(out, "run.json"));
    expect(record.taken[0].units.find(({id}: {id: string}) => id === bag)).toMatchObject({
      taken: own.length,
      missing: [],
    });
    expect(record.inputs["log.csv"]).toBeDefined();
    const points = (await readGeoJson(bytes(out, "plan-grid-taken.geojson"), "taken")).value.features;
    expect(points).toHaveLength(own.length);
    expect(points[0]?.properties).toMatchObject({sample: bag, core: 1, fell_in: bag, off: false});
  });

  it("of one day and several plans goes to the plans whose ids it holds", async () => {
    const log =
      "Bag,Lon,Lat\nWPW01,-86.399,40.5505\nWPG01,-86.3995,40.5506\nWPX01,-86.3995,40.5506\nWPG01,-86.3994,40.5506\n";
    const job = laidOut(
      (j) => {
        j.sampling.taken = {files: [{file: "day.csv", sampleId: "Bag", x: "Lon", y: "Lat"}]};
      },
      {"day.csv": log},
    );
    const {stdout} = await cli("sample", job, "--out", join(scratch(), "back"), "--json", "--quiet");
    const {taken, issues} = JSON.parse(stdout);
    expect(taken.map(({plan, taken: cores, strays}: Record<string, unknown>) => [plan, cores, strays])).toEqual([
      ["whole-field", 1, 0],
      ["grid", 2, 1],
    ]);
    // Told once, with its row.
    const unknown = issues.filter(({code}: {code: string}) => code === "taken/unknown-id");
    expect(unknown).toMatchObject([{message: expect.stringContaining("WPX01"), place: {file: "day.csv", row: 4}}]);
  });

  it("of validation bags is followed up as well", async () => {
    const prepare = (j: ReturnType<typeof smallJob>): void => {
      j.strategies = ["grid"];
      j.sampling.validation = {count: 4, cores: 5};
    };
    const papers = join(scratch(), "papers");
    await cli("sample", laidOut(prepare), "--out", papers, "--quiet");
    const cores = rows(papers, "plan-validation-cores.csv").rows;
    expect(cores).toHaveLength(20);
    const job = laidOut(
      (j) => {
        prepare(j);
        j.sampling.taken = {files: [{file: "day.csv", sampleId: "sample", core: "core", x: "lon", y: "lat"}]};
      },
      {"day.csv": readFileSync(join(papers, "plan-validation-cores.csv"), "utf8")},
    );
    const out = join(scratch(), "back");
    const {stdout} = await cli("sample", job, "--out", out, "--json", "--quiet");
    expect(JSON.parse(stdout).taken).toMatchObject([{plan: "validation", taken: 20, strays: 0, skipped: []}]);
    expect(rows(out, "plan-validation-taken.csv").rows.every(([, , state]) => state === "taken")).toBe(true);
  });

  it("is read from the waypoints of a receiver, which need no names", async () => {
    const cores = await planned();
    const waypoints = cores.map(([, , , lon, lat], i) => ({
      position: [Number(lon), Number(lat) + NORTH_M] as const,
      name: String(i + 1).padStart(3, "0"),
      timeS: 1_761_055_390 + 60 * i,
    }));
    const job = laidOut(
      (j) => {
        j.strategies = ["grid"];
        j.sampling.taken = {files: [{file: "day.gpx"}]};
      },
      {"day.gpx": writeGpx({name: "day", waypoints})},
    );
    const out = join(scratch(), "back");
    const {code, stdout} = await cli("sample", job, "--out", out, "--json", "--quiet");
    expect(code).toBe(0);
    const {taken} = JSON.parse(stdout);
    expect(taken[0]).toMatchObject({plan: "grid", taken: cores.length, strays: 0, skipped: []});
    expect(taken[0].mostDistanceM).toBeCloseTo(1, 1);
  });

  it("is read from the halts of a track, with a remark that a halt proves no core", async () => {
    const cores = await planned();
    let timeS = 1_761_055_390;
    const points = cores.flatMap(([, , , lon, lat]) =>
      Array.from({length: 15}, () => ({position: [Number(lon), Number(lat)] as const, timeS: timeS++})),
    );
    const job = laidOut(
      (j) => {
        j.strategies = ["grid"];
        j.sampling.taken = {files: [{file: "day.gpx"}]};
      },
      {"day.gpx": writeGpx({name: "day", waypoints: [], tracks: [{name: "day", points}]})},
    );
    const {stdout} = await cli("sample", job, "--out", join(scratch(), "back"), "--json", "--quiet");
    const {taken, issues} = JSON.parse(stdout);
    expect(taken[0]).toMatchObject({taken: cores.length, strays: 0});
    expect(issues.map(({code}: {code: string}) => code)).toContain("taken/from-track");
  });

  it.each([
    ["a log without ids and without a strategy", {file: "log.csv", x: "Lon", y: "Lat"}, "does not say which plan"],
    ["a log whose columns are not named", {file: "log.csv"}, "columns of log.csv that hold positions"],
    ["a column that is not there", {file: "log.csv", x: "Lon", y: "Latt"}, 'Did you mean "Lat"'],
  ])("is refused in plain words: %s", async (_what, file, words) => {
    const job = laidOut(
      (j) => {
        j.sampling.taken = {files: [file]};
      },
      {"log.csv": "Lon,Lat\n-86.399,40.5505\n"},
    );
    const {code, stderr} = await cli("sample", job, "--out", join(scratch(), "x"));
    expect([code, stderr]).toEqual([3, expect.stringContaining(words)]);
  });
});
