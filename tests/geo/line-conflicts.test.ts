import {describe, expect, it} from "vitest";
import {conflictingLines} from "../../src/geo/line-conflicts.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {seededRandom} from "../../src/stats/random.ts";

const line = (...points: [number, number][]): XY[] => points.map(([x, y]) => ({x, y}));

describe("lines in conflict", () => {
  it("cross", () => {
    expect(conflictingLines([line([0, 0], [2, 2]), line([0, 2], [2, 0]), line([5, 5], [6, 6])])).toEqual([0, 1]);
  });

  it("touch without a common vertex", () => {
    expect(conflictingLines([line([0, 0], [4, 0]), line([2, 0], [2, 3])])).toEqual([0, 1]);
  });

  it("run over each other", () => {
    expect(conflictingLines([line([0, 0], [4, 0]), line([1, 0], [3, 0])])).toEqual([0, 1]);
    expect(conflictingLines([line([0, 0], [4, 0]), line([0, 0], [3, 0])])).toEqual([0, 1]);
    expect(conflictingLines([line([0, 0], [4, 0]), line([4, 0], [0, 0])])).toEqual([0, 1]);
  });

  it("cross themselves or fold back", () => {
    expect(conflictingLines([line([0, 0], [4, 0], [4, 4], [2, -2])])).toEqual([0]);
    expect(conflictingLines([line([0, 0], [4, 0], [1, 0])])).toEqual([0]);
  });

  it("are none when they only meet in vertices or go on straight", () => {
    const star = [line([0, 0], [4, 0]), line([0, 0], [0, 4]), line([0, 0], [-3, -3])];
    const ring = line([10, 10], [12, 10], [12, 12], [10, 12], [10, 10]);
    expect(conflictingLines([...star, line([4, 0], [8, 0]), ring, line([10, 10], [8, 8])])).toEqual([]);
    expect(conflictingLines([line([0, 0], [1, 0]), line([2, 0], [3, 0])])).toEqual([]);
  });

  it("are found wherever the lines lie, as by comparing each pair alone", () => {
    const random = seededRandom(8, "lines");
    const at = (): [number, number] => [10 * random.next(), 10 * random.next()];
    const lines = Array.from({length: 60}, () =>
      line(at(), at()).map((p, i, l) =>
        i ? {x: (p.x + 4 * (l[0] as XY).x) / 5, y: (p.y + 4 * (l[0] as XY).y) / 5} : p,
      ),
    );
    const alone = lines.flatMap((one, i) =>
      lines.some((other, j) => i !== j && conflictingLines([one, other]).length > 0) ? [i] : [],
    );
    expect(alone.length).toBeGreaterThan(4);
    expect(conflictingLines(lines)).toEqual(alone);
    // One very long line changes the search grid, and crosses what it crosses.
    const far = [...lines, line([-5000, 20], [5000, 20])];
    expect(conflictingLines(far)).toEqual(alone);
  });
});
