import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, invalidReason, loadGeos} from "../../src/geo/geos.ts";
import {areaM2} from "../../src/geo/measure.ts";
import {sharedBorders} from "../../src/geo/neighbours.ts";
import {dissolve, partition} from "../../src/geo/partition.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";

beforeAll(loadGeos);

const ring = (...points: [number, number][]): XY[] =>
  [...points, points[0] as [number, number]].map(([x, y]) => ({x, y}));
const line = (...points: [number, number][]): XY[] => points.map(([x, y]) => ({x, y}));

const square: MultiPolygon = [[ring([0, 0], [10, 0], [10, 10], [0, 10])]];
const withHole: MultiPolygon = [[ring([0, 0], [10, 0], [10, 10], [0, 10]), ring([4, 4], [4, 6], [6, 6], [6, 4])]];

describe("a shape divided by lines", () => {
  it("is whole again when every face carries one label", () => {
    const division = partition(withHole, [line([-1, 5], [11, 5]), line([5, -1], [5, 11])]);
    expect(division.faces).toHaveLength(4);
    const parts = dissolve(division, [1, 1, 1, 1]);
    expect(parts).toHaveLength(1);
    expect(areaM2(parts[0]?.shape ?? [])).toBe(96);
    expect(parts[0]?.shape[0]).toHaveLength(2); // the hole is kept
  });

  it("leaves holes of the outline out", () => {
    // 100 m² less the 4 m² hole, halves of 48.
    const division = partition(withHole, [line([-1, 5], [11, 5])]);
    expect(division.faces.map((f) => areaM2([f]))).toEqual([48, 48]);
  });

  it("keeps a neighbour's corner on the long side of a T", () => {
    const division = partition(square, [line([0, 5], [10, 5]), line([5, 5], [5, 10])]);
    const south = division.inside.findIndex((p) => p.y < 5);
    const parts = dissolve(
      division,
      division.inside.map((p) => (p.y < 5 ? 1 : p.x < 5 ? 2 : 3)),
    );
    const corner = parts[0]?.shape[0]?.[0]?.some((p) => p.x === 5 && p.y === 5);
    expect(south).toBeGreaterThanOrEqual(0);
    expect(corner).toBe(true);
    expect(
      coverageIsValid(
        parts.flatMap((p) => p.shape),
        0.1,
      ),
    ).toBe(true);
  });

  it("splits a checkerboard into four valid pieces", () => {
    const division = partition(square, [line([-1, 5], [11, 5]), line([5, -1], [5, 11])]);
    const labels = division.inside.map((p) => (p.x < 5 === p.y < 5 ? 1 : 2));
    const parts = dissolve(division, labels);
    expect(parts.map((p) => p.shape.length)).toEqual([2, 2]);
    for (const part of parts) expect(invalidReason(part.shape)).toBeUndefined();
  });

  it("puts an island in the hole it stands in", () => {
    const moat = ring([2, 2], [8, 2], [8, 8], [2, 8]);
    const island = ring([4, 4], [6, 4], [6, 6], [4, 6]);
    const division = partition(square, [moat, island]);
    const labels = division.inside.map((p) => {
      const reach = Math.max(Math.abs(p.x - 5), Math.abs(p.y - 5));
      return reach > 3 ? 1 : reach > 1 ? 2 : 1;
    });
    const [land, water] = dissolve(division, labels);
    expect(land?.shape).toHaveLength(2);
    expect(areaM2(land?.shape ?? [])).toBe(64 + 4);
    expect(areaM2(water?.shape ?? [])).toBe(32);
    expect(invalidReason(land?.shape ?? [])).toBeUndefined();
  });

  it("measures borders between faces", () => {
    const division = partition(square, [line([-1, 4], [11, 4])]);
    expect(sharedBorders(division).map((m) => [...m.values()])).toEqual([[10], [10]]);
  });
});
