import {describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {cleanYield} from "../../src/layers/clean-yield.ts";
import {makeLog} from "./make-log.ts";

await loadGeos();

describe("two machines in one field", () => {
  // The second machine takes every other pair of passes and reads a tenth too little.
  const made = makeLog({passes: 16, yieldAt: (x, y) => 10 + Math.sin(x / 30) + Math.sin(y / 20), noise: 0.02});
  const machine = made.fromWest.map((x) => (Math.floor(x / 18) % 2 === 0 ? 1 : 2));
  const log = {
    ...made.log,
    machine,
    flowKgPerS: made.log.flowKgPerS.map((f, i) => (machine[i] === 2 ? 0.9 * f : f)),
  };

  it("are levelled on the ground they share", () => {
    const cleaned = cleanYield(log, made.field, {delayS: 0});
    expect(cleaned.machineFactors).toHaveLength(1);
    expect(cleaned.machineFactors[0]?.machine).toBe(2);
    expect(Math.abs((cleaned.machineFactors[0]?.factor ?? 0) * 0.9 - 1)).toBeLessThan(0.03); // ground varies by a tenth within 40 m
    expect(cleaned.issues.map((issue) => issue.code)).toContain("yield/machine-levelled");
  });

  it("are left as they are when that is wanted, or when they agree", () => {
    expect(cleanYield(log, made.field, {delayS: 0, matchMachines: false}).machineFactors).toEqual([]);
    expect(cleanYield({...made.log, machine}, made.field, {delayS: 0}).machineFactors).toEqual([]);
  });
});

describe("the yield column of the log", () => {
  const made = makeLog({passes: 4, moisturePct: 19, yieldAt: (x) => 8 + x / 20});
  const ours = made.truth.map((t) => (Number.isNaN(t) ? 0 : t));
  const message = (factor: number): string | undefined =>
    cleanYield({...made.log, givenYieldTPerHa: ours.map((t) => t / factor)}, made.field, {delayS: 0}).issues.find(
      (issue) => issue.code === "yield/given-differs",
    )?.message;

  it("is passed over in silence where it agrees", () => {
    expect(message(1)).toBeUndefined();
    expect(message(1.01)).toBeUndefined();
  });

  it.each([
    [0.3048, "feet read as metres"],
    [12, "inches read as feet"],
    [0.45359237, "pounds read as kilograms"],
    [60 / 56, "soybean is sold at 60 lb"],
    [81 / 84.5, "moisture it was cut (median 19.0 %)"],
  ])("off by a factor of %d points to its likely cause", (factor, cause) => {
    expect(message(factor)).toContain(cause);
  });

  it("off by a factor nobody knows is reported with the factor alone", () => {
    expect(message(1.3)).toBe("Yield worked out from flow is 1.300 times the yield column of made.");
  });
});
