import {mkdirSync, readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {beforeAll, describe, expect, test} from "vitest";
import {readTable} from "../../src/formats/read-table.ts";
import {encodeUtf8} from "../../src/formats/text.ts";
import {writeShapefile} from "../../src/formats/write-shapefile.ts";
import {zip} from "../../src/formats/zip.ts";
import {KG_PER_HA_PER_LB_PER_ACRE} from "../../src/units/factors.ts";
import {cli, contents, scratch} from "./in-process.ts";
import {EAST, type LooseJob, labCsv, layOut, NORTH, polygonJson, RING, SOUTH, smallJob, WEST} from "./small-job.ts";

// A field of some five acres, spread in passes 10 m apart at a record a second, in every format logs come in.

const IDS = ["WPW01", "WPG01", "WPG02"];
const RATE = 120;

interface Record {
  readonly lon: number;
  readonly lat: number;
  readonly time: number;
  readonly rate: number;
}

/** To and fro over the whole field, its first record standing for ground just outside; 169 m by 133 m. */
function records(rate: (lon: number) => number = () => RATE): Record[] {
  const rows: Record[] = [];
  const [passes, steps] = [14, 60];
  let time = 36_000;
  for (let pass = 0; pass < passes; pass++) {
    for (let i = 0; i <= steps; i++) {
      const along = pass % 2 === 0 ? i : steps - i;
      const lon = WEST + ((EAST - WEST) * along) / steps;
      rows.push({lon, lat: SOUTH + ((NORTH - SOUTH) * (pass + 0.5)) / passes, time: time++, rate: rate(lon)});
    }
    time += 20;
  }
  return rows;
}

const csv = (rows: readonly Record[], unit = "lb/ac", factor = 1): string =>
  [
    `Longitude,Latitude,Time (s),Applied rate (${unit}),Swath (ft)`,
    ...rows.map(({lon, lat, time, rate}) =>
      [lon.toFixed(8), lat.toFixed(8), time, (rate * factor).toFixed(4), 31.22].join(","),
    ),
  ].join("\n");

const PLAN = polygonJson([RING], {UNIT: "all", RATE_LBAC: RATE});

function lay(
  asApplied: unknown,
  files: {[name: string]: string | Uint8Array},
  change: (job: LooseJob) => void = () => {},
) {
  const folder = scratch();
  const {lab: _l, rates: _r, products: _p, ...job} = smallJob();
  const whole = {...job, asApplied};
  change(whole);
  return {
    folder,
    job: layOut(folder, whole, {"boundary.geojson": polygonJson([RING]), "plan.geojson": PLAN, ...files}),
  };
}

const plan = {file: "plan.geojson", rate: "RATE_LBAC"};

async function found(
  asApplied: unknown,
  files: {[name: string]: string | Uint8Array},
  change?: (job: LooseJob) => void,
) {
  const {job} = lay(asApplied, files, change);
  const {code, stdout, stderr} = await cli("as-applied", job, "--json", "--quiet");
  expect(code, stderr).toBe(0);
  return JSON.parse(stdout).products[0];
}

/** A log whose records hold time, position and every value of the header, each in its own unit. */
function timeLog(rows: readonly Record[], values: readonly ((row: Record, i: number) => number)[]): Uint8Array {
  const size = 16 + 5 * values.length;
  const out = new Uint8Array(rows.length * size);
  const view = new DataView(out.buffer);
  rows.forEach((row, i) => {
    const at = i * size;
    view.setUint32(at, row.time * 1000, true);
    view.setUint16(at + 4, 16910, true);
    view.setInt32(at + 6, Math.round(row.lat * 1e7), true);
    view.setInt32(at + 10, Math.round(row.lon * 1e7), true);
    view.setUint8(at + 14, 4);
    view.setUint8(at + 15, values.length);
    values.forEach((value, v) => {
      view.setUint8(at + 16 + 5 * v, v);
      view.setInt32(at + 17 + 5 * v, Math.round(value(row, i)), true);
    });
  });
  return out;
}

/** mg/m², and 31.22 ft in mm. */
const RATED = [({rate}: Record) => rate * 100 * KG_PER_HA_PER_LB_PER_ACRE, () => 9516];

const TASKDATA = (elements = "") =>
  `<?xml version="1.0" encoding="UTF-8"?><ISO11783_TaskData VersionMajor="4" VersionMinor="3" DataTransferOrigin="2">${elements}<TSK A="TSK1" B="Potash" G="4"><TLG A="TLG00001" C="1"/></TSK></ISO11783_TaskData>`;
const header = (...values: readonly string[]): string =>
  `<TIM A="" D="4"><PTN A="" B="" D=""/>${values.map((value) => `<DLV A="${value.split(" ")[0]}" B="" C="${value.split(" ")[1] ?? "DET-1"}"/>`).join("")}</TIM>`;
const HEADER = header("0007", "0043");

const taskZip = (rows: readonly Record[], head = HEADER, values: Parameters<typeof timeLog>[1] = RATED): Uint8Array =>
  zip(
    new Map([
      ["TASKDATA/TASKDATA.XML", encodeUtf8(TASKDATA())],
      ["TASKDATA/TLG00001.XML", encodeUtf8(head)],
      ["TASKDATA/TLG00001.BIN", timeLog(rows, values)],
    ]),
  );

describe("loamwright as-applied", () => {
  test("a log that kept to the rate file is right to a part in a hundred", async () => {
    const one = await found([{files: ["log.csv"], plan}], {"log.csv": csv(records())});
    expect(Math.abs(one.field.differencePct)).toBeLessThan(1);
    expect(one.field.offAcres / one.field.acres).toBeLessThan(0.01);
    expect(one.how).toBe("passes");
    expect(one.lag.refused).toMatch(/planned rate does not vary/);
    expect(one.loggedLb / one.total.appliedLb).toBeCloseTo(1, 2);
  });

  test("the same spreading reads the same from a shapefile, GeoJSON and the terminal's time log", async () => {
    const rows = records();
    const properties = ({time, rate}: Record) => ({time_s: time, rate_lbac: rate, swath_ft: 31.22});
    const features = rows.map((row) => ({
      geometry: {
        type: "Point" as const,
        coordinates: [Number(row.lon.toFixed(8)), Number(row.lat.toFixed(8))] as const,
      },
      properties: properties(row),
    }));
    const shapefile = writeShapefile({name: "log", features}, [
      {name: "time_s", type: "N", width: 10, decimals: 0},
      {name: "rate_lbac", type: "N", width: 10, decimals: 4},
      {name: "swath_ft", type: "N", width: 10, decimals: 2},
    ]).value.zip;
    const geoJson = JSON.stringify({
      type: "FeatureCollection",
      features: features.map((feature) => ({type: "Feature", ...feature})),
    });
    const columns = {
      rate: "rate_lbac",
      time: {column: "time_s", unit: "s"},
      swath: {column: "swath_ft", unit: "ft"},
    };
    const table = await found([{files: ["log.csv"], plan}], {"log.csv": csv(rows)});
    for (const [file, bytes, more] of [
      ["log.zip", shapefile, {columns}],
      ["log.geojson", geoJson, {columns}],
      ["task.zip", taskZip(rows), {}],
    ] as const) {
      const one = await found([{files: [file], plan, ...more}], {[file]: bytes});
      expect(one.how, file).toBe("passes");
      expect(one.total.appliedLb / table.total.appliedLb, file).toBeCloseTo(1, 3);
      expect(one.field.coveredAcres, file).toBeCloseTo(table.field.coveredAcres, 1);
    }
  });

  test("an unpacked TASKDATA folder reads like its zip", async () => {
    const {folder, job} = lay([{files: ["TASKDATA/TASKDATA.XML"], plan}], {});
    mkdirSync(join(folder, "TASKDATA"));
    writeFileSync(join(folder, "TASKDATA", "TASKDATA.XML"), TASKDATA());
    writeFileSync(join(folder, "TASKDATA", "TLG00001.XML"), HEADER);
    writeFileSync(join(folder, "TASKDATA", "TLG00001.BIN"), timeLog(records(), RATED));
    const {code, stdout, stderr} = await cli("as-applied", job, "--json", "--quiet");
    expect(code, stderr).toBe(0);
    expect(Math.abs(JSON.parse(stdout).products[0].field.differencePct)).toBeLessThan(1);
  });

  test("a terminal that logs only a running total in whole kilograms, and when it worked, reads much the same", async () => {
    const rows = records();
    // 0.36 kg a record: the total stands still for two records in three. The last pass is driven switched off.
    const perRecord = (RATE * KG_PER_HA_PER_LB_PER_ACRE * 9.516 * 169.4) / 60 / 10_000;
    const worked = (i: number): boolean => i < 13 * 61;
    const total = (_: Record, i: number): number => Math.floor(perRecord * Math.min(i + 1, 13 * 61));
    const values = [total, () => 9516, (_: Record, i: number) => (worked(i) ? 1 : 0)];
    const head = header("0051", "0043", "008D");
    const one = await found([{files: ["task.zip"], plan}], {"task.zip": taskZip(rows, head, values)});
    expect(one.passes).toBe(13);
    expect(one.records.byReason["switched off"]).toBe(61);
    expect(one.field.gapAcres / one.field.acres).toBeCloseTo(1 / 14, 2);
    expect(one.loggedLb).toBeCloseTo((perRecord * 13 * 61) / 0.45359237, -1);
  });

  test("two products in one time log are asked about; the part named is taken", async () => {
    const head = header("0007 DET-1", "0043 DET-1", "0007 DET-2");
    const files = {"task.zip": taskZip(records(), head, [...RATED, () => 5000])};
    const {job} = lay([{files: ["task.zip"], plan}], files);
    const {code, stderr} = await cli("as-applied", job, "--quiet");
    expect([code, stderr]).toEqual([3, expect.stringMatching(/Several parts[\s\S]*DET-1, DET-2/)]);
    const one = await found([{files: ["task.zip"], plan, element: "DET-2"}], files);
    expect(one.field.appliedLb / one.field.acres).toBeCloseTo(50 / KG_PER_HA_PER_LB_PER_ACRE, 0);
  });

  test("rates in kg/ha and gal/ac come to the same pounds", async () => {
    const rows = records();
    const metric = await found([{files: ["log.csv"], plan}], {
      "log.csv": csv(rows, "kg/ha", KG_PER_HA_PER_LB_PER_ACRE),
    });
    const fluid = await found([{files: ["log.csv"], plan, lbPerGallon: 10}], {"log.csv": csv(rows, "gal/ac", 1 / 10)});
    const pounds = await found([{files: ["log.csv"], plan}], {"log.csv": csv(rows)});
    expect(metric.total.appliedLb / pounds.total.appliedLb).toBeCloseTo(1, 6);
    expect(fluid.total.appliedLb / pounds.total.appliedLb).toBeCloseTo(1, 6);
  });

  test("two logs of one product, each half of the field, are one spreading", async () => {
    const rows = records();
    const half = rows.length / 2;
    const one = await found([{files: ["a.csv", "b.csv"], plan}], {
      "a.csv": csv(rows.slice(0, half)),
      "b.csv": csv(rows.slice(half).map((row) => ({...row, time: row.time - 3000}))),
    });
    expect(Math.abs(one.field.differencePct)).toBeLessThan(1);
    expect(one.passes).toBe(14);
  });

  test("the weight on the ticket is held against the log's own total", async () => {
    const {job} = lay([{files: ["log.csv"], plan, ticket: "600 lb"}], {"log.csv": csv(records())});
    const {code, stdout, stderr} = await cli("as-applied", job);
    expect(code, stderr).toBe(0);
    expect(stdout).toMatch(/By the log 6[6-8]\d lb, by the ticket 600 lb \(\+1\d\.\d %\)/);
    expect(stderr).toMatch(/Calibrate the machine/);
  });

  test("polygons are cut by the plan's", async () => {
    const applied = polygonJson([RING], {applied_lb_ac: 90});
    const {folder, job} = lay([{files: ["poly.geojson"], plan}], {"poly.geojson": applied});
    const {code, stdout, stderr} = await cli("as-applied", job, "--out", join(folder, "out"));
    expect(code, stderr).toBe(0);
    expect(stdout).toMatch(/−25\.0/);
    expect(Object.keys(contents(join(folder, "out"))).sort()).toEqual([
      "as-applied-rate-off-rate.geojson",
      "as-applied-units.csv",
      "as-applied.json",
    ]);
    const off = JSON.parse(readFileSync(join(folder, "out", "as-applied-rate-off-rate.geojson"), "utf8"));
    expect(off.features[0].properties).toMatchObject({unit: "all", planned_lbac: 120, applied_lbac: 90});
  });

  describe("against a strategy of the job", () => {
    let rates: LooseJob;
    const full = (asApplied: unknown) => (job: LooseJob) => Object.assign(job, smallJob(), {asApplied});

    beforeAll(async () => {
      const {folder, job} = lay([], {"lab.csv": labCsv(IDS)}, full([]));
      expect((await cli("run", job, "--out", join(folder, "out"), "--quiet")).code).toBe(0);
      rates = JSON.parse(readFileSync(join(folder, "out", "rates-grid.geojson"), "utf8"));
    });

    test("the grid's potash put out as prescribed agrees unit by unit, and is written with its record", async () => {
      const units = rates.features.map(({properties, geometry}: LooseJob) => {
        const lons = geometry.coordinates[0].map(([lon]: number[]) => lon);
        return {west: Math.min(...lons), east: Math.max(...lons), rate: properties.MOP_LBAC as number};
      });
      const rateAt = (lon: number): number =>
        units.find(({west, east}: LooseJob) => lon >= west - 1e-9 && lon <= east + 1e-9)?.rate ?? 0;
      const entry = [{files: ["log.csv"], plan: "grid", product: "0-0-60"}];
      const {folder, job} = lay([], {"lab.csv": labCsv(IDS), "log.csv": csv(records(rateAt))}, full(entry));
      const {code, stdout, stderr} = await cli("as-applied", job, "--out", join(folder, "out"));
      expect(code, stderr).toBe(0);
      expect(stdout).toContain("muriate of potash 0-0-60");
      const record = JSON.parse(readFileSync(join(folder, "out", "as-applied.json"), "utf8"));
      expect(record.products[0].units.map(({unit}: LooseJob) => unit)).toEqual(
        rates.features.map(({properties}: LooseJob) => properties.UNIT),
      );
      for (const {differencePct} of record.products[0].units) expect(Math.abs(differencePct)).toBeLessThan(5);
      const files = contents(join(folder, "out"));
      for (const [name, {sha256}] of Object.entries(record.outputs as {[name: string]: {sha256: string}})) {
        expect(files[name]).toBe(sha256);
      }
      expect(Object.keys(files).sort()).toEqual([
        "as-applied-mop-difference.tif",
        "as-applied-units.csv",
        "as-applied.json",
      ]);
      const table = readTable(readFileSync(join(folder, "out", "as-applied-units.csv")), "t.csv").value;
      expect(table.rows.map((row) => row[3])).toEqual(["WPG01", "WPG02", "field", "outside", "total"]);
    });

    test("asks which product and which plan, and names what there is", async () => {
      const says = async (entry: object): Promise<string> => {
        const {job} = lay(
          [],
          {"lab.csv": labCsv(IDS), "log.csv": csv(records())},
          full([{files: ["log.csv"], ...entry}]),
        );
        const {code, stderr} = await cli("as-applied", job, "--quiet");
        expect(code).toBe(3);
        return stderr;
      };
      expect(await says({plan: "grid"})).toMatch(/which product[\s\S]*"11-52-0", "0-0-60"/);
      expect(await says({plan: "grid", product: "0-0-50"})).toMatch(/no product of the job/);
      expect(await says({product: "0-0-60"})).toMatch(/which plan was spread[\s\S]*"whole-field", "grid"/);
      expect(await says({plan: "zone", product: "0-0-60"})).toMatch(/no prescription for the strategy "zone"/);
    });
  });

  test("a job without logs, a missing log and unclear columns are refused in one sentence", async () => {
    const says = async (entry: unknown, files: {[name: string]: string} = {}): Promise<string> => {
      const {job} = lay(entry, files);
      const {code, stderr} = await cli("as-applied", job, "--quiet");
      expect(code).toBe(3);
      return stderr;
    };
    expect(await says([])).toMatch(/names no log of the spreading/);
    expect(await says([{files: ["gone.csv"], plan}])).toMatch(/no file gone\.csv/);
    const bare = csv(records()).replace("Applied rate (lb/ac)", "Applied rate");
    expect(await says([{files: ["log.csv"], plan}], {"log.csv": bare})).toMatch(/word for a rate with its unit/);
    const two = csv(records()).replace("Time (s)", "Actual rate (lb/ac)");
    expect(await says([{files: ["log.csv"], plan}], {"log.csv": two})).toMatch(/could all be the rate/);
    const fluid = csv(records(), "gal/ac");
    expect(await says([{files: ["log.csv"], plan}], {"log.csv": fluid})).toMatch(/weight of the fluid/);
  });

  test("a run takes no notice of logs that are not there yet", async () => {
    const {folder, job} = lay([{files: ["gone.csv"], plan: "grid"}], {});
    expect((await cli("run", job, "--out", join(folder, "out"), "--quiet")).code).toBe(0);
  });
});
