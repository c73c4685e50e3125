import {describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {boxOf} from "../../src/geo/measure.ts";
import {centreX, centreY, gridOver} from "../../src/grid/grid.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {cleanYield} from "../../src/layers/clean-yield.ts";
import {gridPoints} from "../../src/layers/grid-points.ts";
import {gridYield} from "../../src/layers/grid-yield.ts";
import {type MadeLog, makeLog} from "./make-log.ts";

await loadGeos();
const STILL = {delayS: 0} as const;

function gridded({log, field}: MadeLog, cell = 5, options: Parameters<typeof gridYield>[3] = {}) {
  const grid = gridOver(field.frame, boxOf(field.outline), cell);
  const mask = maskOf(grid, field.outline);
  return {...gridYield(cleanYield(log, field, STILL), grid, mask, options), grid, mask};
}
const inside = (values: Float64Array, mask: Uint8Array): number[] => [...values].filter((_, i) => mask[i]);

describe("a yield map of a log", () => {
  it("of an even crop is even", () => {
    const {layer, mask, method} = gridded(makeLog());
    const known = inside(layer.values, mask).filter((v) => !Number.isNaN(v));
    expect(method).toBe("cut area");
    expect(layer).toMatchObject({id: "yield-2024", label: "Corn yield 2024", unit: "t/ha"});
    for (const value of known) expect(value).toBeCloseTo(10, 9);
    expect(layer.values.filter((_, i) => !mask[i]).every(Number.isNaN)).toBe(true);
  });

  it("gives each cell the yield of the passes that cut it", () => {
    // Passes of 10 m on cells of 5 m: two cells to each pass, none shared.
    const made = makeLog({swathM: 10, passes: 6, yieldAt: (x) => 5 + Math.floor(x / 10)});
    const {layer, grid, mask} = gridded(made);
    const west = grid.west + Math.round((boxOf(made.field.outline).west - grid.west) * 1000) / 1000;
    layer.values.forEach((value, i) => {
      const fromWest = centreX(grid, i % grid.cols) - west;
      const edge = Math.abs(fromWest / 10 - Math.round(fromWest / 10)) * 10;
      // Cells are not lined up with the passes: those within half a cell of a border hold both.
      if (!mask[i] || Number.isNaN(value) || edge < 2.6) return;
      expect(value).toBeCloseTo(5 + Math.floor(fromWest / 10), 6);
    });
  });

  it("leaves wild records of a cell out of its mean", () => {
    const made = makeLog({passes: 4});
    const cleaned = cleanYield(made.log, made.field, STILL);
    const spoilt = {...cleaned, yieldTPerHa: cleaned.yieldTPerHa.map((t, i) => (i === 75 ? 40 : t))};
    const grid = gridOver(made.field.frame, boxOf(made.field.outline), 10);
    const mask = maskOf(grid, made.field.outline);
    const known = inside(gridYield(spoilt, grid, mask).layer.values, mask).filter((v) => !Number.isNaN(v));
    expect(Math.max(...known)).toBeCloseTo(10, 9);
    expect(
      Math.max(...inside(gridYield(spoilt, grid, mask, {trim: 0}).layer.values, mask).filter((v) => !Number.isNaN(v))),
    ).toBeGreaterThan(11);
  });

  it("fills ground nobody cut from passes beside it, and leaves wider gaps", () => {
    const made = makeLog({passes: 12, yieldAt: (x) => (x < 54 ? 8 : 12)});
    // Pass 3 was not logged at all, passes 7 to 10 neither.
    const gone = (i: number): boolean => {
      const pass = Math.floor((made.fromWest[i] as number) / 9);
      return pass === 3 || (pass >= 7 && pass <= 10);
    };
    const cleaned = cleanYield(made.log, made.field, STILL);
    const thinned = {...cleaned, reason: cleaned.reason.map((code, i) => (gone(i) ? 11 : code))};
    const grid = gridOver(made.field.frame, boxOf(made.field.outline), 3);
    const mask = maskOf(grid, made.field.outline);
    const {layer, filledCells} = gridYield(thinned, grid, mask);
    const west = boxOf(made.field.outline).west;
    const middle = [...layer.values.keys()].filter((i) => Math.abs(centreY(grid, Math.floor(i / grid.cols))) < 60);
    const at = (from: number, to: number): number[] =>
      middle
        .filter((i) => centreX(grid, i % grid.cols) - west > from && centreX(grid, i % grid.cols) - west < to)
        .map((i) => layer.values[i] as number);
    expect(filledCells).toBeGreaterThan(100);
    for (const value of at(27, 36)) expect(value).toBeCloseTo(8, 9); // between two passes of 8
    expect(at(78, 84).length).toBeGreaterThan(0);
    for (const value of at(78, 84)) expect(value).toBeNaN(); // 1.5 swaths of 9 m reach 13.5 m from a pass's middle
  });

  it("as percent of each group's mean takes the group out", () => {
    const made = makeLog({passes: 8, yieldAt: (x) => (x < 36 ? 4 : 12)});
    const groups = Array.from(made.fromWest, (x) => (x < 36 ? "soybean" : "corn"));
    const {layer, mask} = gridded(made, 5, {groups});
    expect(layer.unit).toBe("% of mean");
    for (const value of inside(layer.values, mask)) if (!Number.isNaN(value)) expect(value).toBeCloseTo(100, 9);
  });

  it("counts the records of every cell", () => {
    const {records, mask} = gridded(makeLog({passes: 6}), 10);
    // 2 m a record: five to a cell of 10 m, and each of these cells holds the middle of one pass of 9 m.
    expect(Math.max(...records)).toBe(5);
    expect(records).toHaveLength(mask.length);
  });
});

describe("a kriged yield map of a log", () => {
  const hills = (x: number, y: number): number => 10 + 2 * Math.sin(x / 15) * Math.cos(y / 25);
  /** Root mean square error of a map against what stood there, t/ha. */
  function errorOf(made: MadeLog, surface: "cell mean" | "kriged") {
    const map = gridded(made, 5, {surface});
    const first = made.truth.findIndex(Number.isFinite);
    const west = (made.log.x[first] as number) - (made.fromWest[first] as number);
    const south = (made.log.y[first] as number) - (made.fromSouth[first] as number);
    const misses = [...map.layer.values.keys()]
      .filter((i) => !Number.isNaN(map.layer.values[i] as number))
      .map((i) => {
        const {grid} = map;
        const truth = hills(centreX(grid, i % grid.cols) - west, centreY(grid, Math.floor(i / grid.cols)) - south);
        return {miss: (map.layer.values[i] as number) - truth, variance: map.variance?.values[i] ?? Number.NaN};
      });
    return {
      ...map,
      rmse: Math.sqrt(misses.reduce((sum, {miss}) => sum + miss * miss, 0) / misses.length),
      ratio: misses.reduce((sum, {miss, variance}) => sum + (miss * miss) / variance, 0) / misses.length,
    };
  }

  it("is nearer the truth than cell means, the more so the noisier the log", () => {
    for (const [noise, share] of [
      [0.05, 0.85],
      [0.15, 0.5],
    ] as const) {
      const made = makeLog({passes: 16, noise, yieldAt: hills});
      const kriged = errorOf(made, "kriged");
      expect(kriged.method).toBe("block kriging");
      expect(kriged.rmse).toBeLessThan(share * errorOf(made, "cell mean").rmse);
      // It knows its own error to within a factor of two in variance.
      expect(kriged.ratio).toBeGreaterThan(0.5);
      expect(kriged.ratio).toBeLessThan(2);
      expect(kriged.layer.madeFrom.options).toMatchObject({surface: "kriged", reachM: 13.5, cutoffM: 180});
    }
  });

  it("covers the same ground as cell means do", () => {
    const made = makeLog({passes: 16, noise: 0.1, yieldAt: hills});
    const [kriged, means] = [errorOf(made, "kriged"), errorOf(made, "cell mean")];
    expect([...kriged.layer.values].map(Number.isNaN)).toEqual([...means.layer.values].map(Number.isNaN));
    expect(kriged.records).toEqual(means.records);
  });

  it("of an even crop is the mean of each cell, and that is said", () => {
    const {method, issues, variance} = gridded(makeLog(), 5, {surface: "kriged"});
    expect(method).toBe("cut area");
    expect(issues.map(({code}) => code)).toEqual(["layers/no-structure"]);
    expect(variance).toBeUndefined();
  });
});

describe("a map of sparse points", () => {
  const made = makeLog({passes: 12});
  const grid = gridOver(made.field.frame, boxOf(made.field.outline), 5);
  const mask = maskOf(grid, made.field.outline);
  const identity = {id: "p", label: "Soil-test P", unit: "mg/kg"} as const;
  // A point every 40 m.
  const at: {x: number; y: number}[] = [];
  for (let x = -40; x <= 40; x += 40) for (let y = -120; y <= 120; y += 40) at.push({x, y});
  const x = Float64Array.from(at, (p) => p.x);
  const y = Float64Array.from(at, (p) => p.y);

  it("stays within the values, and covers the field between points", () => {
    const values = Float64Array.from(at, (_, i) => 10 + (i % 5));
    const {layer, issues} = gridPoints(x, y, values, grid, mask, identity);
    const known = inside(layer.values, mask);
    expect(known.every((v) => v >= 10 && v <= 14)).toBe(true);
    expect(issues.map((issue) => issue.code)).toEqual(["layers/interpolated-points"]);
    expect(layer.unit).toBe("mg/kg");
  });

  it("leaves ground three spacings from any point empty", () => {
    const few = Float64Array.from(at, (p) => (p.y < -60 ? 7 : Number.NaN));
    const {layer, issues} = gridPoints(x, y, few, grid, mask, identity);
    expect(inside(layer.values, mask).some(Number.isNaN)).toBe(true);
    expect(issues.map((issue) => issue.code)).toContain("layers/gaps");
  });

  it("needs three points", () => {
    const none = new Float64Array(at.length).fill(Number.NaN);
    expect(() => gridPoints(x, y, none, grid, mask, identity)).toThrow("0 points with a value");
  });

  it("is what hand samples of yield get, too", () => {
    const cleaned = cleanYield(
      {
        ...{id: "hand", crop: "wheat", season: 2016, bushelPounds: 60, standardMoisturePct: 13.5},
        ...{x, y, givenYieldTPerHa: Float64Array.from(at, (_, i) => 4 + (i % 3))},
      },
      made.field,
    );
    const {method, layer} = gridYield(cleaned, grid, mask);
    expect(method).toBe("inverse distance");
    expect(layer.id).toBe("yield-2016");
  });
});
