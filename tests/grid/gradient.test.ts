import {describe, expect, it} from "vitest";
import {aspectDegrees, exposure} from "../../src/grid/aspect.ts";
import {atanDegrees, slopeDegrees} from "../../src/grid/slope.ts";
import type {GradientMethod} from "../../src/grid/terrain-gradient.ts";
import {hasSharedTerrain, sharedTable, surface} from "./terrain-surfaces.ts";

const METHODS: GradientMethod[] = ["horn", "evans", "zevenbergen-thorne"];
const at = (values: Float64Array, row: number, col: number, cols = 21): number => values[row * cols + col] as number;
const cone = surface((x, y) => 50 - 0.2 * Math.hypot(x - 52.5, y - 52.5));
const bell = surface((x, y) => 100 + 10 * Math.exp(-((x - 52.5) ** 2 + (y - 52.5) ** 2) / 1250));

describe("slope and aspect of a plane, by every way of weighing the window", () => {
  it.each(METHODS)("%s: one in twenty to the south-west, at the edges too", (method) => {
    const plane = surface((x, y) => 100 + 0.03 * x + 0.04 * y);
    for (const slope of slopeDegrees(plane, 21, 5, method)) expect(slope).toBeCloseTo(2.862405226, 8);
    for (const aspect of aspectDegrees(plane, 21, method)) expect(aspect).toBeCloseTo(216.869897646, 8);
  });

  it.each(METHODS)("%s: one in ten rising to the north faces south", (method) => {
    const plane = surface((_, y) => 100 + 0.1 * y);
    expect(at(slopeDegrees(plane, 21, 5, method), 10, 10)).toBeCloseTo(5.710593137, 9);
    expect(at(aspectDegrees(plane, 21, method), 10, 10)).toBeCloseTo(180, 9);
    const {northness, eastness} = exposure(plane, 21, 5, method);
    expect(at(northness, 10, 10)).toBeCloseTo(-0.1 / Math.hypot(1, 0.1), 12);
    expect(at(eastness, 0, 20)).toBeCloseTo(0, 12);
  });
});

describe("slope of curved ground", () => {
  it("of a cone is exact on its axes by Zevenbergen and Thorne", () => {
    const slope = slopeDegrees(cone, 21, 5, "zevenbergen-thorne");
    expect(at(slope, 10, 15)).toBeCloseTo(11.309932474, 9); // atan 0.2
  });

  it("of a cone and a bell is on average and at most that of gdaldem 3.6.2", () => {
    // 361 inner cells; gdaldem works in Float32: 1e-4 degrees.
    const inner = (values: Float64Array): number[] =>
      [...values].filter((_, i) => i % 21 > 0 && i % 21 < 20 && i > 21 && i < 420);
    const mean = (list: number[]): number => list.reduce((sum, v) => sum + v, 0) / list.length;
    const check = (dem: Float64Array, method: GradientMethod, average: number, most: number): void => {
      const slopes = inner(slopeDegrees(dem, 21, 5, method));
      expect(slopes).toHaveLength(361);
      expect(mean(slopes)).toBeCloseTo(average, 4);
      expect(Math.max(...slopes)).toBeCloseTo(most, 4);
    };
    check(cone, "horn", 11.1805973, 11.30144405);
    check(cone, "zevenbergen-thorne", 11.21946945, 11.30993271);
    check(bell, "horn", 9.51172824, 13.35378933);
    check(bell, "zevenbergen-thorne", 9.55029654, 13.46304321);
  });

  it("is worked out with an arc tangent that is right to the last digits", () => {
    for (let x = 0; x < 2.5; x += 0.00137) {
      const exact = (Math.atan(x) * 180) / Math.PI;
      expect(Math.abs(atanDegrees(x) - exact)).toBeLessThanOrEqual(1e-15 * exact);
    }
    expect(atanDegrees(1)).toBe(45);
    expect(atanDegrees(Number.NaN)).toBeNaN();
    expect(atanDegrees(1e9)).toBeCloseTo(90, 6);
  });

  it("is unknown for aspect where ground is level", () => {
    expect(aspectDegrees(new Float64Array(9).fill(7), 3)).toEqual(new Float64Array(9).fill(Number.NaN));
    expect([...exposure(new Float64Array(9).fill(7), 3, 5).northness].every((v) => v === 0)).toBe(true);
  });
});

describe.skipIf(!hasSharedTerrain)("a real volcano at 10 m (skipped: no shared data)", () => {
  const {values, cols} = hasSharedTerrain
    ? sharedTable("volcano_asR_87x61.csv")
    : {values: new Float64Array(), cols: 1};
  const compare = (mine: Float64Array, name: string): number => {
    let cells = 0;
    sharedTable(name).values.forEach((expected, i) => {
      if (expected === -9999) return;
      cells++;
      const apart = Math.abs((mine[i] as number) - expected);
      expect(Math.min(apart, 360 - apart)).toBeLessThan(1e-4); // gdaldem 3.6.2 works in Float32
    });
    return cells;
  };

  it("has the slopes of gdaldem by Horn and by Zevenbergen and Thorne", () => {
    const horn = slopeDegrees(values, cols, 10);
    expect(compare(horn, "volcano__slope_horn_deg.csv")).toBe(5015);
    expect(compare(slopeDegrees(values, cols, 10, "zevenbergen-thorne"), "volcano__slope_zt_deg.csv")).toBe(5015);
    const inner = [...horn].filter((_, i) => {
      const [row, col] = [Math.floor(i / cols), i % cols];
      return row > 0 && col > 0 && row < 86 && col < 60;
    });
    expect(inner.reduce((sum, v) => sum + v, 0) / inner.length).toBeCloseTo(14.8974651, 5);
    expect(at(horn, 43, 20, cols)).toBeCloseTo(23.0611362, 5);
  });

  it("has the aspects of gdaldem by both", () => {
    const horn = aspectDegrees(values, cols);
    expect(compare(horn, "volcano__aspect_horn.csv")).toBeGreaterThan(4700);
    expect(compare(aspectDegrees(values, cols, "zevenbergen-thorne"), "volcano__aspect_zt.csv")).toBeGreaterThan(4700);
    expect(at(horn, 43, 20, cols)).toBeCloseTo(266.633545, 4);
  });
});
