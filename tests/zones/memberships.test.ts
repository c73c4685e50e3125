import {describe, expect, it} from "vitest";
import type {FeatureMatrix} from "../../src/zones/feature-matrix.ts";
import {memberships, squaredDistances} from "../../src/zones/memberships.ts";

const matrix = (dims: number, values: number[], present: number[]): FeatureMatrix => ({
  cells: Int32Array.from(present.keys()),
  dims,
  values: Float64Array.from(values),
  present: Float64Array.from(present),
  weight: 1,
  used: [],
  columns: [],
  patterns: [],
  issues: [],
});

describe("distances to centres", () => {
  it("are squared and by row", () => {
    const m = matrix(2, [0, 0, 3, 4], [1, 1]);
    expect([...squaredDistances(m, Float64Array.of(0, 0, 3, 0))]).toEqual([0, 9, 25, 16]);
  });

  it("are scaled up from the layers present to the full weight", () => {
    // 80 % present: a squared distance of 4 over them counts as 5.
    const m = matrix(2, [2, Number.NaN], [0.8]);
    expect([...squaredDistances(m, Float64Array.of(0, 7))]).toEqual([5]);
  });

  it("are unknown where under 60 % of the weight is present", () => {
    const m = matrix(2, [2, Number.NaN, 2, Number.NaN], [0.6, 0.59]);
    expect(squaredDistances(m, Float64Array.of(0, 0))[0]).toBeCloseTo(4 / 0.6, 12);
    expect(squaredDistances(m, Float64Array.of(0, 0))[1]).toBeNaN();
  });
});

describe("memberships", () => {
  it("fall with the fourth power of distance", () => {
    // Distances 1 and 3, m = 1.5: 1 / (1 + 1/81) = 0.987804878.
    const [near, far] = memberships(Float64Array.of(1, 9), 2) as unknown as [number, number];
    expect(near).toBeCloseTo(0.987804878, 9);
    expect(near + far).toBeCloseTo(1, 15);
  });

  it("are whole on a centre, even where distances are tiny or huge", () => {
    expect([...memberships(Float64Array.of(0, 9, 4, 0), 2)]).toEqual([1, 0, 0, 1]);
    expect([...memberships(Float64Array.of(1e-300, 4e-300), 2)]).toEqual([16 / 17, 1 / 17]);
    expect([...memberships(Float64Array.of(1e300, 1e300), 2)]).toEqual([0.5, 0.5]);
  });

  it("are unknown where distances are", () => {
    expect([...memberships(Float64Array.of(Number.NaN, Number.NaN), 2)]).toEqual([Number.NaN, Number.NaN]);
  });
});
