import {beforeAll, describe, expect, it} from "vitest";
import {equalAreaShapes, equalParts} from "../../src/geo/equal-parts.ts";
import {coverageIsValid, loadGeos} from "../../src/geo/geos.ts";
import {chords, clip, lineCuttingOff, nearSide, normalAt, pointAt} from "../../src/geo/half-plane.ts";
import {areaM2, boxOf, contains, ringAreaM2} from "../../src/geo/measure.ts";
import {mergeSmallFaces} from "../../src/geo/merge-faces.ts";
import {nearestPointIn} from "../../src/geo/nearest.ts";
import {convexHull, orientedBox, runningAngle} from "../../src/geo/oriented-box.ts";
import {partition} from "../../src/geo/partition.ts";
import type {MultiPolygon, Ring, XY} from "../../src/geo/shapes.ts";

beforeAll(loadGeos);

const ring = (...points: [number, number][]): Ring =>
  [...points, points[0] as [number, number]].map(([x, y]) => ({x, y}));
const line = (...points: [number, number][]): XY[] => points.map(([x, y]) => ({x, y}));
const square: MultiPolygon = [[ring([0, 0], [12, 0], [12, 12], [0, 12])]];
const withHole: MultiPolygon = [[ring([0, 0], [12, 0], [12, 12], [0, 12]), ring([4, 4], [4, 8], [8, 8], [8, 4])]];
const triangle: MultiPolygon = [[ring([0, 0], [900, 0], [0, 700])]];
const area = (rings: readonly Ring[]): number => rings.reduce((sum, r) => sum + ringAreaM2(r), 0);

describe("a line across a shape", () => {
  it("cuts off the area asked for", () => {
    // By hand: 48 of 144 m² is 4 m of 12; of a triangle a quarter of the area from its tip is half its height.
    expect(lineCuttingOff(square.flat(), normalAt(0), 48).offset).toBeCloseTo(4, 10);
    expect(lineCuttingOff(triangle.flat(), {x: 0, y: -1}, 315_000 / 4).offset).toBeCloseTo(-350, 8);
  });

  it("does so over holes and far from the origin", () => {
    const far = withHole.map((p) => p.map((r) => r.map(({x, y}) => ({x: x + 9e3, y: y - 8e3}))));
    const cut = lineCuttingOff(far.flat(), normalAt(0.7), 50);
    expect(nearSide(far.flat(), cut).areaM2).toBeCloseTo(50, 8);
    expect(area(clip(far.flat(), cut, 1))).toBeCloseTo(50, 8);
    expect(area(clip(far.flat(), cut, -1))).toBeCloseTo(78, 8);
  });

  it("runs inside in as many stretches as there are", () => {
    const pieces = chords(withHole.flat(), {normal: {x: 1, y: 0}, offset: 6});
    expect(pieces.map(({from, to}) => [from.y, to.y])).toEqual([
      [0, 4],
      [8, 12],
    ]);
    expect(nearSide(withHole.flat(), {normal: {x: 1, y: 0}, offset: 6})).toEqual({areaM2: 64, lengthM: 8});
  });

  it("and a share of it name every point of a shape, none outside", () => {
    // u = ¼ of 128 m² lies west of x = 2⅔; v = ½ of the 12 m there is y = 6.
    const p = pointAt(withHole.flat(), 0.25, 0.5);
    expect(p.x).toBeCloseTo(32 / 12, 9);
    expect(p.y).toBeCloseTo(6, 9);
    for (let i = 1; i < 20; i++) {
      for (let j = 1; j < 20; j++) {
        const q = pointAt(withHole.flat(), i / 20, j / 20 + 0.001);
        expect(contains(withHole, q.x, q.y)).toBe(true);
      }
    }
  });
});

describe("parts of equal area", () => {
  it("are nine squares of a square", () => {
    const boxes = equalAreaShapes(square, 9, 0).map(boxOf);
    for (const box of boxes) {
      expect(box.east - box.west).toBeCloseTo(4, 6);
      expect(box.north - box.south).toBeCloseTo(4, 6);
    }
  });

  it("lie across the long side of a strip", () => {
    const strip: MultiPolygon = [[ring([0, 0], [100, 0], [100, 10], [0, 10])]];
    expect(equalAreaShapes(strip, 5, 0).map((part) => boxOf(part).east - boxOf(part).west)).toEqual(
      Array.from({length: 5}, () => expect.closeTo(20, 6)),
    );
  });

  it("know which part holds a point, for any count", () => {
    for (let count = 1; count <= 23; count++) {
      const {parts, partAt} = equalParts(withHole, count, 0.3);
      expect(parts).toHaveLength(count);
      parts.forEach((rings, i) => {
        expect(area(rings)).toBeCloseTo(128 / count, 8);
        expect(partAt(pointAt(rings, 0.37, 0.61))).toBe(i);
      });
    }
  });

  it("tile a triangle whose cuts meet in one point of its edge", () => {
    // Halving a right triangle at half its height puts the ends of two cuts on the middle of the long side.
    const parts = equalAreaShapes(triangle, 4, orientedBox(triangle).angle);
    expect(parts.map((part) => part.length)).toEqual([1, 1, 1, 1]);
    expect(coverageIsValid(parts.flat(), 0.1)).toBe(true);
    for (const part of parts) expect(areaM2(part) / (315_000 / 4)).toBeCloseTo(1, 6);
  });
});

describe("small faces", () => {
  it("join the neighbour with the longest border, smallest first, and may grow together", () => {
    // Strips of 1, 2 and 9 m: the first joins the second (its only neighbour), and both, 36 m², the third.
    const division = partition(square, [line([1, -1], [1, 13]), line([3, -1], [3, 13])]);
    const widths = division.faces.map((face) => boxOf([face]).east - boxOf([face]).west);
    const {leader, merged} = mergeSmallFaces(division, 40);
    expect(merged).toBe(2);
    expect(new Set(leader)).toEqual(new Set([widths.indexOf(9)]));
    expect(mergeSmallFaces(division, 30).merged).toBe(1);
    expect(mergeSmallFaces(division, 0).leader).toEqual([0, 1, 2]);
  });

  it("take the longer of two borders", () => {
    // A strip of 24 m² with 5 m of border to one neighbour (50 m²) and 7 m to the other (70 m²).
    const division = partition(square, [line([2, -1], [2, 13]), line([2, 5], [13, 5])]);
    const of = (size: number): number => division.faces.findIndex((face) => Math.abs(areaM2([face]) - size) < 1e-6);
    const {leader} = mergeSmallFaces(division, 30);
    expect(leader[of(24)]).toBe(of(70));
    expect(leader[of(50)]).toBe(of(50));
  });

  it("without a neighbour stay alone", () => {
    const two: MultiPolygon = [...square, [ring([20, 0], [21, 0], [21, 1], [20, 1])]];
    expect(mergeSmallFaces(partition(two, []), 10)).toEqual({leader: [0, 1], merged: 0});
  });
});

describe("the smallest rectangle around a shape", () => {
  it("follows a turned field and names its long side", () => {
    for (const degrees of [-80, -30, 0, 20, 45, 90]) {
      const a = (degrees * Math.PI) / 180;
      const turned = [[ring([0, 0], [90, 0], [90, 40], [0, 40]).map(({x, y}) => turn({x, y}, a))]];
      const box = orientedBox(turned);
      expect(box.length).toBeCloseTo(90, 9);
      expect(box.width).toBeCloseTo(40, 9);
      expect(Math.abs(Math.sin(box.angle - a))).toBeLessThan(1e-9);
      expect(box.centre).toEqual({
        x: expect.closeTo(turn({x: 45, y: 20}, a).x, 9),
        y: expect.closeTo(turn({x: 45, y: 20}, a).y, 9),
      });
    }
  });

  it("runs east for a square, and does not mind a notch or more corners on a side", () => {
    expect(orientedBox(square).angle).toBe(0);
    const notched: MultiPolygon = [[ring([0, 0], [5, 0], [9, 0], [9, 2], [6, 1], [9, 4], [0, 4])]];
    expect(orientedBox(notched)).toEqual({angle: 0, centre: {x: 4.5, y: 2}, length: 9, width: 4});
    expect(convexHull(notched.flat(2))).toHaveLength(4);
  });
});

describe("the direction a field runs in", () => {
  it("is that of its largest part, not of the gap between its parts", () => {
    const apart: MultiPolygon = [
      [ring([0, 0], [9, 0], [9, 4], [0, 4])],
      [ring([50, 60], [53, 60], [53, 63], [50, 63])],
    ];
    expect(runningAngle(apart)).toBe(0);
    expect(orientedBox(apart).angle).toBeGreaterThan(0.5);
  });
});

describe("the nearest point of a shape", () => {
  it("is the point itself inside, else on an edge, also of a hole", () => {
    expect(nearestPointIn(withHole, {x: 1, y: 2})).toEqual({x: 1, y: 2});
    expect(nearestPointIn(withHole, {x: 15, y: 3})).toEqual({x: 12, y: 3});
    expect(nearestPointIn(withHole, {x: 5, y: 6})).toEqual({x: 4, y: 6});
    expect(nearestPointIn(withHole, {x: -3, y: -4})).toEqual({x: 0, y: 0});
  });
});

function turn({x, y}: XY, a: number): XY {
  return {x: x * Math.cos(a) - y * Math.sin(a), y: x * Math.sin(a) + y * Math.cos(a)};
}
