import {describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import {centreX, centreY, gridOver} from "../../src/grid/grid.ts";
import {type InterpolateOptions, interpolatePoints} from "../../src/layers/interpolate/interpolate-points.ts";
import {findGuide} from "../../src/recommend/find-guide.ts";
import {gridRates} from "../../src/recommend/grid-rates.ts";
import {seededRandom} from "../../src/stats/random.ts";

const grid = gridOver(frameAt(-86.4, 40.55), {west: 0, south: 0, east: 800, north: 800}, 10);
const mask = new Uint8Array(grid.cols * grid.rows).fill(1);

/** Soil tests on a square lattice, a little off it, of a smooth pattern with noise. */
function samples(perSide: number, pattern: (x: number, y: number) => number, noise: number, seed = 1) {
  const random = seededRandom(seed, "test");
  const count = perSide ** 2;
  const step = 800 / perSide;
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  const values = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    x[i] = ((i % perSide) + 0.3 + 0.4 * random.next()) * step;
    y[i] = (Math.floor(i / perSide) + 0.3 + 0.4 * random.next()) * step;
    values[i] = pattern(x[i] as number, y[i] as number) + noise * random.normal();
  }
  return {id: "p", label: "Soil-test P", unit: "mg/kg", x, y, values} as const;
}
const hills = (x: number, y: number): number => 30 + 10 * Math.sin(x / 120) * Math.cos(y / 140);
const made = (points: Parameters<typeof interpolatePoints>[0], options: InterpolateOptions = {}) =>
  interpolatePoints(points, grid, mask, options);
const codes = ({issues}: ReturnType<typeof made>): string[] => issues.map(({code}) => code);

describe("points are mapped by what they support", () => {
  it("many with a pattern by kriging, near the truth, knowing their own error", () => {
    const result = made(samples(12, hills, 2));
    expect(result.method).toBe("kriging");
    expect(result.why).toMatch(/^Ordinary kriging; (moderate|strong) spatial structure: likeness reaches \d+ m/);
    expect(result.why).toMatch(
      /error at places left out one place at a time \(mg\/kg\): kriging [\d.]+, inverse distance/,
    );
    expect(result.candidates.map(({method}) => method)).toEqual(["kriging", "inverse distance", "nearest", "mean"]);
    const [kriging, , , mean] = result.candidates;
    expect(kriging?.rootMeanSquareError).toBeLessThan(0.6 * (mean?.rootMeanSquareError ?? 0));
    // A method that knows its error has a ratio of 1; 144 places tell it to about √(2/144), a tenth, and the
    // variogram is itself estimated.
    expect(kriging?.meanSquaredRatio).toBeGreaterThan(0.6);
    expect(kriging?.meanSquaredRatio).toBeLessThan(1.6);
    // The truth lies within two standard errors in about 95 of 100 cells.
    let within = 0;
    result.layer.values.forEach((value, i) => {
      const truth = hills(centreX(grid, i % grid.cols), centreY(grid, Math.floor(i / grid.cols)));
      if (Math.abs(value - truth) < 2 * (result.standardError?.values[i] ?? 0)) within++;
    });
    expect(within / mask.length).toBeGreaterThan(0.9);
    expect(result.variance?.values[5]).toBeCloseTo((result.standardError?.values[5] ?? 0) ** 2, 10);
    expect(result.variance?.unit).toBe("(mg/kg)²");
    expect(codes(result)).toEqual(["layers/interpolated-points"]);
  });

  it("many without a pattern by their mean, and that is said", () => {
    const result = made(samples(10, () => 30, 5));
    expect(result.method).toBe("mean");
    expect(result.why).toMatch(
      /^The mean of the points everywhere; no spatial structure: .*; error at places left out/,
    );
    expect(new Set(result.layer.values).size).toBe(1);
    expect(result.standardError).toBeUndefined();
  });

  it("twenty-five with a pattern without kriging, and that is said", () => {
    const result = made(samples(5, (x, y) => x / 20 + y / 40, 0.5));
    expect(["inverse distance", "nearest"]).toContain(result.method);
    expect(result.why).toContain("25 places are too few for kriging (30)");
    expect(result.candidates.map(({method}) => method)).toEqual(["inverse distance", "nearest", "mean"]);
  });

  it("twenty-five without a pattern by their mean", () => {
    const result = made(samples(5, () => 30, 4));
    expect(result.why).toMatch(/^The mean of the points everywhere, as no map tells left-out places better/);
  });

  it("seven by their mean", () => {
    const {x, y, values, ...identity} = samples(3, hills, 1);
    const seven = (all: Float64Array) => all.slice(0, 7);
    const result = made({...identity, x: seven(x), y: seven(y), values: seven(values)});
    expect(result.method).toBe("mean");
    expect(result.why).toBe("The mean of the points everywhere: 7 places are fewer than the 8 a map needs.");
    expect(result.candidates).toEqual([]);
    expect(result.layer.values[0]).toBeCloseTo(seven(values).reduce((a, b) => a + b) / 7, 10);
  });

  it("all alike by their mean, without a fault", () => {
    const result = made(samples(8, () => 21, 0));
    expect(result.method).toBe("mean");
    expect(result.layer.values[0]).toBe(21);
  });

  it("forty kriged with a note that their variogram is rough", () => {
    const result = made(samples(7, hills, 1), {method: "kriging"});
    expect(codes(result)).toEqual(["layers/interpolated-points", "layers/unsteady-variogram"]);
  });
});

describe("a map of points", () => {
  it("takes the mean where several lie at one place", () => {
    const points = samples(8, hills, 1);
    const doubled = {
      ...points,
      x: Float64Array.of(...points.x, points.x[0] as number),
      y: Float64Array.of(...points.y, points.y[0] as number),
      values: Float64Array.of(...points.values, (points.values[0] as number) + 4),
    };
    const result = made(doubled, {method: "kriging"});
    expect(result.places).toBe(64);
    expect(codes(result)).toContain("layers/points-at-one-place");
    expect(result.layer.values.every(Number.isFinite)).toBe(true);
  });

  it("is made as asked, without trying others", () => {
    for (const method of ["nearest", "mean", "inverse distance", "kriging"] as const) {
      const result = made(samples(8, hills, 1), {method});
      expect(result.method).toBe(method);
      expect(result.candidates).toEqual([]);
      expect(result.layer.madeFrom.options).toMatchObject({method});
    }
  });

  it("kriged tells the mean of a cell, or the value at its centre", () => {
    const points = samples(8, hills, 3);
    const cell = made(points, {method: "kriging"});
    const centre = made(points, {method: "kriging", blockM: 0});
    const mean = (all: Float64Array | undefined): number => (all?.reduce((a, b) => a + b) ?? 0) / mask.length;
    // A cell's mean has no nugget in it.
    expect(mean(cell.variance?.values)).toBeLessThan(mean(centre.variance?.values) - 0.9 * (cell.model?.nugget ?? 0));
  });

  it("leaves cells three spacings from any point, and those outside the field, without a value", () => {
    const {x, y, values, ...identity} = samples(10, hills, 1);
    const south = values.map((v, i) => ((y[i] as number) < 300 ? v : Number.NaN));
    const part = mask.map((_, i) => (i % grid.cols < 40 ? 1 : 0));
    const result = interpolatePoints({...identity, x, y, values: south}, grid, part, {method: "kriging"});
    expect(codes(result)).toContain("layers/gaps");
    expect(result.layer.values[0]).toBeNaN();
    const lastRow = (grid.rows - 1) * grid.cols;
    expect(result.layer.values[lastRow]).not.toBeNaN();
    expect(result.layer.values[lastRow + 60]).toBeNaN();
  });

  it("carries how it was made: method, reason, variogram, seed", () => {
    const {layer, model, why} = made(samples(12, hills, 2), {seed: 4});
    expect(layer.madeFrom).toMatchObject({
      step: "layers/interpolate",
      inputs: ["p"],
      options: {method: "kriging", why, model, blockM: 10, neighbours: 144},
      seed: 4,
    });
  });

  it("is the same for the same points and seed, and changes nothing it was given", () => {
    const points = samples(12, hills, 2);
    const before = structuredClone(points);
    expect(made(points)).toEqual(made(points));
    expect(points).toEqual(before);
  });

  it("needs three points, and a variogram where kriging is asked for", () => {
    const {x, y, values, ...identity} = samples(3, hills, 1);
    const first = (n: number) => ({...identity, x: x.slice(0, n), y: y.slice(0, n), values: values.slice(0, n)});
    expect(() => made(first(2))).toThrow("Soil-test P has 2 points with a value; a map needs 3.");
    expect(() => made(first(3), {method: "kriging"})).toThrow("too few distances between points");
  });

  it("from points of a few hundred and more is tried by squares of ground", () => {
    const result = made(samples(18, hills, 2));
    expect(result.method).toBe("kriging");
    expect(result.why).toContain("a tenth at a time, in squares of");
  });
});

describe("rates between samples", () => {
  it("come from the interpolated test and its error, with how sure each cell's class is", () => {
    const {layer, standardError} = made(samples(12, hills, 2));
    const rates = gridRates(findGuide("tri-state-2020"), {
      nutrient: "P2O5",
      test: layer,
      ...(standardError && {testError: standardError}),
      testFacts: {analyte: "P", unit: "mg/kg", method: "mehlich-3 icp", depthM: 0.2032},
      crops: [{crop: "corn", yieldGoal: 180}],
    });
    const share = (cell: number): number =>
      rates.classProbability.reduce((sum, {values}) => sum + (values[cell] ?? 0), 0);
    expect(share(0)).toBeCloseTo(1, 12);
    expect(Math.min(...(rates.certainty?.values ?? []))).toBeGreaterThan(0.3);
    expect(new Set(rates.rate.values).size).toBeGreaterThan(1);
  });
});
