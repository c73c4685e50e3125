import {describe, expect, it} from "vitest";
import {labelPoint} from "../../web/map/label-point.ts";

// Degrees about the equator, where a degree is as long in both directions.
const DEGREE_M = 111_320;
const square = (west: number, south: number, size: number) => [
  [west, south],
  [west + size, south],
  [west + size, south + size],
  [west, south + size],
  [west, south],
];

describe("the place of a label", () => {
  it("is the middle of a square, with half its side as room", () => {
    const found = labelPoint([square(0, 0, 0.01)]);
    expect(found?.lon).toBeCloseTo(0.005, 5);
    expect(found?.lat).toBeCloseTo(0.005, 5);
    // By hand: 0.005 degrees; the search is good to a few metres.
    expect(Math.abs((found?.room ?? 0) - 0.005 * DEGREE_M)).toBeLessThan(5);
  });

  it("is inside an L, where its middle is not", () => {
    const l = [
      [0, 0],
      [0.01, 0],
      [0.01, 0.002],
      [0.002, 0.002],
      [0.002, 0.01],
      [0, 0.01],
      [0, 0],
    ];
    const found = labelPoint([l]);
    // The largest circle touches both outer sides and the inner corner: r = 0.002 × (2 − √2) from each side.
    expect(Math.abs((found?.room ?? 0) / DEGREE_M - 0.002 * (2 - Math.SQRT2))).toBeLessThan(5 / DEGREE_M);
  });

  it("leaves a wide label as much less room to its sides as it is wider than high", () => {
    const upright = [
      [0, 0],
      [0.006, 0],
      [0.006, 0.02],
      [0, 0.02],
      [0, 0],
    ];
    const level = upright.map(([x = 0, y = 0]) => [y, x]);
    // By hand: half of 0.006, for the upright one in parts of a label 2.2 times as wide as high.
    expect(Math.abs((labelPoint([level], 2.2)?.room ?? 0) / DEGREE_M - 0.003)).toBeLessThan(5 / DEGREE_M);
    expect(Math.abs((labelPoint([upright], 2.2)?.room ?? 0) / DEGREE_M - 0.003 / 2.2)).toBeLessThan(5 / DEGREE_M);
    expect(labelPoint([upright], 2.2)?.lon).toBeCloseTo(0.003, 5);
  });

  it("keeps out of holes", () => {
    const found = labelPoint([square(0, 0, 0.01), square(0.002, 0.002, 0.006)]);
    const inHole = (x: number) => x > 0.002 && x < 0.008;
    expect(inHole(found?.lon ?? 0.005) && inHole(found?.lat ?? 0.005)).toBe(false);
    expect(found?.room).toBeGreaterThan(0.0009 * DEGREE_M);
  });

  it("is nowhere for a shape without corners", () => {
    expect(labelPoint([])).toBeUndefined();
    expect(labelPoint([[[0, 0]]])).toBeUndefined();
  });
});
