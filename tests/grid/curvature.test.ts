import {describe, expect, it} from "vitest";
import {CURVATURES, type CurvatureKind, curvature} from "../../src/grid/curvature.ts";
import {hasSharedTerrain, sharedTable, surface} from "./terrain-surfaces.ts";

const METHODS = ["evans", "zevenbergen-thorne"] as const;

describe("the curvature of ground", () => {
  it.each(METHODS)("%s: none on a plane, but unknown at its edges", (method) => {
    const plane = surface((x, y) => 100 + 0.03 * x + 0.04 * y);
    for (const kind of CURVATURES) {
      curvature(plane, 21, 5, kind, method).forEach((value, i) => {
        const edge = i % 21 === 0 || i % 21 === 20 || i < 21 || i >= 420;
        if (edge) expect(value).toBeNaN();
        else expect(Math.abs(value)).toBeLessThan(1e-12);
      });
    }
  });

  it.each(METHODS)("%s: of a paraboloid is that of calculus", (method) => {
    // z = 100 − 0.002 x² − 0.001 y², at 25 m east of the top: p = −0.1, q = 0, r = −0.004, t = −0.002, slope 10 %.
    const dome = surface((x, y) => 100 - 0.002 * (x - 52.5) ** 2 - 0.001 * (y - 52.5) ** 2);
    const at = (kind: CurvatureKind): number => curvature(dome, 21, 5, kind, method)[10 * 21 + 15] as number;
    expect(at("profile")).toBeCloseTo(0.00394074135, 11);
    expect(at("tangential")).toBeCloseTo(0.00199007438, 11);
    expect(at("plan")).toBeCloseTo(0.02, 11);
    expect(at("general")).toBeCloseTo(0.006, 11);
    expect(at("mean")).toBeCloseTo((0.00394074135 + 0.00199007438) / 2, 11);
  });

  it("is above zero on a ridge and below in a swale, whichever way they run", () => {
    const ridge = surface((x, y) => 100 - 0.002 * (x - y) ** 2 + 0.02 * (x + y));
    const swale = ridge.map((z) => 200 - z);
    for (const kind of ["tangential", "plan", "mean", "general"] as const) {
      expect(curvature(ridge, 21, 5, kind)[220]).toBeGreaterThan(0);
      expect(curvature(swale, 21, 5, kind)[220]).toBeLessThan(0);
    }
  });

  it("is nothing on level ground where it would need a direction, and known where it does not", () => {
    const dome = surface((x, y) => 100 - 0.002 * (x - 52.5) ** 2 - 0.001 * (y - 52.5) ** 2);
    const top = (kind: CurvatureKind): number => curvature(dome, 21, 5, kind)[220] as number;
    expect([top("profile"), top("plan"), top("tangential")]).toEqual([0, 0, 0]);
    expect(top("mean")).toBeCloseTo(0.003, 12);
    expect(top("general")).toBeCloseTo(0.006, 12);
  });

  it("is unknown beside no-data", () => {
    const bowl = surface((x, y) => 0.001 * (x * x + y * y));
    bowl[220] = Number.NaN;
    const bent = curvature(bowl, 21, 5, "general");
    expect(bent.filter(Number.isNaN).length).toBe(80 + 9);
  });
});

describe.skipIf(!hasSharedTerrain)("a real volcano (skipped: no shared data)", () => {
  it("has the profile and cross-sectional curvature of r.param.scale, GRASS 8.2.1", () => {
    const {values, cols} = sharedTable("volcano_asR_87x61.csv");
    const profile = curvature(values, cols, 10, "profile");
    expect(profile[60 * cols + 40]).toBeCloseTo(0.0145895008, 9);
    expect(profile[20 * cols + 20]).toBeCloseTo(-0.0014374581, 9);
    // Cross-sectional is tangential without the √(1 + g).
    const p = gradient(values, cols, 60, 40);
    const cross = (curvature(values, cols, 10, "tangential")[60 * cols + 40] as number) * Math.sqrt(1 + p);
    expect(cross).toBeCloseTo(0.0118333333, 9);
  });
});

/** p² + q² by Evans's weights. */
function gradient(values: Float64Array, cols: number, row: number, col: number): number {
  const z = (r: number, c: number): number => values[(row + r) * cols + col + c] as number;
  const sum = (list: readonly (readonly [number, number])[]): number => list.reduce((s, [r, c]) => s + z(r, c), 0);
  const column = (c: number) => [-1, 0, 1].map((r) => [r, c] as const);
  const line = (r: number) => [-1, 0, 1].map((c) => [r, c] as const);
  const p = (sum(column(1)) - sum(column(-1))) / 60;
  const q = (sum(line(-1)) - sum(line(1))) / 60;
  return p * p + q * q;
}
