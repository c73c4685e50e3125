import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {meanAround} from "../../src/grid/local-mean.ts";

describe("the mean of the ground around a cell", () => {
  it("leaves the cell itself out", () => {
    // 3 × 3, radius one cell: the four neighbours of the centre are 2, 4, 6 and 8.
    const values = Float64Array.of(1, 2, 3, 4, 50, 6, 7, 8, 9);
    expect(meanAround(values, 3, 1)[4]).toBe(5);
    expect(meanAround(values, 3, 1)[0]).toBe(3); // 2 and 4
    expect(meanAround(values, 3, 1.5)[4]).toBe(5); // all eight
  });

  it("within 25 m of a closed-form surface is that of a full search", () => {
    // z − mean at row 30, column 30: 0.5006798213 (independent search over the 80 cells within 25 m).
    const cols = 60;
    const z = Float64Array.from({length: cols * cols}, (_, i) => {
      const x = ((i % cols) + 0.5) * 5;
      const y = (cols - Math.floor(i / cols) - 0.5) * 5;
      return 120 + 3 * Math.sin(x / 37) + 2 * Math.cos(y / 23) + Math.sin((x + 2 * y) / 31) + 0.01 * x + 0.004 * y;
    });
    const at = 30 * cols + 30;
    expect((z[at] as number) - (meanAround(z, cols, 5)[at] as number)).toBeCloseTo(0.5006798213, 8);
  });

  it("counts known cells only", () => {
    const values = Float64Array.of(1, Number.NaN, 3, 4);
    expect([...meanAround(values, 4, 1)]).toEqual([Number.NaN, Number.NaN, 4, 3]);
  });

  it("agrees with a search over all cells, whatever the radius", () => {
    const height = fc.oneof(fc.integer({min: -50, max: 50}), fc.constant(Number.NaN));
    fc.assert(
      fc.property(fc.array(height, {minLength: 42, maxLength: 42}), fc.integer({min: 1, max: 9}), (list, reach) => {
        const means = meanAround(Float64Array.from(list), 6, reach);
        list.forEach((own, i) => {
          const near = list.filter(
            (z, j) =>
              j !== i &&
              !Number.isNaN(z) &&
              ((i % 6) - (j % 6)) ** 2 + (Math.floor(i / 6) - Math.floor(j / 6)) ** 2 <= reach * reach,
          );
          const expected =
            Number.isNaN(own) || near.length === 0 ? Number.NaN : near.reduce((a, b) => a + b, 0) / near.length;
          if (Number.isNaN(expected)) expect(means[i]).toBeNaN();
          else expect(means[i]).toBeCloseTo(expected, 10);
        });
      }),
    );
  });
});
