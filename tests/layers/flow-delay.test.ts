import {describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {cleanYield} from "../../src/layers/clean-yield.ts";
import {makeLog} from "./make-log.ts";

await loadGeos();

const waves = (x: number, y: number): number => 10 + 2 * Math.sin(x / 40) + 2 * Math.cos(y / 25);

describe("the flow delay", () => {
  it.each([-4, 0, 6, 12, 20])("of %d s is found from neighbouring passes", (delayS) => {
    const {log, field} = makeLog({passes: 16, delayS, yieldAt: waves, noise: 0.03});
    const {appliedS} = cleanYield(log, field).delay;
    expect(Math.abs(appliedS - delayS)).toBeLessThan(0.5);
  });

  it("is found where records are three seconds apart", () => {
    const {log, field} = makeLog({passes: 16, lengthM: 500, intervalS: 3, delayS: 12, yieldAt: waves, noise: 0.03});
    expect(Math.abs(cleanYield(log, field).delay.appliedS - 12)).toBeLessThan(1);
  });

  it("comes with its curve, lowest where it says", () => {
    const {log, field} = makeLog({passes: 16, delayS: 12, yieldAt: waves, noise: 0.03});
    const {estimate} = cleanYield(log, field).delay;
    const lowest = estimate?.curve.reduce((a, b) => (b.difference < a.difference ? b : a));
    expect(lowest?.delayS).toBe(12);
    expect(estimate?.passPairs).toBe(15);
    expect(estimate?.gain).toBeGreaterThan(0.5);
  });

  it.each([
    ["there are too few passes", makeLog({passes: 6, delayS: 12, yieldAt: waves})],
    ["passes are too short", makeLog({passes: 16, lengthM: 100, delayS: 12, yieldAt: waves})],
    ["the ground is the same everywhere", makeLog({passes: 16, delayS: 12, noise: 0.05})],
  ])("is not guessed where %s", (_, {log, field}) => {
    const cleaned = cleanYield(log, field);
    expect(cleaned.delay.appliedS).toBe(0);
    expect(cleaned.delay.estimate?.refused).toBeTruthy();
    expect(cleaned.issues.map((issue) => issue.code)).toContain("yield/delay-not-found");
  });

  it("of a log that was shifted already is left at nothing", () => {
    const {log, field} = makeLog({passes: 16, yieldAt: waves, noise: 0.03});
    const cleaned = cleanYield(log, field);
    expect(cleaned.delay.appliedS).toBe(0);
    expect(cleaned.issues.find((issue) => issue.code === "yield/delay-estimated")?.message).toContain("left as it is");
  });

  it("given by the user is used as given", () => {
    const {log, field} = makeLog({passes: 6, delayS: 7, yieldAt: waves});
    const cleaned = cleanYield(log, field, {delayS: 7});
    expect(cleaned.delay).toEqual({appliedS: 7});
    expect(cleaned.after.sd).toBeGreaterThan(1);
  });
});
