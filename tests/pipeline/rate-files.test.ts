import {beforeAll, describe, expect, it} from "vitest";
import {readTaskData} from "../../src/formats/iso11783/read-task-data.ts";
import {unzip} from "../../src/formats/zip.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {rateFiles} from "../../src/pipeline/rate-files.ts";
import {buildPrescription} from "../../src/prescription/build-prescription.ts";
import {parseProduct} from "../../src/prescription/parse-product.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {fieldOf, ringOf} from "../sampling/make-field.ts";

beforeAll(loadGeos);

const SIDE = 30;
const task = {cell: metres(10), units: "us" as const, edition: 4 as const};

/** Squares of 30 m in rows of twenty, and a prescription of a product over them. */
function squares(count: number, analysis = "11-52-0", nutrient: "P2O5" | "K2O" = "P2O5") {
  const units = Array.from({length: count}, (_, i) => {
    const [x, y] = [(i % 20) * SIDE, Math.floor(i / 20) * SIDE];
    const shape = [[ringOf([x, y], [x + SIDE, y], [x + SIDE, y + SIDE], [x, y + SIDE])]];
    return {id: `C${i + 1}`, shape, area: squareMetres(SIDE * SIDE)};
  });
  return buildPrescription({
    strategy: "grid",
    units,
    recommendations: units.map(({id}, i) => ({unit: id, nutrient, rateLbPerAcre: 20 + (i % 50)})),
    product: parseProduct({analysis}),
    nutrient,
    limits: {stepLbPerAcre: 1, minLbPerAcre: 0, maxLbPerAcre: 600, belowMin: "zero", outsideLbPerAcre: 0},
  });
}

const field = (count: number) =>
  fieldOf([[ringOf([0, 0], [20 * SIDE, 0], [20 * SIDE, (count / 20) * SIDE], [0, (count / 20) * SIDE])]]);
const tasksOf = (files: ReadonlyMap<string, Uint8Array>) =>
  readTaskData(unzip(files.get("taskdata-grid.zip") as Uint8Array, "t.zip")).value.tasks;

describe("a map of more polygons than a task has codes for", () => {
  it("becomes a grid with a note, and its receipts pass", async () => {
    const {files, issues, receipts} = await rateFiles(field(300), [squares(300)], {formats: ["iso 11783-10"], task});
    // 60 by 45 cells, and one more each way for the hair by which a straight field leans on a grid of degrees.
    expect(tasksOf(files)[0]?.grid).toMatchObject({type: 2, cols: 61, rows: 46});
    expect(issues.map(({code}) => code)).toEqual(["hand-over/as-grid"]);
    expect(receipts).toMatchObject([{passed: true, polygons: 300}]);
    // Cells of 10 m fit squares of 30 m, so nothing is lost at borders.
    expect(Math.abs((receipts[0]?.totalLb ?? 0) / (receipts[0]?.plannedLb ?? 1) - 1)).toBeLessThan(0.005);
  });

  it("is refused where zones were asked for by name", async () => {
    const asked = rateFiles(field(300), [squares(300)], {formats: ["iso 11783-10"], task: {...task, map: "zones"}});
    await expect(asked).rejects.toMatchObject({code: "iso11783/too-many-zones"});
  });

  it("of 252 stays zones", async () => {
    const {files, issues} = await rateFiles(field(260), [squares(252)], {formats: ["iso 11783-10"], task});
    expect(tasksOf(files)[0]?.zones.filter(({shape}) => shape.length > 0)).toHaveLength(252);
    expect(issues).toEqual([]);
  });
});

describe("products and the files they share", () => {
  const potash = (count: number) => squares(count, "0-0-60", "K2O");

  it("one file and one task for products on the same polygons", async () => {
    const {files} = await rateFiles(field(40), [squares(40), potash(40)], {formats: ["geojson", "iso 11783-10"], task});
    expect([...files.keys()]).toEqual(["rates-grid.geojson", "taskdata-grid.zip"]);
    expect(tasksOf(files)).toHaveLength(1);
  });

  it("a file and a task of its own for a product on other polygons", async () => {
    const {files, receipts} = await rateFiles(field(40), [squares(40), potash(20)], {
      formats: ["geojson", "shapefile", "iso 11783-10"],
      task,
    });
    expect([...files.keys()]).toEqual([
      "rates-grid.geojson",
      "rates-grid.zip",
      "rates-grid-mop.geojson",
      "rates-grid-mop.zip",
      "taskdata-grid.zip",
    ]);
    expect(tasksOf(files).map(({zones}) => zones.filter(({shape}) => shape.length > 0).length)).toEqual([40, 20]);
    expect(receipts.every(({passed}) => passed)).toBe(true);
  });

  it("nothing for no prescriptions", async () => {
    expect((await rateFiles(field(20), [], {formats: ["iso 11783-10"], task})).files.size).toBe(0);
  });
});

describe("a host that lends no SQLite", () => {
  it("is told that a GeoPackage cannot be written", async () => {
    await expect(rateFiles(field(20), [squares(20)], {formats: ["geopackage"]})).rejects.toMatchObject({
      code: "hand-over/no-sqlite",
      hint: "Leave it out of handOver.formats.",
    });
  });
});
