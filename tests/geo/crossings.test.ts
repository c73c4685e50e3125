import {expect, it} from "vitest";
import {crossingsOf} from "../../src/geo/crossings.ts";
import type {LonLat} from "../../src/geo/shapes.ts";

it("a bow tie crosses itself once, in the middle", () => {
  const bowTie: LonLat[] = [
    [-86.41, 40.54],
    [-86.39, 40.56],
    [-86.39, 40.54],
    [-86.41, 40.56],
    [-86.41, 40.54],
  ];
  const crossings = crossingsOf([[bowTie]]);
  expect(crossings).toHaveLength(1);
  // The diagonals of a rectangle meet in its centre.
  expect(crossings[0]?.[0]).toBeCloseTo(-86.4, 9);
  expect(crossings[0]?.[1]).toBeCloseTo(40.55, 9);
});

it("a square crosses itself nowhere", () => {
  const square: LonLat[] = [
    [-86.41, 40.54],
    [-86.39, 40.54],
    [-86.39, 40.56],
    [-86.41, 40.56],
    [-86.41, 40.54],
  ];
  expect(crossingsOf([[square]])).toEqual([]);
});
