import fc from "fast-check";
import {expect, describe as group, it} from "vitest";
import {
  describe,
  finite,
  MAD_TO_SD,
  mad,
  median,
  medianInPlace,
  quantile,
  quantiles,
  typicalOf,
} from "../../src/stats/robust.ts";

const numbers = fc.array(fc.double({noNaN: true, min: -1e6, max: 1e6}), {minLength: 1, maxLength: 60});

group("medians and quantiles", () => {
  it("of 1 to 9 are known by hand", () => {
    const values = [9, 1, 8, 2, 7, 3, 6, 4, 5];
    expect(median(values)).toBe(5);
    expect(quantile(values, 0.25)).toBe(3);
    expect(quantiles(values, [0, 0.5, 1])).toEqual([1, 5, 9]);
    // SciPy 1.17.1, median_abs_deviation(scale="normal").
    expect(mad(values) * MAD_TO_SD).toBeCloseTo(2.965204437011204, 12);
  });

  it("lie between order statistics by a straight line (type 7)", () => {
    expect(quantile([1, 2, 3, 4], 0.25)).toBe(1.75); // NumPy 1.24 and R 4.2.2 agree
  });

  it("skip what is not a number, and are NaN when nothing is left", () => {
    expect(median([Number.NaN, 3, Infinity, 1, 2])).toBe(2);
    expect(finite([Number.NaN, 3, Infinity, 1])).toEqual(Float64Array.of(3, 1));
    expect([median([]), quantile([Number.NaN], 0.5), mad([])]).toEqual([Number.NaN, Number.NaN, Number.NaN]);
  });

  it("of a scratch array agree with sorting it", () => {
    fc.assert(
      fc.property(numbers, (values) => {
        const sorted = Float64Array.from(values).sort();
        const half = sorted.length >> 1;
        const expected =
          sorted.length % 2 === 1 ? sorted[half] : ((sorted[half - 1] as number) + (sorted[half] as number)) / 2;
        expect(medianInPlace(Float64Array.from(values), values.length)).toBe(expected);
      }),
    );
  });

  it("do not change the values they are asked about", () => {
    const values = Float64Array.of(3, 1, 2);
    median(values);
    describe(values);
    expect(values).toEqual(Float64Array.of(3, 1, 2));
  });
});

group("a scale to set windows by", () => {
  it("is the median of the positive values", () => {
    expect(typicalOf(Float64Array.of(0, -4, 2, 3, 4, Number.NaN))).toBe(3);
    expect(typicalOf(Float64Array.of(0, Number.NaN))).toBeNaN();
  });

  it("looks at ten thousand of many values", () => {
    const many = Float64Array.from({length: 100_001}, (_, i) => i);
    expect(typicalOf(many)).toBeCloseTo(50_000, -2); // every tenth value
  });
});

group("a description of a column", () => {
  it("agrees with SciPy 1.17.1 (bias=False)", () => {
    const d = describe([2, 3, 5, 7, 11, 13, 17, 40, Number.NaN]);
    expect(d.count).toBe(8);
    expect(d.mean).toBe(12.25);
    expect([d.lowerQuartile, d.upperQuartile, d.min, d.max]).toEqual([4.5, 14, 2, 40]);
    expect(d.skewness).toBeCloseTo(1.935321034605702, 12);
    expect(d.kurtosis).toBeCloseTo(4.2065225170391445, 12);
  });

  it("has no shape where nothing varies", () => {
    const d = describe([4, 4, 4, 4]);
    expect([d.sd, d.cvPct]).toEqual([0, 0]);
    expect(d.skewness).toBeNaN();
    expect(describe([]).count).toBe(0);
    expect(describe([]).median).toBeNaN();
  });
});
