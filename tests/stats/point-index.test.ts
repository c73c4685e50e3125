import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {forEachWithin, indexPoints, nearest, roomFor} from "../../src/stats/point-index.ts";

// A coarse lattice, so that equal distances and doubled points are common.
const points = fc.array(fc.tuple(fc.integer({min: 0, max: 12}), fc.integer({min: 0, max: 12})), {
  minLength: 1,
  maxLength: 80,
});
const place = fc.tuple(fc.integer({min: -6, max: 18}), fc.integer({min: -6, max: 18}));

const columns = (list: readonly (readonly [number, number])[]) => ({
  x: Float64Array.from(list, ([x]) => x),
  y: Float64Array.from(list, ([, y]) => y),
});

function byHand(list: readonly (readonly [number, number])[], [px, py]: readonly [number, number]) {
  return list.map(([x, y], i) => ({i, d: (x - px) ** 2 + (y - py) ** 2})).sort((a, b) => a.d - b.d || a.i - b.i);
}

describe("the nearest points", () => {
  it("are those found by looking at all of them, ties by index", () => {
    fc.assert(
      fc.property(points, place, fc.integer({min: 1, max: 9}), (list, at, k) => {
        const {x, y} = columns(list);
        const found = roomFor(k);
        const count = nearest(indexPoints(x, y), at[0], at[1], found);
        const expected = byHand(list, at).slice(0, k);
        expect([...found.index.slice(0, count)]).toEqual(expected.map((e) => e.i));
        expect([...found.distance2.slice(0, count)]).toEqual(expected.map((e) => e.d));
      }),
    );
  });

  it("stop at a distance, and pass over the one asked about", () => {
    fc.assert(
      fc.property(points, place, fc.integer({min: 0, max: 7}), (list, at, within) => {
        const {x, y} = columns(list);
        const found = roomFor(5);
        const count = nearest(indexPoints(x, y), at[0], at[1], found, within, 0);
        const expected = byHand(list, at)
          .filter((e) => e.i !== 0 && e.d <= within * within)
          .slice(0, 5);
        expect([...found.index.slice(0, count)]).toEqual(expected.map((e) => e.i));
      }),
    );
  });

  it("are found on a line, at one place, and among points without a position", () => {
    const found = roomFor(2);
    const line = indexPoints(Float64Array.of(0, 100, 200, Number.NaN), Float64Array.of(5, 5, 5, 5));
    expect(nearest(line, 190, 5, found)).toBe(2);
    expect([...found.index]).toEqual([2, 1]);
    const heap = indexPoints(Float64Array.of(1, 1, 1), Float64Array.of(1, 1, 1));
    expect(nearest(heap, 7, 7, found)).toBe(2);
    expect([...found.index]).toEqual([0, 1]);
    expect(nearest(indexPoints(new Float64Array(0), new Float64Array(0)), 0, 0, found)).toBe(0);
  });
});

describe("the points within a radius", () => {
  it("are those found by looking at all of them", () => {
    fc.assert(
      fc.property(points, place, fc.integer({min: 0, max: 9}), (list, at, radius) => {
        const {x, y} = columns(list);
        const found: number[] = [];
        forEachWithin(indexPoints(x, y), at[0], at[1], radius, (i) => found.push(i));
        const expected = byHand(list, at).filter((e) => e.d <= radius * radius);
        expect(found.sort((a, b) => a - b)).toEqual(expected.map((e) => e.i).sort((a, b) => a - b));
      }),
    );
  });
});
