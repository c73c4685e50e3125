import {describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import {wideCells} from "../../src/grid/distance-to-border.ts";
import type {Grid} from "../../src/grid/grid.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {metres} from "../../src/units/quantity.ts";

const gridOf = (cols: number, rows: number, cellSize = 5): Grid => ({
  frame: frameAt(-86.4, 40.55),
  west: metres(0),
  north: metres(rows * cellSize),
  cellSize: metres(cellSize),
  cols,
  rows,
});

/** The map as text, one letter a cell; "." is outside. */
const labels = (...rows: string[]): Uint8Array =>
  Uint8Array.from([...rows.join("")].map((c) => (c === "." ? 0 : Number(c))));
const picture = (cells: Uint8Array, cols: number): string[] =>
  Array.from({length: cells.length / cols}, (_, row) => cells.subarray(row * cols, (row + 1) * cols).join(""));

describe("ground a disc can reach", () => {
  it("is a strip as wide as the disc, of an even or an odd number of cells", () => {
    const strip = (cells: number): Uint8Array =>
      Uint8Array.from({length: 40 * 20}, (_, i) => (Math.floor(i / 40) < cells ? 1 : 2));
    // 15, 20, 25 and 30 m against 20 m; away from the ends, where corners stay out.
    const middle = (cells: number, widthM: number): number | undefined =>
      wideCells(gridOf(40, 20), strip(cells), widthM)[40 + 20];
    expect([3, 4, 5, 6].map((cells) => middle(cells, 20))).toEqual([0, 1, 1, 1]);
    expect([3, 4, 5, 6].map((cells) => middle(cells, 25))).toEqual([0, 0, 1, 1]);
  });

  it("leaves out corners: of a square of 30 m, those 15 m from its middle in both ways", () => {
    // A disc of 30 m fits in one place. A cell's centre is reached when within 15 m: (12.5, 7.5) is 14.6 m, and
    // (12.5, 12.5) is 17.7 m away.
    const square = labels(...Array.from({length: 6}, () => "111111"));
    expect(picture(wideCells(gridOf(6, 6), square, 30), 6)).toEqual([
      "011110",
      "111111",
      "111111",
      "111111",
      "111111",
      "011110",
    ]);
  });

  it("ends at the field's edge, at holes and at the grid's edge", () => {
    const map = labels(".....11111", ".....11111", "1111111111", "1111111111", "1111111111", "1111111111");
    const wide = wideCells(gridOf(10, 6), map, 30);
    // The leg in the west is 20 m wide.
    expect(wide[3 * 10]).toBe(0);
    expect(wide[3 * 10 + 7]).toBe(0); // 25 m wide there
    expect(wideCells(gridOf(10, 6), map, 20)[3 * 10 + 2]).toBe(1);
  });

  it("is all ground at width 0, and none when the width is more than the map's", () => {
    const map = labels("1122.", "11233");
    expect([...wideCells(gridOf(5, 2), map, 0)]).toEqual([...map].map((v) => (v ? 1 : 0)));
    expect(wideCells(gridOf(5, 2), map, 50)).toEqual(new Uint8Array(10));
  });

  it("agrees with trying every disc, on random maps", () => {
    const random = seededRandom(4, "maps");
    for (let trial = 0; trial < 40; trial++) {
      const grid = gridOf(4 + random.integer(12), 4 + random.integer(12), 1);
      const blocks = Array.from({length: 16}, () => random.integer(3));
      const map = Uint8Array.from(
        {length: grid.cols * grid.rows},
        (_, i) => blocks[4 * Math.floor(Math.floor(i / grid.cols) / 4) + Math.floor((i % grid.cols) / 4)] as number,
      );
      const width = 0.5 + random.integer(10) / 2;
      expect(wideCells(grid, map, width)).toEqual(byTrying(grid, map, width));
    }
  });
});

/** Every disc on the half-cell lattice, tested against every cell as a square. */
function byTrying({cols, rows}: Grid, map: Uint8Array, width: number): Uint8Array {
  const out = new Uint8Array(map.length);
  const at = (row: number, col: number): number =>
    row < 0 || col < 0 || row >= rows || col >= cols ? 0 : (map[row * cols + col] as number);
  const gap = (p: number, low: number): number => Math.max(0, low - p, p - low - 1);
  for (let y = 0; y <= rows; y += 0.5) {
    for (let x = 0; x <= cols; x += 0.5) {
      const label = at(Math.min(rows - 1, Math.floor(y)), Math.min(cols - 1, Math.floor(x)));
      if (label === 0) continue;
      let fits = true;
      for (let row = -1; row <= rows; row++) {
        for (let col = -1; col <= cols; col++) {
          if (at(row, col) !== label && Math.hypot(gap(x, col), gap(y, row)) < width / 2 - 1e-9) fits = false;
        }
      }
      if (!fits) continue;
      for (let row = 0; row < rows; row++) {
        for (let col = 0; col < cols; col++) {
          if (at(row, col) === label && Math.hypot(col + 0.5 - x, row + 0.5 - y) <= width / 2 + 1e-9) {
            out[row * cols + col] = 1;
          }
        }
      }
    }
  }
  return out;
}
