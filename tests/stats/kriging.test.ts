import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {semivariance, VARIOGRAM_SHAPES, type VariogramModel} from "../../src/stats/covariance.ts";
import {type KrigingOptions, krige, type PointValues} from "../../src/stats/kriging.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {FIXED, haveMeuse, meuse, meuseGrid} from "./meuse.ts";

const at = (x: number, y: number) => ({x: Float64Array.of(x), y: Float64Array.of(y)});
const points = (...rows: (readonly [number, number, number])[]): PointValues => ({
  x: Float64Array.from(rows, (r) => r[0]),
  y: Float64Array.from(rows, (r) => r[1]),
  values: Float64Array.from(rows, (r) => r[2]),
});
function one(known: PointValues, x: number, y: number, options: KrigingOptions = {}, model: VariogramModel = FIXED) {
  const {values, variance} = krige(known, model, at(x, y), options);
  return {value: values[0] as number, variance: variance[0] as number};
}
function scattered(count: number, seed = 1): PointValues {
  const random = seededRandom(seed, "test");
  const x = Float64Array.from({length: count}, () => random.next() * 1000);
  const y = x.map(() => random.next() * 1000);
  return {x, y, values: x.map((px, i) => Math.sin(px / 150) + (y[i] as number) / 500 + 0.2 * random.normal())};
}

describe("kriging by hand", () => {
  it("between two points is their mean, with error 2 γ(100) − γ(200) / 2", () => {
    const found = one(points([0, 0, 4], [200, 0, 6]), 100, 0);
    expect(found.value).toBeCloseTo(5, 12);
    expect(found.variance).toBeCloseTo(0.1744796827, 9);
    expect(found.variance).toBeCloseTo(2 * semivariance(FIXED, 100) - semivariance(FIXED, 200) / 2, 12);
  });

  it("from one point is its value, with error 2 γ", () => {
    const found = one(points([0, 0, 4]), 60, 80);
    expect(found.value).toBeCloseTo(4, 12);
    expect(found.variance).toBeCloseTo(0.2965069393, 9);
  });

  it("at a point is its value without error; filtered, it is pulled to its neighbours", () => {
    const known = points([0, 0, 4], [50, 0, 8], [0, 50, 8]);
    expect(one(known, 0, 0).value).toBeCloseTo(4, 12);
    expect(one(known, 0, 0).variance).toBe(0);
    const filtered = one(known, 0, 0, {filtered: true});
    expect(filtered.value).toBeGreaterThan(4.3);
    expect(filtered.variance).toBeGreaterThan(0);
    // A hand's breadth away both say the same: the nugget parts a point from everything else.
    expect(one(known, 0.1, 0).value).toBeCloseTo(one(known, 0.1, 0, {filtered: true}).value, 12);
  });

  it("far from everything is the mean, with error above the sill", () => {
    const known = points([0, 0, 4], [5000, 0, 8], [0, 5000, 9]);
    const found = one(known, 50_000, 50_000);
    expect(found.value).toBeCloseTo(7, 12);
    expect(found.variance).toBeCloseTo(0.64 * (1 + 1 / 3), 12);
  });

  it("weighs repeats at one place, and readings behind a mean, alike", () => {
    // Two readings of 3 and 5 at the origin are the same evidence as their mean with half the nugget.
    const apart = one(points([0, 0, 3], [0, 0, 5], [100, 0, 9]), 30, 0);
    const merged = one(points([0, 0, 4], [100, 0, 9]), 30, 0, {readings: Float64Array.of(2, 1)});
    expect(merged.value).toBeCloseTo(apart.value, 10);
    expect(merged.variance).toBeCloseTo(apart.variance, 10);
  });

  it("does not fail where a system cannot be solved", () => {
    const smooth: VariogramModel = {shape: "gaussian", nugget: 0, partialSill: 1, range: 500};
    const dense = scattered(60);
    expect(Number.isFinite(one(dense, 500, 500, {}, smooth).value)).toBe(true);
    const double = points([0, 0, 3], [0, 0, 5], [100, 0, 9]);
    expect(one(double, 0, 10, {}, {...FIXED, nugget: 0}).value).toBeGreaterThan(3);
    // A plane through points on a line is not fixed.
    expect(one(points([0, 0, 1], [1, 0, 2], [2, 0, 3]), 1, 5, {trend: "plane"}).value).toBeNaN();
  });

  it("of values that do not vary is that value, without error", () => {
    const found = one(points([0, 0, 7], [10, 0, 7]), 3, 4, {}, {...FIXED, nugget: 0, partialSill: 0});
    expect(found).toEqual({value: expect.closeTo(7, 12), variance: 0});
  });

  it("has no value where fewer points are near than asked for", () => {
    const known = points([0, 0, 4], [200, 0, 6]);
    expect(one(known, 0, 0, {within: 100, fewest: 2}).value).toBeNaN();
    expect(one(known, 100, 0, {within: 100, fewest: 2}).value).toBeCloseTo(5, 12);
    expect(one(known, 5000, 0, {within: 100}).value).toBeNaN();
  });

  it("stretched along an azimuth is kriging of the stretched ground", () => {
    const known = scattered(40);
    const long: VariogramModel = {...FIXED, anisotropy: {azimuthDeg: 90, ratio: 0.5}};
    // Along the east-west axis distances stay, across it they count double.
    const stretched = {...known, y: known.y.map((y) => 2 * y)};
    for (const options of [{}, {neighbours: 8}]) {
      expect(one(known, 300, 400, options, long).value).toBeCloseTo(one(stretched, 300, 800, options).value, 10);
    }
  });

  it("with a plane follows a plane exactly", () => {
    const known = scattered(30);
    const plane = {...known, values: known.x.map((x, i) => 3 + 0.01 * x - 0.02 * (known.y[i] as number))};
    expect(one(plane, 2000, -500, {trend: "plane"}).value).toBeCloseTo(3 + 20 + 10, 8);
  });
});

describe("kriging always", () => {
  const anyModel = fc.record({
    shape: fc.constantFrom(...VARIOGRAM_SHAPES),
    nugget: fc.double({min: 0.01, max: 1, noNaN: true}),
    partialSill: fc.double({min: 0.01, max: 1, noNaN: true}),
    range: fc.double({min: 20, max: 800, noNaN: true}),
  });

  it("has weights that sum to 1, so that a constant more is a constant more", () => {
    fc.assert(
      fc.property(anyModel, fc.integer({min: 1, max: 40}), fc.constantFrom(0, 50), (model, neighbours, block) => {
        const known = scattered(40);
        const ones = {...known, values: known.values.map(() => 1)};
        expect(one(ones, 321, 654, {neighbours, block}, model).value).toBeCloseTo(1, 12);
      }),
    );
  });

  it("is surer with more points, and of a block than of a point", () => {
    fc.assert(
      fc.property(anyModel, (model) => {
        const known = scattered(40);
        const few = one(known, 500, 500, {neighbours: 6}, model).variance;
        const more = one(known, 500, 500, {neighbours: 24}, model).variance;
        expect(more).toBeLessThanOrEqual(few + 1e-9);
        expect(one(known, 500, 500, {block: 40}, model).variance).toBeLessThan(
          one(known, 500, 500, {}, model).variance,
        );
      }),
    );
  });

  it("does not mind in which order points stand, nor where the axes begin", () => {
    const known = scattered(40);
    const turned = {x: known.x.toReversed(), y: known.y.toReversed(), values: known.values.toReversed()};
    const moved = {...known, x: known.x.map((x) => x + 450_000), y: known.y.map((y) => y + 4_500_000)};
    for (const options of [{}, {neighbours: 9}, {block: 30}] as const) {
      const here = one(known, 400, 600, options);
      expect(one(turned, 400, 600, options).value).toBeCloseTo(here.value, 11);
      // Coordinates of millions of metres have 1e-9 m of rounding left.
      expect(one(moved, 450_400, 4_500_600, options).value).toBeCloseTo(here.value, 8);
      expect(one(moved, 450_400, 4_500_600, options).variance).toBeCloseTo(here.variance, 8);
    }
  });

  it("says the same of a place whatever else it was asked, and with all points as neighbours as without a search", () => {
    const known = scattered(60);
    const x = Float64Array.from({length: 200}, (_, i) => (i * 37) % 1000);
    const y = x.map((_, i) => (i * 91) % 1000);
    const all = krige(known, FIXED, {x, y}, {neighbours: 12});
    for (let i = 0; i < 200; i += 13) {
      expect(one(known, x[i] as number, y[i] as number, {neighbours: 12}).value).toBe(all.values[i]);
    }
    const searched = one(known, 500, 500, {within: 1e9});
    expect(searched.value).toBe(one(known, 500, 500).value);
  });

  it("on clustered points takes neighbours from all sides when asked", () => {
    // Twenty points in a row to the west, one to the east.
    const row = Array.from({length: 20}, (_, i) => [-i - 1, 0, 1] as const);
    const known = points(...row, [40, 0, 9]);
    expect(one(known, 0.5, 0, {neighbours: 8}).value).toBeCloseTo(1, 12);
    expect(one(known, 0.5, 0, {neighbours: 8, sectors: 4}).value).toBeGreaterThan(1.01);
  });
});

describe.skipIf(!haveMeuse)("kriging of meuse, as by gstat 2.1-0 (skipped: no shared data)", () => {
  if (!haveMeuse) return;
  const known = meuse();
  // Printed to 12 figures there; blocks to 1e-7, as its quadrature constants have fewer figures.
  it.each([
    ["all points, row 1", 1, {}, 6.49987661283, 0.318677612813, 10],
    ["all points, row 1500", 1500, {}, 4.95838723962, 0.190535262928, 10],
    ["16 points, row 1000", 1000, {neighbours: 16}, 5.5286371107, 0.164172785978, 10],
    ["blocks of 40 m, row 500", 500, {block: 40}, 6.45856727211, 0.0656732904, 7],
    ["a plane below, row 3103", 3103, {trend: "plane"}, 6.32923725632, 0.239988267563, 10],
  ] as const)("%s", (_, row, options, value, variance, digits) => {
    const found = krige(known, FIXED, meuseGrid(row), options);
    expect(found.values[0]).toBeCloseTo(value, digits);
    expect(found.variance[0]).toBeCloseTo(variance, digits);
  });

  it("stretched to the north-east", () => {
    const long: VariogramModel = {...FIXED, range: 1200, anisotropy: {azimuthDeg: 45, ratio: 0.5}};
    const found = krige(known, long, meuseGrid(1, 3103));
    expect(found.values[0]).toBeCloseTo(6.65190370537816, 10);
    expect(found.variance[0]).toBeCloseTo(0.28113903669649, 10);
    expect(found.values[1]).toBeCloseTo(6.41419229405794, 10);
  });

  it("over all 3,103 cells", () => {
    const mean = (all: Float64Array): number => all.reduce((sum, v) => sum + v, 0) / all.length;
    const found = krige(known, FIXED, meuseGrid());
    expect(mean(found.values)).toBeCloseTo(5.70712157, 7);
    expect(mean(found.variance)).toBeCloseTo(0.18433325, 7);
  });
});
