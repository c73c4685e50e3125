import {beforeAll, describe, expect, it} from "vitest";
import {taskGrid} from "../../src/formats/iso11783/plan-grid.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {buildPrescription} from "../../src/prescription/build-prescription.ts";
import {checkGrid, type RateCells} from "../../src/prescription/check-grid.ts";
import {parseProduct} from "../../src/prescription/parse-product.ts";
import {ACRE_SIDE_M, frame, strips} from "./fields.ts";

beforeAll(loadGeos);

/** A: two acres at 250 lb/ac, B: one at 100, C: one at 0, side by side. */
function planned() {
  const rates: Record<string, number> = {A: 130, B: 52, C: 0};
  return buildPrescription({
    strategy: "zone",
    units: strips("AABC"),
    recommendations: Object.entries(rates).map(([unit, rateLbPerAcre]) => ({unit, nutrient: "P2O5", rateLbPerAcre})),
    product: parseProduct({analysis: "11-52-0"}),
    nutrient: "P2O5",
    limits: {stepLbPerAcre: 5, minLbPerAcre: 0, maxLbPerAcre: 600, belowMin: "zero", outsideLbPerAcre: 25},
  });
}

/** Its cells, in lb/ac. */
function cellsOf(cellM: number): RateCells {
  const {polygons} = planned();
  const grid = taskGrid(
    frame,
    polygons.map(({polygon}) => polygon),
    [polygons.map(({rateLbPerAcre}) => rateLbPerAcre)],
    cellM,
    2,
  );
  return {...grid, values: grid.rates[0] as Float64Array};
}

const check = (cells: RateCells) => checkGrid(planned(), cells, {frame, file: "t.zip", rateToleranceLbPerAcre: 0.005});

describe("a grid of cells for polygons", () => {
  it("has columns and rows that cover the field, first cell at its south-west corner", () => {
    // Four acres by one: 254.5 m by 63.6 m in cells of 10 m.
    const cells = cellsOf(10);
    expect([cells.cols, cells.rows]).toEqual([26, 7]);
    expect(cells.west).toBeCloseTo(-86.4, 8);
    expect(cells.north - cells.rows * cells.cellHeight).toBeCloseTo(40.55, 6);
    // 10 m in degrees at 40.55° N on the ellipsoid: 84,704 m and 111,045 m to the degree.
    expect(10 / cells.cellWidth).toBeCloseTo(84_704, -1);
    expect(10 / cells.cellHeight).toBeCloseTo(111_045, -1);
  });

  it("gives each cell the rate of the polygon that has most of it", () => {
    const {values, cols} = cellsOf(10);
    const row = [...values.slice(3 * cols, 4 * cols)];
    // Two acres are 12.7 cells, so the 13th is mostly A's; three are 19.1.
    expect(row).toEqual([...Array(13).fill(250), ...Array(6).fill(100), ...Array(7).fill(0)]);
  });

  it("leaves no strip along the border without a rate, and nothing beyond with one", () => {
    const {values, cols} = cellsOf(10);
    // The northern row has 3.6 of its 10 m in the field.
    expect([...values.slice(0, 13)]).toEqual(Array(13).fill(250));
    // The last column 4.5 of 10.
    expect(values[cols - 1]).toBe(0);
    expect(values.some(Number.isNaN)).toBe(false);
  });

  it.each([0, -1, Number.NaN])("refuses cells of %d m", (cellM) => {
    expect(() => cellsOf(cellM)).toThrow(expect.objectContaining({code: "iso11783/cell-size"}));
  });

  it("refuses more than a million cells", () => {
    expect(() => cellsOf(0.1)).toThrow(expect.objectContaining({code: "iso11783/too-many-cells"}));
  });
});

describe("the receipt of a grid", () => {
  it("passes what was written, with the total its cells spread", () => {
    const receipt = check(cellsOf(3));
    expect(receipt).toMatchObject({passed: true, polygons: 3, minLbPerAcre: 0, maxLbPerAcre: 250, issues: []});
    // 2 × 250 + 100 = 600 lb; borders move less than 1 % at 3 m.
    expect(receipt.plannedLb).toBeCloseTo(600, 6);
    expect(Math.abs(receipt.totalLb - 600)).toBeLessThan(6);
    expect(receipt.acres).toBeCloseTo(4, 1);
  });

  it("finds one wrong cell", () => {
    const cells = cellsOf(5);
    cells.values[3 * cells.cols + 5] = 245;
    const receipt = check(cells);
    expect(receipt.passed).toBe(false);
    expect(receipt.checks.find(({passed}) => !passed)).toMatchObject({
      what: "cells wholly in one polygon",
      inFile: "1 differ",
    });
    expect(receipt.issues[0]?.message).toBe("Read back from the file, cells wholly in one polygon: 1 differ.");
  });

  it("finds a grid that is upside down or shifted by a cell", () => {
    const cells = cellsOf(5);
    expect(check({...cells, west: cells.west + cells.cellWidth}).passed).toBe(false);
    // North and south are alike in this field, so one cell is marked first.
    const marked = Float64Array.from(cells.values);
    marked[3 * cells.cols + 5] = 0;
    expect(check({...cells, values: marked}).passed).toBe(false);
  });

  it("finds rates beyond the field where the rate for outside belongs", () => {
    const cells = cellsOf(5);
    const wide = cells.cols + 4;
    const values = new Float64Array(wide * cells.rows).fill(250);
    for (let row = 0; row < cells.rows; row++) {
      values.set(cells.values.slice(row * cells.cols, (row + 1) * cells.cols), row * wide);
    }
    expect(check({...cells, cols: wide, values}).checks[2]).toMatchObject({
      what: "cells wholly outside",
      passed: false,
    });
    for (let i = 0; i < values.length; i++) if (i % wide >= cells.cols) values[i] = 25;
    expect(check({...cells, cols: wide, values}).passed).toBe(true);
  });

  it("warns of cells so coarse that they spread another total", () => {
    const receipt = check(cellsOf(ACRE_SIDE_M * 0.9));
    expect(receipt.passed).toBe(true);
    expect(receipt.issues.map(({code}) => code)).toEqual(["prescription/coarse-cells"]);
    expect(receipt.issues[0]?.message).toMatch(
      /^Cells spread \d+ lb of 11-52-0 (more|less) than the polygons they stand for \(\d+(\.\d)? %\)\.$/,
    );
  });
});
