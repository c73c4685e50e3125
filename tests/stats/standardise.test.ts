import {describe, expect, it} from "vitest";
import {clippedScale, robustScale, zScore} from "../../src/stats/standardise.ts";
import {varianceExplained} from "../../src/stats/variance-explained.ts";

describe("the clipped z-score", () => {
  it("is the plain z-score when nothing is clipped", () => {
    // 2, 4, 4, 4, 5, 5, 7, 9: mean 5, population standard deviation 2.
    const scale = clippedScale([2, 4, 4, 4, 5, 5, 7, 9], 0);
    expect(scale).toEqual({low: 2, high: 9, centre: 5, spread: 2});
    expect(scale && zScore(scale, 9)).toBe(2);
  });

  it("does not let one wild value set the scale", () => {
    const values = Array.from({length: 1001}, (_, i) => i / 100);
    const calm = clippedScale(values);
    const wild = clippedScale([...values, 1e9]);
    expect(wild?.spread).toBeCloseTo(calm?.spread ?? 0, 1);
    expect(wild && zScore(wild, 1e9)).toBeLessThan(2);
  });

  it("skips cells without data and keeps them so", () => {
    const scale = clippedScale([Number.NaN, 1, 3, Number.NaN], 0);
    expect(scale).toEqual({low: 1, high: 3, centre: 2, spread: 1});
    expect(scale && zScore(scale, Number.NaN)).toBeNaN();
  });

  it("has no scale for nothing, for a constant, and for a constant but for a few wild values", () => {
    expect(clippedScale([])).toBeUndefined();
    expect(clippedScale([0.1, 0.1, 0.1])).toBeUndefined();
    expect(clippedScale([...new Array(500).fill(3.3), 8])).toBeUndefined();
  });
});

describe("the robust z-score", () => {
  it("is by median and median absolute deviation", () => {
    // 1 2 3 4 100: median 3, deviations 2 1 0 1 97, their median 1.
    const scale = robustScale([1, 2, 3, 4, 100], 0);
    expect(scale).toEqual({low: 1, high: 100, centre: 3, spread: expect.closeTo(1.482602218505602, 12)});
    expect(scale && zScore(scale, 4)).toBeCloseTo(0.6744897501960817, 12);
  });

  it("is not widened by a long tail", () => {
    const values = Array.from({length: 1000}, (_, i) => (i < 900 ? i / 900 : 50 + i));
    expect(robustScale(values)?.spread).toBeLessThan(1);
    expect(clippedScale(values)?.spread).toBeGreaterThan(100);
  });

  it("falls back on the standard deviation when over half of the values are one", () => {
    const values = [...new Array(60).fill(0), ...new Array(40).fill(2)];
    expect(robustScale(values)).toEqual({low: 0, high: 2, centre: 0, spread: expect.closeTo(Math.sqrt(0.96), 12)});
  });

  it("has no scale for a constant", () => {
    expect(robustScale([0.1, 0.1, Number.NaN, 0.1])).toBeUndefined();
    expect(robustScale([])).toBeUndefined();
  });
});

describe("variance explained", () => {
  it("adds up over columns and skips gaps", () => {
    // Column 1: 0 2 | 10 12, within 2 + 2, total 104. Column 2: 5 gap | 7 gap, within 0, total 2.
    const values = Float64Array.of(0, 5, 2, Number.NaN, 10, 7, 12, Number.NaN);
    expect(varianceExplained({values, dims: 2}, [0, 0, 1, 1])).toBeCloseTo(1 - 4 / 106, 12);
  });

  it("is nought for one group, one for groups of equals, nought when nothing varies", () => {
    const points = {values: Float64Array.of(1, 1, 4), dims: 1};
    expect(varianceExplained(points, [3, 3, 3])).toBe(0);
    expect(varianceExplained(points, [1, 1, 2])).toBe(1);
    expect(varianceExplained({values: Float64Array.of(2, 2), dims: 1}, [0, 1])).toBe(0);
  });
});
