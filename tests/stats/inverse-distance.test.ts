import {describe, expect, it} from "vitest";
import {type InverseDistanceOptions, inverseDistanceAt} from "../../src/stats/inverse-distance.ts";
import {indexPoints, nearestAround, roomAround} from "../../src/stats/point-index.ts";
import {haveMeuse, meuse, meuseGrid} from "./meuse.ts";

function one(x: number[], values: number[], at: number, options: InverseDistanceOptions = {}): number {
  const index = indexPoints(Float64Array.from(x), new Float64Array(x.length));
  const places = {x: Float64Array.of(at), y: Float64Array.of(0)};
  return inverseDistanceAt(index, Float64Array.from(values), places, options)[0] as number;
}

describe("inverse distance at a place", () => {
  it("weighs 10 at 1 m and 20 at 3 m to 11", () => {
    expect(one([-1, 3], [10, 20], 0)).toBeCloseTo(11, 12); // (10/1 + 20/9) / (1 + 1/9)
    expect(one([-1, 3], [10, 20], 0, {power: 1})).toBeCloseTo(12.5, 12); // (10 + 20/3) / (1 + 1/3)
  });

  it("at a point is the point", () => {
    expect(one([-1, 3], [10, 20], 3)).toBe(20);
  });

  it("stops at a distance, and asks for as many points as it must have", () => {
    expect(one([-1, 3], [10, 20], 0, {within: 2})).toBe(10);
    expect(one([-1, 3], [10, 20], 0, {within: 2, fewest: 2})).toBeNaN();
    expect(one([-1, 3], [10, 20], 0, {within: 0.5})).toBeNaN();
  });

  it("listens to all sides when asked", () => {
    // Four points to the west, the nearest of 8; one to the east, farther than any of them.
    const x = [-1, -2, -3, -4, 6];
    const values = [1, 1, 1, 1, 9];
    expect(one(x, values, 0, {neighbours: 4})).toBe(1);
    expect(one(x, values, 0, {neighbours: 4, sectors: 4})).toBeGreaterThan(1);
  });
});

describe("points on all sides", () => {
  it("are an even share of each side while it lasts, then the nearest", () => {
    const x = Float64Array.of(-1, -2, -3, -4, 6, 7);
    const y = Float64Array.of(1, 1, 1, 1, 1, 1);
    const found = roomAround(4);
    expect(nearestAround(indexPoints(x, y), 0, 0, found, 4)).toBe(4);
    // One from each of the two quarters that have any, the two nearest of the rest.
    expect([...found.index]).toEqual([0, 1, 2, 4]);
    const eighths = roomAround(8);
    expect(nearestAround(indexPoints(x, y), 0, 0, eighths, 8)).toBe(6);
  });
});

describe.skipIf(!haveMeuse)("inverse distance on meuse, as by gstat 2.1-0 (skipped: no shared data)", () => {
  if (!haveMeuse) return;
  const {x, y, values} = meuse();
  it.each([
    ["all points", Infinity, 6.34489184791],
    ["12 points", 12, 6.49526510292],
  ])("with %s at row 2000", (_, neighbours, expected) => {
    const found = inverseDistanceAt(indexPoints(x, y), values, meuseGrid(2000), {neighbours});
    expect(found[0]).toBeCloseTo(expected, 10);
  });
});
