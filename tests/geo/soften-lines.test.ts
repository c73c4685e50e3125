import {describe, expect, it} from "vitest";
import {conflictingLines} from "../../src/geo/line-conflicts.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {softenLines} from "../../src/geo/soften-lines.ts";

const line = (...points: [number, number][]): XY[] => points.map(([x, y]) => ({x, y}));

/** Sharpest change of direction along a line, degrees. */
function sharpestTurn(points: readonly XY[]): number {
  let most = 0;
  for (let i = 1; i + 1 < points.length; i++) {
    const [a, b, c] = [points[i - 1], points[i], points[i + 1]] as [XY, XY, XY];
    const turn = Math.atan2(c.y - b.y, c.x - b.x) - Math.atan2(b.y - a.y, b.x - a.x);
    most = Math.max(most, Math.abs(Math.atan2(Math.sin(turn), Math.cos(turn))));
  }
  return (most * 180) / Math.PI;
}

describe("softened lines", () => {
  // A slope of 1 in 5 traced half-way between cells of 1 m: flat runs and diagonal steps.
  const stairs = Array.from({length: 60}, (_, i) => ({x: i, y: Math.floor(i / 5)}));

  it("have no stairs, stay within half a cell and keep their ends", () => {
    const [soft] = softenLines([stairs], 1) as [XY[]];
    expect(soft[0]).toEqual(stairs[0]);
    expect(soft.at(-1)).toEqual(stairs.at(-1));
    expect(sharpestTurn(stairs)).toBeCloseTo(45, 6);
    expect(sharpestTurn(soft)).toBeLessThan(20);
    for (const {x, y} of soft) expect(Math.abs(y - (x - 2) / 5)).toBeLessThan(0.75);
  });

  it("need two points where they are straight", () => {
    const straight = Array.from({length: 60}, (_, i) => ({x: i, y: 2 * i}));
    expect(softenLines([straight], 1)).toEqual([[straight[0], straight[59]]]);
  });

  it("turn a ring of cells into a round one", () => {
    const ring = line([0, 5], [1, 6], [4, 6], [5, 5], [5, 1], [4, 0], [1, 0], [0, 1], [0, 5]);
    const [soft] = softenLines([ring], 1) as [XY[]];
    expect(soft[0]).toEqual(soft.at(-1));
    expect(sharpestTurn(soft)).toBeLessThan(25);
  });

  it("are redrawn less where they would cross", () => {
    // A point line reaches into a shallow bay that simplifying would close.
    const bay = line([0, 0], [1, 0], [1.4, -0.4], [1.8, 0], [3, 0]);
    const tip = line([1.4, 3], [1.4, -0.2]);
    const alone = softenLines([bay], 1)[0] as XY[];
    expect(conflictingLines([alone, tip])).toEqual([0, 1]);
    const both = softenLines([bay, tip], 1);
    expect(conflictingLines(both)).toEqual([]);
    expect(both[1]).toEqual(tip);
  });

  it("are given back as they came when nothing else is free of conflict", () => {
    const bay = line([0, 0], [1, 0], [1.4, -0.4], [1.8, 0], [3, 0]);
    const tip = line([1.4, 3], [1.4, -0.39]);
    expect(softenLines([bay, tip], 1)).toEqual([bay, tip]);
  });
});
