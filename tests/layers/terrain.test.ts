import {describe, expect, it} from "vitest";
import {frameAt, frameProjString} from "../../src/geo/frame.ts";
import {centreX, centreY, gridOver} from "../../src/grid/grid.ts";
import type {Raster} from "../../src/grid/raster.ts";
import {rasterLayer} from "../../src/layers/raster-layer.ts";
import {terrainLayers} from "../../src/layers/terrain.ts";

const frame = frameAt(-93.6, 42.02);
const crs = {name: "the field's own frame", definition: frameProjString(frame), units: "metres" as const};
const grid = gridOver(frame, {west: -100, south: -100, east: 100, north: 100}, 5);
const mask = new Uint8Array(grid.cols * grid.rows).fill(1);

/** Heights on 2 m cells over a square of so many metres about the origin. */
function heights(z: (x: number, y: number) => number, reachM = 220, cell = 2): Raster {
  const cols = (2 * reachM) / cell;
  const values = Float64Array.from({length: cols * cols}, (_, i) =>
    z(-reachM + ((i % cols) + 0.5) * cell, reachM - (Math.floor(i / cols) + 0.5) * cell),
  );
  return {
    name: "dem.tif",
    crs,
    west: -reachM,
    north: reachM,
    cellWidth: cell,
    cellHeight: cell,
    cols,
    rows: cols,
    values,
  };
}
const slopeOf = (raster: Raster, smoothM = 5) => {
  const {layers, issues} = terrainLayers(raster, grid, mask, ["slope"], {smoothM});
  return {slope: layers.slope, issues};
};
const plane = (x: number, y: number): number => 250 + 0.03 * x + 0.04 * y;

describe("the terrain of a plane", () => {
  const {layers, issues} = terrainLayers(heights(plane), grid, mask, ["elevation", "slope", "relative elevation"]);
  const {elevation, slope} = layers;

  it("has its height, smoothed or not", () => {
    elevation.values.forEach((z, i) => {
      expect(z).toBeCloseTo(plane(centreX(grid, i % grid.cols), centreY(grid, Math.floor(i / grid.cols))), 5);
    });
    expect(elevation.unit).toBe("m");
  });

  it("has one slope up to the edge of the field", () => {
    for (const value of slope.values) expect(value).toBeCloseTo(2.862405226, 5);
  });

  it("has no knolls and no swales", () => {
    for (const value of layers["relative elevation"].values) expect(Math.abs(value)).toBeLessThan(1e-6);
  });

  it("has nothing to remark on", () => {
    expect(issues).toEqual([]);
  });
});

describe("relative elevation", () => {
  it("is above zero on a knoll and below in a swale", () => {
    const bumps = heights(
      (x, y) => 250 + 2 * Math.exp(-(x * x + y * y) / 800) - 2 * Math.exp(-((x - 60) ** 2 + y * y) / 800),
    );
    const {layers} = terrainLayers(bumps, grid, mask, ["relative elevation"], {smoothM: 0, relativeRadiusM: 50});
    const at = (x: number, y: number): number =>
      layers["relative elevation"].values[Math.floor((100 - y) / 5) * grid.cols + Math.floor((x + 100) / 5)] as number;
    expect(at(0, 0)).toBeGreaterThan(1);
    expect(at(60, 0)).toBeLessThan(-1);
    expect(Math.abs(at(-90, 90))).toBeLessThan(0.05);
  });
});

describe("smoothing", () => {
  it("takes furrows out of the slope", () => {
    // Furrows of 20 cm every 6 m on a plane of 5 %.
    const furrowed = heights((x, y) => plane(x, y) + 0.1 * Math.sin((2 * Math.PI * x) / 6));
    const most = (smoothM: number): number => Math.max(...slopeOf(furrowed, smoothM).slope.values);
    expect(most(0)).toBeGreaterThan(2.95);
    expect(most(8)).toBeLessThan(2.89);
  });
});

describe("an elevation raster", () => {
  const codes = (raster: Raster): string[] => slopeOf(raster).issues.map((issue) => issue.code);

  it("cut at the field's edge still gives slopes there, and says what is missing", () => {
    const {slope, issues} = slopeOf(heights(plane, 100), 0);
    // The outermost metre has a height on one side only: 1 % of the slope there.
    for (const value of slope.values) expect(Math.abs(value - 2.862405226)).toBeLessThan(0.035);
    expect(issues.map((issue) => issue.code)).toEqual(["terrain/no-margin"]);
  });

  it("that covers part of the field says how much", () => {
    const part = heights((x, y) => (x < 50 ? plane(x, y) : Number.NaN));
    const {issues, slope} = slopeOf(part);
    expect(issues.map((issue) => issue.code)).toContain("raster/part-of-field");
    expect(issues[0]?.message).toContain("dem.tif has data for 75.0 % of the field");
    expect(slope.values.some(Number.isNaN)).toBe(true);
  });

  it("of elsewhere is refused", () => {
    const elsewhere = {...heights(plane), west: 5000};
    expect(() => slopeOf(elsewhere)).toThrow("no data inside the field");
  });

  it("with a no-data value taken for a height is doubted", () => {
    expect(codes(heights((x, y) => (x > 210 ? -9999 : plane(x, y))))).toEqual([]); // beyond the margin: nobody looks
    expect(codes(heights((x, y) => (x > 120 ? -9999 : plane(x, y))))).toContain("terrain/impossible-height");
  });

  it("in whole metres is doubted", () => {
    expect(codes(heights((x, y) => Math.round(plane(x, y))))).toContain("terrain/whole-metres");
  });

  it("of any other kind becomes a layer too", () => {
    const {layer, issues} = rasterLayer(
      heights((x) => (x < 0 ? 1 : 2)),
      grid,
      mask,
      {
        id: "ndvi",
        label: "Vegetation index",
        unit: "1",
      },
    );
    expect(layer).toMatchObject({id: "ndvi", unit: "1", madeFrom: {options: {method: "average"}}});
    expect([layer.values[0], layer.values[grid.cols - 1]]).toEqual([1, 2]);
    expect(issues).toEqual([]);
  });
});
