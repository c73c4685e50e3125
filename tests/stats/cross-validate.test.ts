import {describe, expect, it} from "vitest";
import {crossValidate, foldPerPoint, foldsOfSquares, summarise} from "../../src/stats/cross-validate.ts";
import {leaveOneOut} from "../../src/stats/cross-validate-kriging.ts";
import {inverseDistanceAt} from "../../src/stats/inverse-distance.ts";
import {krige} from "../../src/stats/kriging.ts";
import {indexPoints} from "../../src/stats/point-index.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {FIXED, haveMeuse, meuse} from "./meuse.ts";

const random = seededRandom(11, "test");
const x = Float64Array.from({length: 80}, () => random.next() * 1000);
const y = x.map(() => random.next() * 1000);
const points = {x, y, values: x.map((px) => Math.sin(px / 150) + 0.3 * random.normal())};

describe("leaving one out", () => {
  it("from one inverse is the same as point by point", () => {
    const quick = leaveOneOut(points, FIXED);
    const slow = crossValidate(points, foldPerPoint(80), (known, places) => krige(known, FIXED, places));
    quick.predicted.forEach((value, i) => {
      expect(value).toBeCloseTo(slow.predicted[i] as number, 10);
      expect(quick.variance?.[i]).toBeCloseTo(slow.variance?.[i] as number, 10);
    });
  });

  it("with local neighbourhoods passes over the point itself", () => {
    const quick = leaveOneOut(points, FIXED, {neighbours: 8});
    const slow = crossValidate(points, foldPerPoint(80), (known, places) =>
      krige(known, FIXED, places, {neighbours: 8}),
    );
    quick.predicted.forEach((value, i) => {
      expect(value).toBeCloseTo(slow.predicted[i] as number, 10);
    });
  });

  it("with a plane, and with doubled points, falls back on one by one", () => {
    const onto = (all: Float64Array): Float64Array => all.map((v, i) => (i === 1 ? (all[0] as number) : v));
    const doubled = {...points, x: onto(points.x), y: onto(points.y)};
    const bare = {...FIXED, nugget: 0};
    for (const value of leaveOneOut(doubled, bare).predicted) expect(Number.isFinite(value)).toBe(true);
    expect(leaveOneOut(points, FIXED, {trend: "plane"}).predicted.every(Number.isFinite)).toBe(true);
  });
});

describe("folds of squares", () => {
  const folds = foldsOfSquares(points.x, points.y, 250, 5, seededRandom(2, "test"));

  it("hold whole squares, and every fold has some", () => {
    const west = Math.min(...points.x);
    const south = Math.min(...points.y);
    const seen = new Map<string, number>();
    folds.forEach((fold, i) => {
      const key = `${Math.floor(((points.x[i] as number) - west) / 250)},${Math.floor(((points.y[i] as number) - south) / 250)}`;
      expect(seen.get(key) ?? fold).toBe(fold);
      seen.set(key, fold);
    });
    expect(new Set(folds).size).toBe(5);
  });

  it("are the same for the same seed, and others for another", () => {
    expect(foldsOfSquares(points.x, points.y, 250, 5, seededRandom(2, "test"))).toEqual(folds);
    expect(foldsOfSquares(points.x, points.y, 250, 5, seededRandom(3, "test"))).not.toEqual(folds);
  });

  it("stop once enough points are in them; the rest is told to all and never asked", () => {
    const some = foldsOfSquares(points.x, points.y, 100, 5, seededRandom(2, "test"), 20);
    const asked = some.filter((fold) => fold >= 0).length;
    expect(asked).toBeGreaterThanOrEqual(20);
    expect(asked).toBeLessThan(35);
    const sizes = new Set<number>();
    const {predicted} = crossValidate(points, some, (known, places) => {
      sizes.add(known.values.length);
      return {values: places.x.map(() => 0)};
    });
    expect([...predicted].map(Number.isNaN)).toEqual([...some].map((fold) => fold < 0));
    expect(Math.min(...sizes)).toBeGreaterThanOrEqual(80 - asked);
  });

  it("ask more of a map than leaving out one of many close points", () => {
    // Ten readings about each of thirty places, each place with a level of its own.
    const level = seededRandom(4, "level");
    const spot = Array.from({length: 30}, () => [level.next() * 1000, level.next() * 1000, level.normal()] as const);
    const of = (k: 0 | 1 | 2) =>
      Float64Array.from({length: 300}, (_, i) => (spot[i % 30]?.[k] ?? 0) + (k < 2 ? level.next() : 0));
    const close = {x: of(0), y: of(1), values: of(2)};
    const nearestOf = (fold: Int32Array) =>
      summarise(
        crossValidate(close, fold, (known, places) => ({
          values: inverseDistanceAt(indexPoints(known.x, known.y), known.values, places, {neighbours: 1}),
        })),
        close.values,
      ).rootMeanSquareError;
    expect(nearestOf(foldPerPoint(300))).toBeCloseTo(0, 12);
    expect(nearestOf(foldsOfSquares(close.x, close.y, 50, 10, seededRandom(1, "test")))).toBeGreaterThan(0.5);
  });
});

describe("a summary of errors", () => {
  it("sets each squared error against the one expected", () => {
    const told = {predicted: Float64Array.of(1, 2, 3, Number.NaN), variance: Float64Array.of(1, 4, 1, Number.NaN)};
    const found = Float64Array.of(2, 4, 3, 9);
    const summary = summarise(told, found);
    expect(summary).toMatchObject({count: 3, meanError: -1, meanAbsoluteError: 1, medianSquaredRatio: 1});
    expect(summary.meanSquaredRatio).toBeCloseTo(2 / 3, 12); // 1/1, 4/4, 0/1
    expect(summarise({predicted: told.predicted}, found).meanSquaredRatio).toBeUndefined();
  });
});

describe.skipIf(!haveMeuse)("leaving out meuse points, as by gstat 2.1-0 (skipped: no shared data)", () => {
  if (!haveMeuse) return;
  const known = meuse();

  it("by kriging with all points, and with 16 and 40", () => {
    const all = summarise(leaveOneOut(known, FIXED), known.values);
    expect(all.rootMeanSquareError).toBeCloseTo(0.391749474122, 10);
    expect(all.meanAbsoluteError).toBeCloseTo(0.292101080464, 10);
    expect(all.meanSquaredRatio).toBeCloseTo(0.822763313588, 10);
    expect(all.medianSquaredRatio).toBeCloseTo(0.21890407032, 9);
    const near = summarise(leaveOneOut(known, FIXED, {neighbours: 16}), known.values);
    expect(near.rootMeanSquareError).toBeCloseTo(0.389824951129, 9);
    const wider = summarise(leaveOneOut(known, FIXED, {neighbours: 40}), known.values);
    expect(wider.rootMeanSquareError).toBeCloseTo(0.386848468096, 9);
  });

  it("by inverse distance with all points, and with 12", () => {
    const index = indexPoints(known.x, known.y);
    const without = foldPerPoint(155);
    const rmse = (neighbours: number): number =>
      summarise({predicted: inverseDistanceAt(index, known.values, known, {neighbours, without})}, known.values)
        .rootMeanSquareError;
    expect(rmse(Infinity)).toBeCloseTo(0.513833073487, 10);
    expect(rmse(12)).toBeCloseTo(0.456700398206, 10);
  });
});
