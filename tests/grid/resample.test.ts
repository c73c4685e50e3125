import {describe, expect, it} from "vitest";
import {transformBetween, WGS84} from "../../src/geo/crs.ts";
import {frameAt, frameProjString} from "../../src/geo/frame.ts";
import {centreX, centreY, type Grid, gridOver} from "../../src/grid/grid.ts";
import type {Raster} from "../../src/grid/raster.ts";
import {resampleRaster} from "../../src/grid/resample.ts";
import {scaleRaster} from "../../src/grid/scale-raster.ts";

const frame = frameAt(-93.6, 42.02);
const ownCrs = {name: "the field's own frame", definition: frameProjString(frame), units: "metres" as const};

/** A raster in the field's own frame, its value a function of cell centres. */
function inFrame(cell: number, cols: number, rows: number, value: (x: number, y: number) => number): Raster {
  const west = 0;
  const north = rows * cell;
  const values = Float64Array.from({length: cols * rows}, (_, i) =>
    value(west + ((i % cols) + 0.5) * cell, north - (Math.floor(i / cols) + 0.5) * cell),
  );
  return {name: "made", crs: ownCrs, west, north, cellWidth: cell, cellHeight: cell, cols, rows, values};
}
const grid = (west: number, south: number, east: number, north: number, cell: number): Grid =>
  gridOver(frame, {west, south, east, north}, cell);
const plane = (x: number, y: number): number => 3 + 0.03 * x + 0.04 * y;

describe("a raster brought onto a grid", () => {
  it("keeps its values where the cells are the same", () => {
    const raster = inFrame(5, 6, 4, plane);
    for (const method of ["bilinear", "average", "nearest"] as const) {
      const {values} = resampleRaster(raster, grid(0, 0, 30, 20, 5), method);
      for (let i = 0; i < values.length; i++) expect(values[i]).toBeCloseTo(raster.values[i] as number, 6);
    }
  });

  it("is averaged over the cell where it is finer", () => {
    // 1 m cells under 5 m cells: a plane's mean over a cell is its height at the centre.
    const target = grid(0, 0, 30, 20, 5);
    const {values, method} = resampleRaster(inFrame(1, 30, 20, plane), target);
    expect(method).toBe("average");
    values.forEach((value, i) => {
      expect(value).toBeCloseTo(plane(centreX(target, i % 6), centreY(target, Math.floor(i / 6))), 6);
    });
  });

  it("is interpolated between cell centres where it is coarser, plane for plane", () => {
    const target = grid(10, 10, 90, 90, 5);
    const {values, method} = resampleRaster(inFrame(10, 10, 10, plane), target);
    expect(method).toBe("bilinear");
    values.forEach((value, i) => {
      const expected = plane(centreX(target, i % target.cols), centreY(target, Math.floor(i / target.cols)));
      expect(value).toBeCloseTo(expected, 5); // positions between lattice points: under a millimetre
    });
  });

  it("keeps classes whole", () => {
    const classes = inFrame(10, 2, 1, (x) => (x < 10 ? 3 : 8));
    const {values} = resampleRaster(classes, grid(0, 0, 20, 10, 4), "nearest");
    expect([...new Set(values)].sort()).toEqual([3, 8]);
  });

  it("reaches its outer edge and not beyond", () => {
    const raster = inFrame(10, 2, 2, () => 7);
    const {values} = resampleRaster(raster, grid(-10, 0, 30, 20, 5), "bilinear");
    expect([...values.slice(0, 8)].map(Math.round)).toEqual([
      Number.NaN,
      Number.NaN,
      7,
      7,
      7,
      7,
      Number.NaN,
      Number.NaN,
    ]);
  });

  it("bridges a cell without data only where the others carry half of the weight", () => {
    const raster = inFrame(10, 2, 1, (x) => (x < 10 ? 4 : Number.NaN));
    const {values} = resampleRaster(raster, grid(0, 0, 20, 10, 2), "bilinear");
    // Centres at 9 m have 60 % of their weight on the cell with data, centres at 11 m only 40 %.
    expect(values[4]).toBe(4);
    expect(values[5]).toBeNaN();
    const fine = inFrame(1, 10, 5, (x) => (x < 3 ? 4 : Number.NaN));
    expect([...resampleRaster(fine, grid(0, 0, 10, 5, 5), "average").values]).toEqual([4, Number.NaN]);
  });

  it("in degrees lands where the earth says", () => {
    // Value is longitude in arc seconds, so that a wrong place shows as a wrong value.
    const step = 1 / 3 / 3600;
    const west = -93.61;
    const north = 42.03;
    const cols = 220;
    const rows = 220;
    const values = Float64Array.from(
      {length: cols * rows},
      (_, i) => (west + ((i % cols) + 0.5) * step) * 3600 + (north - (Math.floor(i / cols) + 0.5) * step),
    );
    const raster: Raster = {
      name: "dem",
      crs: WGS84,
      west,
      north,
      cellWidth: step,
      cellHeight: step,
      cols,
      rows,
      values,
    };
    const target = grid(-200, -200, 200, 200, 5);
    const found = resampleRaster(raster, target).values;
    const {forward} = transformBetween(frameProjString(frame), WGS84.definition);
    found.forEach((value, i) => {
      const [lon, lat] = forward(centreX(target, i % target.cols), centreY(target, Math.floor(i / target.cols)));
      expect(Math.abs(value - (lon * 3600 + lat))).toBeLessThan(1e-4); // an arc second is 23 m: 2 mm
    });
  });

  it("in feet becomes metres by one factor", () => {
    const metres = scaleRaster(
      inFrame(5, 2, 1, () => 1000),
      0.3048,
      "m",
    );
    expect([...metres.values]).toEqual([304.8, 304.8]);
    expect(metres.unit).toBe("m");
  });
});
