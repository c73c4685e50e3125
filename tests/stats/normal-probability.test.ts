import {expect, it} from "vitest";
import {normalProbability} from "../../src/stats/normal-probability.ts";
import {normalQuantile} from "../../src/stats/student-t.ts";

it("agrees with printed values (Abramowitz and Stegun 1972, table 26.1, to 1e-14)", () => {
  const printed = [
    [0, 0.5],
    [1, 0.841344746068543],
    [2, 0.97724986805182],
    [3, 0.99865010196837],
  ] as const;
  for (const [z, p] of printed) {
    expect(normalProbability(z)).toBeCloseTo(p, 14);
    expect(normalProbability(-z)).toBeCloseTo(1 - p, 14);
  }
});

it("undoes the quantile, in the tails as well", () => {
  for (const p of [1e-12, 1e-6, 0.001, 0.025, 0.3, 0.5, 0.7, 0.99, 0.999999]) {
    expect(Math.abs(normalProbability(normalQuantile(p)) / p - 1)).toBeLessThan(1e-10);
  }
});

it("is smooth where series and fraction meet, certain far out, and NaN for NaN", () => {
  expect(normalProbability(3 - 1e-9)).toBeCloseTo(normalProbability(3 + 1e-9), 10);
  expect(normalProbability(-50)).toBe(0);
  expect(normalProbability(Infinity)).toBe(1);
  expect(normalProbability(Number.NaN)).toBeNaN();
});
