import {describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import {coveragePct} from "../../src/grid/coverage.ts";
import {gridOver} from "../../src/grid/grid.ts";
import {inverseDistance} from "../../src/grid/inverse-distance.ts";
import {cropTo, widenGrid} from "../../src/grid/margin.ts";
import {smoothValues} from "../../src/grid/smooth.ts";
import {indexPoints} from "../../src/stats/point-index.ts";

const frame = frameAt(-93.6, 42.02);
const row = gridOver(frame, {west: 0, south: 0, east: 50, north: 10}, 10); // five cells, centres at 5, 15 … 45
const all = new Uint8Array(5).fill(1);

describe("inverse distance", () => {
  it("weighs 10 at 1 m and 20 at 3 m to 11", () => {
    const points = indexPoints(Float64Array.of(4, 8), Float64Array.of(5, 5));
    const values = inverseDistance(points, Float64Array.of(10, 20), row, all);
    expect(values[0]).toBeCloseTo(11, 12); // (10/1 + 20/9) / (1 + 1/9)
  });

  it("gives a point its own value, and points at one place their mean", () => {
    const points = indexPoints(Float64Array.of(15, 15, 40), Float64Array.of(5, 5, 5));
    expect(inverseDistance(points, Float64Array.of(3, 5, 100), row, all)[1]).toBe(4);
  });

  it("stops where points are far, and works on the cells asked for", () => {
    const points = indexPoints(Float64Array.of(5), Float64Array.of(5));
    const wanted = Uint8Array.of(1, 1, 1, 0, 1);
    expect([...inverseDistance(points, Float64Array.of(6), row, wanted, {withinM: 20})]).toEqual([
      6,
      6,
      6,
      Number.NaN,
      Number.NaN,
    ]);
  });

  it("lets no label outvote another", () => {
    // Six records of pass 0 a metre apart, one of pass 1 as near as the first: each pass two votes at most.
    const x = Float64Array.of(14, 13, 12, 11, 10, 9, 16);
    const points = indexPoints(x, new Float64Array(7).fill(5));
    const values = Float64Array.of(1, 1, 1, 1, 1, 1, 9);
    const labels = Int32Array.of(0, 0, 0, 0, 0, 0, 1);
    const fair = inverseDistance(points, values, row, all, {labels, mostOfOne: 1})[1] as number;
    expect(fair).toBe(5);
    expect(inverseDistance(points, values, row, all)[1]).toBeLessThan(5);
  });
});

describe("smoothing", () => {
  it("keeps a flat layer flat, also beside cells without data", () => {
    const values = Float64Array.of(4, 4, Number.NaN, 4, 4);
    const smooth = smoothValues(row, values, 8);
    for (const i of [0, 1, 3, 4]) expect(smooth[i]).toBeCloseTo(4, 12);
    expect(smooth[2]).toBeNaN();
  });

  it("with nothing to smooth by is a copy", () => {
    const values = Float64Array.of(1, 2, 3, 4, 5);
    const copy = smoothValues(row, values, 0);
    expect(copy).toEqual(values);
    expect(copy).not.toBe(values);
  });
});

describe("a margin around a grid", () => {
  it("adds whole cells and comes off again", () => {
    const wide = widenGrid(row, 12);
    expect([wide.cols, wide.rows, wide.west, wide.north]).toEqual([9, 5, -20, 30]);
    const numbered = Float64Array.from({length: 45}, (_, i) => i);
    expect([...cropTo(row, wide, numbered)]).toEqual([20, 21, 22, 23, 24]);
  });
});

describe("what a layer holds", () => {
  it("is counted inside the field only", () => {
    const values = Float64Array.of(1, 2, Number.NaN, 4, 100);
    const mask = Uint8Array.of(1, 1, 1, 1, 0);
    expect(coveragePct(values, mask)).toBe(75);
    expect(coveragePct(values, new Uint8Array(5))).toBe(0);
  });
});
