import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {moran, nearestNeighbours, rookNeighbours} from "../../src/stats/moran.ts";

const square = (value: (col: number, row: number) => number): number[] =>
  Array.from({length: 64}, (_, i) => value(i % 8, Math.floor(i / 8)));

describe("Moran's I on a grid", () => {
  it("is −1 on a chessboard", () => {
    const board = square((col, row) => (col + row) % 2);
    expect(moran(board, rookNeighbours(board, 8)).i).toBeCloseTo(-1, 12);
  });

  it("of an 8 × 8 slope along rows is 0.9375", () => {
    // spdep 1.2-7, rook, style W.
    const slope = square((_, row) => row);
    expect(moran(slope, rookNeighbours(slope, 8)).i).toBeCloseTo(0.9375, 12);
  });

  it("is the mean of its local values", () => {
    const bumps = square((col, row) => Math.sin(col) + row * row);
    const {i, local} = moran(bumps, rookNeighbours(bumps, 8));
    expect(local.reduce((a, b) => a + b, 0) / 64).toBeCloseTo(i, 12);
  });

  it("leaves cells without data out", () => {
    const half = square((col, row) => (col < 4 ? row : Number.NaN));
    const {count, i, local, expected} = moran(half, rookNeighbours(half, 8));
    expect(count).toBe(32);
    expect(expected).toBeCloseTo(-1 / 31, 12);
    expect(i).toBeGreaterThan(0.8);
    expect(local[7]).toBeNaN();
  });

  it("says nothing of a constant layer", () => {
    const flat = square(() => 3);
    expect(moran(flat, rookNeighbours(flat, 8)).i).toBeNaN();
  });
});

const meuse = new URL("../../../shared/data/reference/kriging/meuse_points.csv", import.meta.url);
describe.skipIf(!existsSync(meuse))("Moran's I of points (skipped: no shared data)", () => {
  const rows = existsSync(meuse)
    ? readFileSync(meuse, "utf8")
        .trim()
        .split("\n")
        .slice(1)
        .map((line) => line.split(",").map(Number))
    : [];
  const column = (c: number): Float64Array => Float64Array.from(rows, (row) => row[c] as number);

  it("of log zinc on the Meuse, 8 nearest, is that of spdep 1.2-7", () => {
    const x = column(0);
    const y = column(1);
    const logZinc = column(9);
    expect(moran(logZinc, nearestNeighbours(x, y, 8)).i).toBeCloseTo(0.489606337219, 10);
    expect(moran(logZinc, nearestNeighbours(x, y, 4)).i).toBeCloseTo(0.564525419246678, 10);
  });

  it("is estimated by a part of the points", () => {
    const part = moran(column(9), nearestNeighbours(column(0), column(1), 8, 3));
    expect(part.count).toBe(52);
    expect(Math.abs(part.i - 0.4896)).toBeLessThan(0.12); // one standard error of 52 local values
  });
});
