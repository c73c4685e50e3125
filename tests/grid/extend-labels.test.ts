import {describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import {extendLabels} from "../../src/grid/extend-labels.ts";
import {gridOver} from "../../src/grid/grid.ts";

const grid = gridOver(frameAt(0, 45), {west: 0, south: 0, east: 20, north: 10}, 5);

describe("labels carried over the edge", () => {
  // Two rows of four cells: 1 on the west, 2 on the east, a gap between.
  const labels = Uint8Array.of(1, 0, 0, 2, 1, 0, 0, 2);

  it("fill every cell from the nearest", () => {
    const wide = extendLabels(grid, labels, {west: 0, south: 0, east: 20, north: 10}, 1);
    expect([wide.grid.cols, wide.grid.rows, wide.grid.west, wide.grid.north]).toEqual([6, 4, -5, 15]);
    expect([...wide.labels]).toEqual([1, 1, 1, 2, 2, 2, 1, 1, 1, 2, 2, 2, 1, 1, 1, 2, 2, 2, 1, 1, 1, 2, 2, 2]);
  });

  it("say which cell each label comes from", () => {
    const wide = extendLabels(grid, labels, {west: 0, south: 0, east: 20, north: 10}, 1);
    expect([...wide.source]).toEqual([0, 0, 0, 3, 3, 3, 0, 0, 0, 3, 3, 3, 4, 4, 4, 7, 7, 7, 4, 4, 4, 7, 7, 7]);
  });

  it("reach past a field that is larger than its grid", () => {
    const wide = extendLabels(grid, labels, {west: -12, south: -1, east: 29, north: 10}, 2);
    expect(wide.grid.west).toBe(-25); // three cells for 12 m, two of margin
    expect(wide.grid.west + wide.grid.cols * 5).toBe(40);
    expect(wide.grid.north).toBe(20);
    expect(wide.grid.north - wide.grid.rows * 5).toBe(-15);
    expect([...new Set(wide.labels)].sort()).toEqual([1, 2]);
  });
});
