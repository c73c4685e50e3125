import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {
  effectiveRange,
  semivariance,
  semivarianceBetween,
  VARIOGRAM_SHAPES,
  type VariogramModel,
} from "../../src/stats/covariance.ts";

const model = (shape: VariogramModel["shape"], nugget: number, partialSill: number, range: number): VariogramModel => ({
  shape,
  nugget,
  partialSill,
  range,
});

describe("a variogram model", () => {
  it("spherical reaches its sill at its range and stays there", () => {
    const sph = model("spherical", 0.05, 0.59, 897);
    expect(semivariance(sph, 0)).toBe(0);
    expect(semivariance(sph, 50)).toBeCloseTo(0.0992800115, 10); // c0 + c (1.5 h/a − 0.5 (h/a)³)
    expect(semivariance(sph, 448.5)).toBeCloseTo(0.05 + 0.59 * 0.6875, 12);
    expect(semivariance(sph, 897)).toBeCloseTo(0.64, 12);
    expect(semivariance(sph, 2000)).toBeCloseTo(0.64, 12);
  });

  it("has the values gstat 2.1-0 gives (variogramLine)", () => {
    expect(semivariance(model("exponential", 0.02, 0.72, 450), 400)).toBeCloseTo(0.4439991508, 10);
    expect(semivariance(model("gaussian", 0.12, 0.5, 390), 400)).toBeCloseTo(0.4453701511, 10);
    expect(semivariance(model("matern-1.5", 0.095, 0.57, 200), 200)).toBeCloseTo(0.2456174371, 10);
    expect(semivariance(model("matern-2.5", 0.109, 0.54, 145), 200)).toBeCloseTo(0.2393295601, 10);
  });

  it("stretched along an azimuth reaches farther there", () => {
    const long = {...model("spherical", 0.05, 0.59, 1200), anisotropy: {azimuthDeg: 45, ratio: 0.5}};
    const leg = 300 / Math.SQRT2;
    expect(semivarianceBetween(long, leg, leg)).toBeCloseTo(0.266640625, 9); // 300 of 1,200
    expect(semivarianceBetween(long, leg, -leg)).toBeCloseTo(0.455625, 9); // 300 of 600
  });

  it("rises with distance and has risen by 95 % at its effective range", () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...VARIOGRAM_SHAPES),
        fc.double({min: 1, max: 1000, noNaN: true}),
        fc.double({min: 0, max: 2000, noNaN: true}),
        fc.double({min: 0, max: 2000, noNaN: true}),
        (shape, range, a, b) => {
          const of = model(shape, 0.1, 1, range);
          expect(semivariance(of, Math.min(a, b))).toBeLessThanOrEqual(semivariance(of, Math.max(a, b)) + 1e-12);
          const risen = semivariance(of, effectiveRange(of)) - 0.1;
          expect(risen).toBeCloseTo(shape === "spherical" ? 1 : 0.95, 9);
        },
      ),
    );
  });
});
