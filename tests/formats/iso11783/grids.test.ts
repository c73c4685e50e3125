import {describe, expect, it} from "vitest";
import {readTaskData} from "../../../src/formats/iso11783/read-task-data.ts";
import {bytes, grid, lb, map, planOf, taskData, water, written} from "./plans.ts";

const NONE = Number.NaN;

/** Values of one layer as rows from the north. */
function rowsOf(files: ReadonlyMap<string, Uint8Array>, index = 0): number[][] {
  const raster = readTaskData(files).value.tasks[0]?.grid?.layers[index]?.raster;
  if (!raster) return [];
  return Array.from({length: raster.rows}, (_, row) => [
    ...raster.values.subarray(row * raster.cols, (row + 1) * raster.cols),
  ]);
}

describe("grids read back", () => {
  const uneven = [
    [150, 0, 100],
    [200, 175, 125],
  ];
  const kgPerHa = uneven.map((row) => row.map((rate) => Math.round(lb(rate) * 100) / 100));

  it.each([1, 2] as const)("of type %i stand north up, as drawn", (type) => {
    expect(rowsOf(written(planOf([map], {grid: grid(type, ...uneven)})).files)).toEqual(kgPerHa);
  });

  it("keep their place and cell size", () => {
    const drawn = grid(2, ...uneven);
    const raster = readTaskData(written(planOf([map], {grid: drawn})).files).value.tasks[0]?.grid?.layers[0]?.raster;
    expect(raster).toMatchObject({west: -93, cellWidth: 0.00012, cellHeight: 0.0001, cols: 3, rows: 2, unit: "kg/ha"});
    expect(raster?.north).toBeCloseTo(drawn.north, 9);
  });

  it("of type 1 have no data outside the field, of type 2 the rate for outside", () => {
    const drawn = [[150, NONE]];
    expect(rowsOf(written(planOf([map], {grid: grid(1, ...drawn)})).files)).toEqual([[168.13, NONE]]);
    expect(rowsOf(written(planOf([map], {grid: grid(2, ...drawn)})).files)).toEqual([[168.13, 0]]);
  });

  it("keep two products apart", () => {
    const one = grid(2, [100, 200]);
    const files = written(planOf([map, water], {grid: {...one, rates: [...one.rates, Float64Array.of(50, 75)]}})).files;
    expect(rowsOf(files, 0)).toEqual([[112.09, 224.17]]);
    expect(rowsOf(files, 1)).toEqual([[50, 75]]);
    expect(readTaskData(files).value.tasks[0]?.grid?.layers.map(({product, raster}) => [product, raster.unit])).toEqual(
      [
        ["MAP 11-52-0", "kg/ha"],
        ["Starter", "L/ha"],
      ],
    );
  });
});

describe("grids of other programs", () => {
  const grd = (more: string) => `<GRD A="42" B="-93" C="0.0001" D="0.0001" E="3" F="2" G="GRD00001" ${more}/>`;
  const zones = (more = "") =>
    `<TZN A="0"><PDV A="0006" B="0"/></TZN><TZN A="1"><PDV A="0006" B="10000"/></TZN><TZN A="2"><PDV A="0006" B="20000"/></TZN>${more}`;
  const task = (inside: string) => `<TSK A="TSK1" G="1" H="0" I="0" J="0">${inside}</TSK>`;
  const bad = (files: ReadonlyMap<string, Uint8Array>) => {
    const {value, issues} = readTaskData(files);
    return {grid: value.tasks[0]?.grid, issues: issues.map(({code, severity, message}) => [code, severity, message])};
  };

  it("are found whatever the case of their file's name, and whatever length is stated", () => {
    const files = taskData(task(zones() + grd('I="1" H="22896"')), {
      "TASKDATA/grd00001.bin": bytes("01 01 02 02 00 01"),
    });
    expect(rowsOf(files)).toEqual([
      [200, NONE, 100],
      [100, 100, 200],
    ]);
  });

  it("are left out when the file is too short, naming both sizes", () => {
    const files = taskData(task(zones() + grd('I="2" J="1"')), {"TASKDATA/GRD00001.BIN": new Uint8Array(22)});
    expect(bad(files)).toEqual({
      grid: undefined,
      issues: [["iso11783/bad-grid", "error", "GRD00001.BIN has 22 bytes; 3 columns x 2 rows x 1 value need 24."]],
    });
  });

  it.each([
    ["too long", grd('I="1"'), 7, "GRD00001.BIN has 7 bytes; 3 columns x 2 rows need 6."],
    ["of an unknown type", grd('I="3"'), 6, "The grid of Task TSK1 has no usable position, size or type."],
    [
      "without the zone it refers to",
      grd('I="2" J="9"'),
      24,
      "The grid of Task TSK1 takes its values from zone 9, which is not in the task.",
    ],
    [
      "of too many cells",
      grd('I="1"').replace('E="3"', 'E="4000000"'),
      6,
      "The grid of Task TSK1 has 8,000,000 cells; the limit is 4,000,000.",
    ],
    [
      "with a cell size of zero",
      grd('I="1"').replace('C="0.0001"', 'C="0"'),
      6,
      "The grid of Task TSK1 has no usable position, size or type.",
    ],
  ])("are left out when %s", (_, element, size, message) => {
    const files = taskData(task(zones() + element), {"TASKDATA/GRD00001.BIN": new Uint8Array(size)});
    expect(bad(files)).toEqual({grid: undefined, issues: [["iso11783/bad-grid", "error", message]]});
  });

  it("are left out when their file is missing", () => {
    expect(bad(taskData(task(zones() + grd('I="1"')))).issues[0]?.[2]).toBe(
      "The grid of Task TSK1 is in GRD00001.BIN, which is not there.",
    );
  });

  it("have no data in cells whose zone does not exist, with the number of cells", () => {
    const files = taskData(task(zones() + grd('I="1"')), {"TASKDATA/GRD00001.BIN": bytes("01 07 07 02 09 01")});
    expect(rowsOf(files)).toEqual([
      [200, NONE, 100],
      [100, NONE, NONE],
    ]);
    expect(bad(files).issues).toEqual([
      ["iso11783/missing-zone", "error", "3 cells of the grid of Task TSK1 name zones the task does not have: 7, 9."],
    ]);
  });

  it("read bytes that stand in the middle of a larger buffer", () => {
    const data = bytes("ff ff 10 27 00 00 10 27 00 00 10 27 00 00 20 4e 00 00 20 4e 00 00 20 4e 00 00").subarray(2);
    const files = taskData(task(zones() + grd('I="2" J="1"')), {"TASKDATA/GRD00001.BIN": data});
    expect(rowsOf(files)).toEqual([
      [200, 200, 200],
      [100, 100, 100],
    ]);
  });
});
