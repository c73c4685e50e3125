import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {ranks, spearman} from "../../src/stats/rank-correlation.ts";

describe("Spearman's rank correlation", () => {
  it("is 1 for any rising relation and −1 for any falling one", () => {
    const x = [1, 2, 3, 4, 5];
    expect(spearman(x, [1, 8, 27, 64, 125])).toBeCloseTo(1, 15);
    expect(spearman(x, [5, 4, 3, 2, 1])).toBeCloseTo(-1, 15);
  });

  it("lets ties share their mean rank", () => {
    expect(ranks(Float64Array.of(10, 20, 20, 5))).toEqual(Float64Array.of(2, 3.5, 3.5, 1));
    // SciPy 1.17.1 spearmanr.
    expect(spearman([1, 2, 2, 3, 5, 5, 5, 8], [2, 1, 4, 4, 4, 9, 7, 7])).toBeCloseTo(0.79746835443038, 12);
  });

  it("uses the pairs that have both numbers", () => {
    expect(spearman([1, 2, Number.NaN, 3, 4], [1, 2, 0, Number.NaN, 3])).toBe(1);
  });

  it("says nothing of two pairs or of a constant column", () => {
    expect(spearman([1, 2], [1, 2])).toBeNaN();
    expect(spearman([1, 2, 3], [4, 4, 4])).toBeNaN();
  });

  it("does not care how a column is stretched", () => {
    const column = fc.array(fc.integer({min: 0, max: 30}), {minLength: 5, maxLength: 20});
    fc.assert(
      fc.property(column, column, (a, b) => {
        const n = Math.min(a.length, b.length);
        const [x, y] = [a.slice(0, n), b.slice(0, n)];
        const r = spearman(x, y);
        expect(spearman(x.map(Math.exp), y)).toBeCloseTo(r, 12);
        expect(Number.isNaN(r) || Math.abs(r) <= 1 + 1e-12).toBe(true);
      }),
    );
  });
});
