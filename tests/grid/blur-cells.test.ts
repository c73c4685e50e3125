import {describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import {blurCells} from "../../src/grid/blur-cells.ts";
import {gridOver} from "../../src/grid/grid.ts";

const grid = (size: number, cells: number) =>
  gridOver(frameAt(0, 45), {west: 0, south: 0, east: size * cells, north: size * cells}, size);

describe("a bell-shaped blur", () => {
  it("spreads one cell as a bell and loses nothing inside the grid", () => {
    const g = grid(5, 41);
    const values = new Float64Array(41 * 41);
    values[20 * 41 + 20] = 1;
    const blurred = blurCells(g, values, 15);
    expect(blurred.reduce((a, b) => a + b, 0)).toBeCloseTo(1, 12);
    // Sigma is 3 cells: at 3 cells along a row the weight is exp(-1/2) of the middle, at (3, 3) exp(-1).
    const middle = blurred[20 * 41 + 20] as number;
    expect((blurred[20 * 41 + 23] as number) / middle).toBeCloseTo(Math.exp(-0.5), 12);
    expect((blurred[17 * 41 + 23] as number) / middle).toBeCloseTo(Math.exp(-1), 12);
    expect(blurred[20 * 41 + 30]).toBe(0); // past three sigma
  });

  it("means the same in metres on any cell size", () => {
    const at = (size: number): number => {
      const g = grid(size, 400 / size);
      const half = Float64Array.from({length: g.cols * g.rows}, (_, i) => ((i % g.cols) * size < 200 ? 1 : 0));
      const row = (g.rows / 2) * g.cols;
      return blurCells(g, half, 20)[row + g.cols / 2 + 20 / size] as number;
    };
    // Centres 21 and 22 m beyond a straight edge: 1 - Phi(21/20) and 1 - Phi(22/20) of the normal distribution, to
    // the 0.0014 that the cut at three sigma takes from each tail.
    expect(Math.abs(at(2) - 0.1469)).toBeLessThan(0.0015);
    expect(Math.abs(at(4) - 0.1357)).toBeLessThan(0.0015);
  });

  it("is a copy when there is no blur", () => {
    const values = Float64Array.from({length: 9}, (_, i) => i);
    expect(blurCells(grid(5, 3), values, 0)).toEqual(values);
    expect(blurCells(grid(5, 3), values, 0)).not.toBe(values);
  });
});
