import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {checkLimits, machineRate} from "../../src/prescription/machine-rate.ts";
import type {MachineLimits} from "../../src/prescription/prescription.ts";

const limits: MachineLimits = {
  stepLbPerAcre: 5,
  minLbPerAcre: 75,
  maxLbPerAcre: 240,
  belowMin: "zero",
  outsideLbPerAcre: 0,
};

describe("a rate the machine can spread", () => {
  it("goes to the nearest step, halves up", () => {
    const rate = (exact: number): number => machineRate(exact, limits).rateLbPerAcre;
    expect([112.4, 112.5, 117.4999, 75, 240].map(rate)).toEqual([110, 115, 115, 75, 240]);
    // 58.5 lb P2O5 / 0.52 is 112.5 in decimal; binary division must not lose the half.
    expect(rate(58.5 / 0.52)).toBe(115);
  });

  it("zero stays zero, also where the minimum is spread in place of less", () => {
    expect(machineRate(0, {...limits, belowMin: "minimum"})).toEqual({rateLbPerAcre: 0, roundedLbPerAcre: 0});
  });

  it("below the minimum goes to zero or to the minimum, as the user says", () => {
    expect(machineRate(60, limits)).toEqual({rateLbPerAcre: 0, roundedLbPerAcre: 60, heldBy: "minimum"});
    expect(machineRate(60, {...limits, belowMin: "minimum"}).rateLbPerAcre).toBe(75);
    expect(machineRate(2, {...limits, belowMin: "minimum"}).rateLbPerAcre).toBe(75);
    expect(machineRate(73, limits).rateLbPerAcre).toBe(75); // rounds to the minimum: not below it
  });

  it("is held at the maximum", () => {
    expect(machineRate(248.1, limits)).toEqual({rateLbPerAcre: 240, roundedLbPerAcre: 250, heldBy: "maximum"});
  });

  it("small steps come out in clean decimals", () => {
    expect(machineRate(0.31, {...limits, stepLbPerAcre: 0.1, minLbPerAcre: 0}).rateLbPerAcre).toBe(0.3);
  });
});

describe("limits of a machine", () => {
  it("move inwards to whole steps and say so", () => {
    const {limits: used, issues} = checkLimits({...limits, stepLbPerAcre: 50, minLbPerAcre: 75, maxLbPerAcre: 240});
    expect(used).toMatchObject({minLbPerAcre: 100, maxLbPerAcre: 200});
    expect(issues.map((issue) => issue.message)).toEqual([
      "The smallest rate, 75 lb/ac, is not a whole number of 50 lb/ac steps: 100 lb/ac is used.",
      "The largest rate, 240 lb/ac, is not a whole number of 50 lb/ac steps: 200 lb/ac is used.",
    ]);
  });

  it("of 0.3 are three steps of 0.1, whatever binary fractions say", () => {
    const given = {...limits, stepLbPerAcre: 0.1, minLbPerAcre: 0.3, maxLbPerAcre: 0.7};
    expect(checkLimits(given)).toEqual({limits: given, issues: []});
  });

  it.each([
    ["a step of zero", {stepLbPerAcre: 0}],
    ["a negative minimum", {minLbPerAcre: -1}],
    ["a maximum below the minimum", {maxLbPerAcre: 50}],
    ["a maximum that is no number", {maxLbPerAcre: Number.NaN}],
    ["no step between them", {stepLbPerAcre: 100, minLbPerAcre: 110, maxLbPerAcre: 190}],
    ["more outside than the machine spreads", {outsideLbPerAcre: 300}],
  ])("refuse %s", (_, wrong) => {
    expect(() => checkLimits({...limits, ...wrong})).toThrow(
      expect.objectContaining({code: "prescription/bad-limits"}),
    );
  });
});

it("every rate is zero or a whole number of steps between the limits, and rises with the exact rate", () => {
  const cases = fc.record({
    step: fc.constantFrom(0.1, 0.5, 1, 2.5, 5, 10),
    min: fc.integer({min: 0, max: 20}),
    span: fc.integer({min: 1, max: 100}),
    belowMin: fc.constantFrom("zero" as const, "minimum" as const),
    exact: fc.tuple(fc.double({min: 0, max: 1500, noNaN: true}), fc.double({min: 0, max: 1500, noNaN: true})),
  });
  fc.assert(
    fc.property(cases, ({step, min, span, belowMin, exact}) => {
      const asked = {
        ...limits,
        stepLbPerAcre: step,
        minLbPerAcre: min * step,
        maxLbPerAcre: (min + span) * step,
        belowMin,
      };
      const {limits: used} = checkLimits(asked);
      const [low, high] = exact.sort((a, b) => a - b).map((e) => machineRate(e, used).rateLbPerAcre) as [
        number,
        number,
      ];
      for (const rate of [low, high]) {
        if (rate === 0) continue;
        expect(Math.abs(rate / step - Math.round(rate / step))).toBeLessThan(1e-6); // rates carry six decimals
        expect(rate).toBeGreaterThanOrEqual(used.minLbPerAcre);
        expect(rate).toBeLessThanOrEqual(used.maxLbPerAcre);
      }
      expect(low).toBeLessThanOrEqual(high);
      expect(machineRate(0, used).rateLbPerAcre).toBe(0);
    }),
    {numRuns: 500},
  );
});
