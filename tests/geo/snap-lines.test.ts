import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {areaM2} from "../../src/geo/measure.ts";
import {partition} from "../../src/geo/partition.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import {snapLines} from "../../src/geo/snap-lines.ts";

beforeAll(loadGeos);

const line = (...points: [number, number][]): XY[] => points.map(([x, y]) => ({x, y}));
const square: MultiPolygon = [[line([0, 0], [10, 0], [10, 10], [0, 10], [0, 0])]];

describe("lines close to a border", () => {
  it("run through a corner they would pass", () => {
    expect(snapLines([line([-5, 5.2], [5.2, -5])], square, 0.25)).toEqual([line([-5, 5.2], [0, 0], [5.2, -5])]);
  });

  it("run along an edge they would follow", () => {
    expect(snapLines([line([2, 5], [3, 0.2], [7, -0.1], [8, 5])], square, 0.25)).toEqual([
      line([2, 5], [3, 0], [7, 0], [8, 5]),
    ]);
  });

  it("prefer a corner to the edge beside it", () => {
    expect(snapLines([line([5, 5], [0.2, 0.05])], square, 0.25)).toEqual([line([5, 5], [0, 0])]);
  });

  it("stay as they are when they keep their distance", () => {
    const far = line([1, 1], [5, 0.3], [9, 9]);
    expect(snapLines([far], square, 0.25)).toEqual([far]);
    expect(snapLines([line([4, -3], [5, 13])], square, 0.25)).toEqual([line([4, -3], [5, 13])]);
  });

  it("are left out when nothing is left of them, and pass corners in order", () => {
    expect(snapLines([line([0.1, 0.1], [0, 0.05])], square, 0.25)).toEqual([]);
    expect(snapLines([line([12, 0.1], [-2, 0.1])], square, 0.25)).toEqual([
      line([12, 0.1], [10, 0], [0, 0], [-2, 0.1]),
    ]);
  });

  it("leave no sliver behind when they cut the shape", () => {
    const wavy = line([-1, 5], [0.1, 5], [0.2, 3], [-0.1, 1], [0.1, 0.9], [4, 4], [11, 4]);
    const before = partition(square, [wavy]).faces;
    const after = partition(square, snapLines([wavy], square, 0.25)).faces;
    const least = (faces: typeof before): number => Math.min(...faces.map((face) => areaM2([face])));
    expect(least(before)).toBeLessThan(1);
    expect(least(after)).toBeGreaterThan(5);
    expect(areaM2(after)).toBeCloseTo(100, 6);
  });
});
