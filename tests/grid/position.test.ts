import {describe, expect, it} from "vitest";
import {positionAbove} from "../../src/grid/position.ts";
import {hasSharedTerrain, sharedTable, wavy} from "./terrain-surfaces.ts";

/** Every cell against every other, the slow way. */
function fullSearch(values: Float64Array, cols: number, cell: number, outer: number, inner: number): Float64Array {
  return values.map((z, i) => {
    const heights = [...values].filter((height, j) => {
      const far = cell * Math.hypot((j % cols) - (i % cols), Math.floor(j / cols) - Math.floor(i / cols));
      return j !== i && !Number.isNaN(height) && far <= outer && far > inner;
    });
    return z - heights.reduce((sum, height) => sum + height, 0) / heights.length;
  });
}

describe("topographic position", () => {
  const small = wavy.filter((_, i) => i % 60 < 25 && i < 60 * 20);
  small[130] = Number.NaN;

  it.each([
    [12, 0],
    [25, 0],
    [25, 12],
    [31, 24],
    [60, 3],
  ])("within %d m and beyond %d m is that of a full search", (outer, inner) => {
    const expected = fullSearch(small, 25, 5, outer, inner);
    positionAbove(small, 25, 5, outer, inner).forEach((value, i) => {
      if (Number.isNaN(expected[i] as number)) expect(value).toBeNaN();
      else expect(value).toBeCloseTo(expected[i] as number, 10);
    });
  });

  it("within 25 m of one cell of rolling ground is half a metre", () => {
    expect(positionAbove(wavy, 60, 5, 25)[30 * 60 + 30]).toBeCloseTo(0.5006798213, 9); // independent full search
  });

  it("is nothing on a plane, except at its edges", () => {
    const plane = Float64Array.from({length: 400}, (_, i) => 0.03 * (i % 20) - 0.02 * Math.floor(i / 20));
    const position = positionAbove(plane, 20, 1, 4, 2);
    expect(Math.abs(position[10 * 20 + 10] as number)).toBeLessThan(1e-12);
    expect(position[0]).not.toBeCloseTo(0, 3);
  });
});

describe.skipIf(!hasSharedTerrain)("a real volcano (skipped: no shared data)", () => {
  it("has the position over eight neighbours of gdaldem 3.6.2", () => {
    const {values, cols} = sharedTable("volcano_asR_87x61.csv");
    const position = positionAbove(values, cols, 10, 15);
    expect(position[43 * cols + 20]).toBe(-0.5);
    sharedTable("volcano__tpi.csv").values.forEach((expected, i) => {
      if (expected !== -9999) expect(position[i]).toBeCloseTo(expected, 4); // Float32
    });
  });
});
