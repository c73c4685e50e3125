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

describe("two days of one machine", () => {
  // The second half of the field, cut the next day, reads a tenth too little.
  const made = makeLog({passes: 16, yieldAt: (_, y) => 10 + Math.sin(y / 20), noise: 0.02});
  const next = made.fromWest.map((x) => (x > 72 ? 1 : 0));
  const log = {
    ...made.log,
    timeS: made.log.timeS.map((t, i) => t + (next[i] ? 57_600 : 0)),
    flowKgPerS: made.log.flowKgPerS.map((f, i) => (next[i] ? 0.9 * f : f)),
  };

  it("are levelled across the strip where they meet, when asked", () => {
    const {machineFactors, issues} = cleanYield(log, made.field, {delayS: 0, matchDays: true});
    expect(machineFactors).toHaveLength(1);
    const [found] = machineFactors;
    // One of the days is the reference; which one depends on its count of records.
    const ratio = found?.day === 2 ? found.factor * 0.9 : (found?.factor ?? 0) / 0.9;
    expect(Math.abs(ratio - 1)).toBeLessThan(0.02); // noise of 2 % over some dozens of records a square
    expect(issues.find(({code}) => code === "yield/machine-levelled")?.message).toContain("day ");
  });

  it("are left as they are unless asked, because a day may end where the ground changes", () => {
    expect(cleanYield(log, made.field, {delayS: 0}).machineFactors).toEqual([]);
  });
});
