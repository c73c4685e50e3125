import {describe, expect, it} from "vitest";
import {neighbourLikeness} from "../../src/stats/neighbour-likeness.ts";
import {seededRandom} from "../../src/stats/random.ts";

const side = 12;
const x = Float64Array.from({length: side * side}, (_, i) => i % side);
const y = Float64Array.from({length: side * side}, (_, i) => Math.floor(i / side));

describe("likeness of neighbours", () => {
  it("is high on a slope and surely a pattern", () => {
    const {share, p, distance} = neighbourLikeness(x, y, x, seededRandom(1, "a"));
    expect(share).toBeGreaterThan(0.9);
    expect(p).toBe(0.001);
    expect(distance).toBeLessThan(1.2);
  });

  it("is about nothing for values thrown at random", () => {
    const random = seededRandom(2, "b");
    const values = Float64Array.from(x, () => random.normal());
    const {share, p} = neighbourLikeness(x, y, values, random);
    expect(Math.abs(share)).toBeLessThan(0.15);
    expect(p).toBeGreaterThan(0.01);
  });

  it("is negative on a chessboard", () => {
    const values = Float64Array.from(x, (v, i) => (v + (y[i] as number)) % 2);
    expect(neighbourLikeness(x, y, values, seededRandom(1, "c")).share).toBeLessThan(-0.8);
  });

  it("by hand: 0, 0, 3, 3 on a line, one neighbour each, one pair of three apart", () => {
    // Nearest at distances 1, 1, 2, 3: pairs (0,1) (1,0) (2,1) (3,2) differ by 0, 0, 3, 0; variance 3.
    const line = Float64Array.of(0, 1, 3, 6);
    const {share} = neighbourLikeness(line, new Float64Array(4), Float64Array.of(0, 0, 3, 3), seededRandom(1, "d"), 1);
    expect(share).toBeCloseTo(1 - 9 / 8 / 3, 12);
  });

  it("has no answer for constant values or three points", () => {
    expect(neighbourLikeness(x, y, new Float64Array(x.length), seededRandom(1, "e")).share).toBeNaN();
    expect(
      neighbourLikeness(x.subarray(0, 3), y.subarray(0, 3), x.subarray(0, 3), seededRandom(1, "e")).share,
    ).toBeNaN();
  });
});
