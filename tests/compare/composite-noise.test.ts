import {describe, expect, it} from "vitest";
import {compositeSd, compositeSpread, noiseFromDuplicates} from "../../src/compare/composite-noise.ts";

describe("noise of a composite", () => {
  it("is 12.07 % with 35 % between cores, 15 cores and 8 % of the lab", () => {
    expect(compositeSpread({core: 35, lab: 8}, 15)).toBeCloseTo(12.069, 3);
  });

  it("has the lab as its floor: a hundred times the cores take the rest away", () => {
    expect(compositeSpread({core: 35, lab: 8}, 1500)).toBeCloseTo(8.05, 2);
  });

  it("is put on a log scale for shares and left as it is for pH", () => {
    const basis = {basis: "user", source: "a test"} as const;
    expect(compositeSd({core: 0, lab: 10, scale: "share", ...basis}, 1)).toBeCloseTo(Math.sqrt(Math.log(1.01)), 12);
    expect(compositeSd({core: 0.3, lab: 0.1, scale: "same", ...basis}, 9)).toBeCloseTo(Math.sqrt(0.02), 12);
  });
});

describe("noise from duplicate bags", () => {
  it("by hand: two pairs a factor e^0.1 apart spread by 0.0707 in logs, 7.08 %", () => {
    const pairs = [
      [20, 20 * Math.exp(0.1)],
      [50 * Math.exp(0.1), 50],
    ] as const;
    const {core, lab, basis, source} = noiseFromDuplicates(pairs);
    expect(core).toBe(0);
    expect(lab).toBeCloseTo(100 * Math.sqrt(Math.expm1(0.005)), 9);
    expect(basis).toBe("measured");
    expect(source).toBe("2 pairs of duplicate composites");
  });

  it("takes pH as it is, and refuses a zero on a share scale", () => {
    expect(noiseFromDuplicates([[6.1, 6.3]], "same").lab).toBeCloseTo(Math.sqrt(0.02), 12);
    expect(() => noiseFromDuplicates([[0, 3]])).toThrow("A duplicate result of 0 cannot be used for a share.");
  });
});
