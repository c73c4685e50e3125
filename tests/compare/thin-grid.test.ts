import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {adviseSampling} from "../../src/compare/advise-sampling.ts";
import {type ThinResult, thinGrid} from "../../src/compare/thin-grid.ts";
import {seededRandom} from "../../src/stats/random.ts";

const SAMPLES = new URL("../../../shared/data/soil_samples/", import.meta.url).pathname;

const side = 16;
const x = Float64Array.from({length: side * side}, (_, i) => 100 * (i % side));
const y = Float64Array.from({length: side * side}, (_, i) => 100 * Math.floor(i / side));
const thin = (values: Float64Array, areasM2 = [20_000, 40_000, 80_000]) =>
  thinGrid({what: "soil-test P", unit: "ppm", x, y, values, areasM2, seed: 1});

describe("thinning a grid", () => {
  it("keeps about one sample for each cell of the wanted size, and predicts all others", () => {
    const {steps, count} = thin(x);
    expect(count).toBe(256);
    // 256 samples on 100 m: 256 ha; edge cells of a turned lattice hold few samples but keep one too.
    steps.forEach(({kept, areaM2, checks}) => {
      const whole = (256 * 10_000) / areaM2;
      expect(kept).toBeGreaterThan(whole);
      expect(kept).toBeLessThan(1.6 * whole);
      expect(checks).toBe(Math.round(40 * (256 - kept)));
    });
  });

  it("loses more the wider it is on a slope, and is always better than the mean", () => {
    const {steps, structure, leaveOneOut} = thin(Float64Array.from(x, (v, i) => v + (y[i] as number)));
    const efficiencies = [leaveOneOut, ...steps].map(({mappedEfficiencyPct}) => mappedEfficiencyPct);
    expect(efficiencies).toEqual([...efficiencies].sort((a, b) => b - a));
    expect(Math.min(...efficiencies)).toBeGreaterThan(80);
    expect(structure).toBe("clear");
  });

  it("shows no pattern in noise, whose neighbours do worse than the mean", () => {
    const random = seededRandom(5, "noise");
    const {structure, leaveOneOut} = thin(Float64Array.from(x, () => 30 + 5 * random.normal()));
    expect(["none", "almost none"]).toContain(structure);
    // The nearest sample of pure noise has twice the variance: an efficiency of −100 %.
    expect(Math.abs(leaveOneOut.nearestEfficiencyPct + 100)).toBeLessThan(25);
  });

  it("refuses seven samples and leaves out results that are missing", () => {
    const few = {what: "P", unit: "ppm", areasM2: [1], seed: 1};
    const cut = (a: Float64Array) => a.slice(0, 7);
    expect(() => thinGrid({...few, x: cut(x), y: cut(y), values: cut(x)})).toThrow("7 results are too few");
    const values = Float64Array.from(x);
    values[3] = Number.NaN;
    expect(thin(values).count).toBe(255);
  });
});

function columns(file: string, ...names: string[]): Float64Array[] {
  const [head = "", ...rows] = readFileSync(SAMPLES + file, "utf8")
    .trim()
    .split("\n");
  const header = head.replaceAll('"', "").split(",");
  return names.map((name) => Float64Array.from(rows, (row) => Number(row.split(",")[header.indexOf(name)])));
}

function thinned(file: string, what: string, xs: string, ys: string, areasM2: readonly number[]): ThinResult {
  const [px, py, values] = columns(file, xs, ys, what) as [Float64Array, Float64Array, Float64Array];
  return thinGrid({what: `soil-test ${what}`, unit: "", x: px, y: py, values, areasM2, seed: 1});
}

const shared = existsSync(SAMPLES);
describe.skipIf(!shared)(`real fields${shared ? "" : " (skipped: no shared data)"}`, () => {
  // Samples of soja98 stand about 9.6 m apart: half, a quarter and an eighth of them.
  const soja = (what: string) => thinned("soja98.csv", what, "X", "Y", [184, 368, 736]);

  it("phosphorus of soja98 has almost no pattern: neighbours explain under 15 %, a quarter of the samples nothing", () => {
    const {structure, leaveOneOut, steps} = soja("P");
    expect(structure).toBe("almost none");
    expect(leaveOneOut.mappedEfficiencyPct).toBeLessThan(15);
    expect(steps[1]?.mappedEfficiencyPct).toBeLessThan(5);
    expect(leaveOneOut.nearestEfficiencyPct).toBeLessThan(0);
  });

  it("potassium of soja98 has a clear one, which thins out step by step", () => {
    const {structure, leaveOneOut, steps} = soja("K");
    expect(structure).toBe("clear");
    const curve = [leaveOneOut, ...steps].map(({mappedEfficiencyPct}) => mappedEfficiencyPct);
    expect(curve).toEqual([...curve].sort((a, b) => b - a));
    expect(curve[0]).toBeGreaterThan(35);
    expect(curve.at(-1)).toBeLessThan(30);
  });

  it("zinc of the Meuse plain falls from about half explained to about a third", () => {
    const {steps, structure} = thinned("meuse.csv", "zinc", "x", "y", [40_000, 80_000, 160_000]);
    expect(structure).toBe("clear");
    const curve = steps.map(({mappedEfficiencyPct}) => mappedEfficiencyPct);
    expect(curve).toEqual([...curve].sort((a, b) => b - a));
    expect(curve[0]).toBeGreaterThan(45);
    expect(curve[2]).toBeLessThan(45);
  });

  it("weights by distance beat the nearest sample everywhere (as Mueller and others 2001 found of maps)", () => {
    for (const {steps} of [soja("P"), soja("K"), thinned("meuse.csv", "zinc", "x", "y", [40_000, 160_000])]) {
      for (const {mappedRmse, nearestRmse} of steps) expect(mappedRmse).toBeLessThan(nearestRmse);
    }
  });

  it("the advice on soja98 phosphorus follows: a finer map would show mostly chance", () => {
    const advice = adviseSampling({
      baseline: "whole-field",
      samples: {"whole-field": 1, grid: 256},
      thinned: [soja("P")],
    });
    expect(advice.finer).toBe("not shown");
    expect(advice.reasons.join(" ")).toMatch(/almost no pattern .* mostly chance/);
  });
});
