import {describe, expect, it} from "vitest";
import type {XY} from "../../src/geo/shapes.ts";
import {simplifyLine, triangleAreaM2} from "../../src/geo/simplify-line.ts";
import {seededRandom} from "../../src/stats/random.ts";

const line = (...points: [number, number][]): XY[] => points.map(([x, y]) => ({x, y}));

describe("a line with fewer points", () => {
  it("measures a point by the triangle with its neighbours", () => {
    const [a, b, c] = line([0, 0], [5, 2], [10, 0]) as [XY, XY, XY];
    expect(triangleAreaM2(a, b, c)).toBe(10);
  });

  it("loses points under the threshold only", () => {
    const bent = line([0, 0], [5, 2], [10, 0]);
    expect(simplifyLine(bent, 10)).toEqual(bent);
    expect(simplifyLine(bent, 10.01)).toEqual(line([0, 0], [10, 0]));
  });

  it("takes the smallest triangle first and measures its neighbours anew", () => {
    // Areas 1, 2, 3 at first. Without the first point the second still makes 2 with its new neighbours, and when that
    // is gone the third makes 5.
    const bumps = line([0, 0], [1, 1], [2, 0], [4, 2], [5, 0]);
    expect(
      bumps.slice(1, -1).map((_, i) => triangleAreaM2(bumps[i] as XY, bumps[i + 1] as XY, bumps[i + 2] as XY)),
    ).toEqual([1, 2, 3]);
    expect(simplifyLine(bumps, 1.5)).toEqual(line([0, 0], [2, 0], [4, 2], [5, 0]));
    expect(simplifyLine(bumps, 4)).toEqual(line([0, 0], [4, 2], [5, 0]));
  });

  it("keeps straight ends and drops points on a straight line", () => {
    expect(simplifyLine(line([0, 0], [1, 0], [2, 0], [3, 0]), 1e-9)).toEqual(line([0, 0], [3, 0]));
    expect(simplifyLine(line([0, 0], [1, 0]), 1e9)).toEqual(line([0, 0], [1, 0]));
  });

  it("keeps four corners of a ring however small", () => {
    const ring = line([0, 0], [1, 0], [2, 0.5], [2, 2], [1, 2.5], [0, 2], [0, 0]);
    const left = simplifyLine(ring, 1e9);
    expect(left).toHaveLength(5);
    expect(left[0]).toEqual(left.at(-1));
    const triangle = line([0, 0], [1, 0], [0, 1], [0, 0]);
    expect(simplifyLine(triangle, 1e9)).toEqual(triangle);
  });

  it("treats the point where a ring was started like any other", () => {
    const ring = line([5, 0], [10, 0], [10, 10], [0, 10], [0, 0], [5, 0]);
    expect(simplifyLine(ring, 1).slice(0, -1)).toEqual(line([10, 0], [10, 10], [0, 10], [0, 0]));
  });

  it("leaves no small triangle on a long random line, and does the same as a slow search", () => {
    const random = seededRandom(3, "line");
    const points = Array.from({length: 400}, (_, i) => ({x: i, y: 3 * random.next()}));
    const fast = simplifyLine(points, 2);
    const slow = [...points];
    for (;;) {
      const areas = slow.map((p, i) =>
        i === 0 || i === slow.length - 1 ? Infinity : triangleAreaM2(slow[i - 1] as XY, p, slow[i + 1] as XY),
      );
      const least = areas.indexOf(Math.min(...areas));
      if (!((areas[least] as number) < 2)) break;
      slow.splice(least, 1);
    }
    expect(fast).toEqual(slow);
    expect(fast.length).toBeLessThan(200);
  });
});
