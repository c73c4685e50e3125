import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {slopeDegrees} from "../../src/grid/slope.ts";

const SIZE = 21;
const CELL = 5;
const MIDDLE = 52.5;

/** A surface on 21 × 21 cells of 5 m, at cell centres, row 0 north. */
function surface(z: (x: number, y: number) => number): Float64Array {
  return Float64Array.from({length: SIZE * SIZE}, (_, i) =>
    z(((i % SIZE) + 0.5) * CELL, (SIZE - Math.floor(i / SIZE) - 0.5) * CELL),
  );
}
const at = (values: Float64Array, row: number, col: number): number => values[row * SIZE + col] as number;

describe("Horn's slope", () => {
  it("of a plane is the plane's slope, at edges and corners too", () => {
    const slope = slopeDegrees(
      surface((x, y) => 100 + 0.03 * x + 0.04 * y),
      SIZE,
      CELL,
    );
    for (const value of slope) expect(value).toBeCloseTo(2.862405226, 8); // atan 5 %
  });

  it("of ground rising 10 % to the north is 5.71 degrees", () => {
    const slope = slopeDegrees(
      surface((_, y) => 0.1 * y),
      SIZE,
      CELL,
    );
    expect(at(slope, 10, 10)).toBeCloseTo(5.710593137, 9);
  });

  it("of a cone is a little less than the cone's", () => {
    // gdaldem 3.6.2, Float32: 1e-4 degrees.
    const cone = slopeDegrees(
      surface((x, y) => 50 - 0.2 * Math.hypot(x - MIDDLE, y - MIDDLE)),
      SIZE,
      CELL,
    );
    expect(at(cone, 5, 5)).toBeCloseTo(11.2823305, 4);
    expect(at(cone, 10, 15)).toBeCloseTo(11.1987572, 4);
  });

  it("of a bell is at most that of gdaldem, and below the true slope", () => {
    const bell = slopeDegrees(
      surface((x, y) => 100 + 10 * Math.exp(-((x - MIDDLE) ** 2 + (y - MIDDLE) ** 2) / 1250)),
      SIZE,
      CELL,
    );
    let most = 0;
    for (let row = 1; row < SIZE - 1; row++) {
      for (let col = 1; col < SIZE - 1; col++) most = Math.max(most, at(bell, row, col));
    }
    expect(most).toBeCloseTo(13.3537893, 4);
    expect(most).toBeLessThan((Math.atan(0.242612264) * 180) / Math.PI); // analytic, where the radius is sigma
  });

  it("beside no-data comes from a plane through what there is", () => {
    const heights = surface((x, y) => 0.03 * x + 0.04 * y);
    heights[10 * SIZE + 10] = Number.NaN;
    const slope = slopeDegrees(heights, SIZE, CELL);
    expect(at(slope, 10, 10)).toBeNaN();
    expect(at(slope, 10, 11)).toBeCloseTo(2.862405226, 8);
  });

  it("is unknown where too few heights are known or they stand in line", () => {
    expect(slopeDegrees(Float64Array.of(1, 2, 3), 3, 1)).toEqual(new Float64Array(3).fill(Number.NaN));
    const three = slopeDegrees(Float64Array.of(1, 2, 3, Number.NaN), 2, 1);
    expect(three).toEqual(new Float64Array(4).fill(Number.NaN));
  });
});

const dem = new URL("../../../shared/data/reference/dem/", import.meta.url);
describe.skipIf(!existsSync(dem))("Horn's slope of a real volcano (skipped: no shared data)", () => {
  const read = (name: string): number[] => readFileSync(new URL(name, dem), "utf8").trim().split(/[\n,]/).map(Number);

  it("is that of gdaldem 3.6.2 in every inner cell", () => {
    const table = readFileSync(new URL("volcano__slope_horn_deg.csv", dem), "utf8").trim().split("\n");
    const cols = table[0]?.split(",").length ?? 0;
    const expected = read("volcano__slope_horn_deg.csv");
    const slope = slopeDegrees(Float64Array.from(read("volcano_asR_87x61.csv")), cols, 10);
    let cells = 0;
    expected.forEach((value, i) => {
      if (value === -9999) return;
      cells++;
      expect(Math.abs((slope[i] as number) - value)).toBeLessThan(1e-4); // gdaldem works in Float32
    });
    expect(cells).toBe(5015);
  });
});
