import {describe, expect, it} from "vitest";
import {nearestCells} from "../../src/grid/nearest-cell.ts";
import {seededRandom} from "../../src/stats/random.ts";

describe("the nearest marked cell", () => {
  it("is the cell itself where it is marked, and the only one there is elsewhere", () => {
    expect([...nearestCells({cols: 3, rows: 2}, Uint8Array.of(0, 0, 0, 0, 1, 0))]).toEqual([4, 4, 4, 4, 4, 4]);
  });

  it("is none when nothing is marked", () => {
    expect([...nearestCells({cols: 2, rows: 2}, new Uint8Array(4))]).toEqual([-1, -1, -1, -1]);
  });

  it("is the western one half-way between two", () => {
    expect([...nearestCells({cols: 5, rows: 1}, Uint8Array.of(1, 0, 0, 0, 1))]).toEqual([0, 0, 0, 4, 4]);
  });

  it("is as near as any, on random grids", () => {
    const random = seededRandom(1, "nearest");
    for (let round = 0; round < 200; round++) {
      const cols = 1 + random.integer(14);
      const rows = 1 + random.integer(14);
      const marked = Uint8Array.from({length: cols * rows}, () => (random.next() < 0.08 ? 1 : 0));
      if (!marked.includes(1)) continue;
      const squared = (a: number, b: number): number =>
        ((a % cols) - (b % cols)) ** 2 + (Math.floor(a / cols) - Math.floor(b / cols)) ** 2;
      nearestCells({cols, rows}, marked).forEach((source, cell) => {
        let least = Infinity;
        marked.forEach((m, other) => {
          if (m) least = Math.min(least, squared(cell, other));
        });
        expect(marked[source]).toBe(1);
        expect(squared(cell, source)).toBe(least);
      });
    }
  });
});
