import {describe, expect, it} from "vitest";
import {ringAreaM2} from "../../src/geo/measure.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {smoothLine} from "../../src/geo/smooth-line.ts";

const line = (...points: [number, number][]): XY[] => points.map(([x, y]) => ({x, y}));

describe("a line with its corners cut", () => {
  it("keeps its ends and cuts a quarter of each side", () => {
    expect(smoothLine(line([0, 0], [4, 0], [4, 4]), 1)).toEqual(line([0, 0], [3, 0], [4, 1], [4, 4]));
  });

  it("has no ends when it is a ring", () => {
    const square = line([0, 0], [4, 0], [4, 4], [0, 4], [0, 0]);
    const cut = smoothLine(square, 1);
    expect(cut).toEqual(line([1, 0], [3, 0], [4, 1], [4, 3], [3, 4], [1, 4], [0, 3], [0, 1], [1, 0]));
    // Four corners of 1 x 1 / 2 are gone.
    expect(ringAreaM2(cut)).toBe(14);
  });

  it("is left alone without corners or without passes", () => {
    expect(smoothLine(line([0, 0], [4, 0]), 3)).toEqual(line([0, 0], [4, 0]));
    expect(smoothLine(line([0, 0], [4, 0], [4, 4]), 0)).toEqual(line([0, 0], [4, 0], [4, 4]));
  });

  it("comes close to its smooth limit, the parabola of a corner", () => {
    // The limit is a quadratic B-spline (Riesenfeld 1975): it touches the middle of each side; here (2, 0) and (4, 2).
    const fine = smoothLine(line([0, 0], [4, 0], [4, 4]), 6);
    const near = (x: number, y: number): number => Math.min(...fine.map((p) => Math.hypot(p.x - x, p.y - y)));
    // Half-way it passes (P0 + 2 P1 + P2) / 4 of the points (2, 0), (4, 0), (4, 2); after six passes points are at most
    // 4 / 2^6 apart.
    expect(near(3.5, 0.5)).toBeLessThan(0.5 * (4 / 64));
  });
});
