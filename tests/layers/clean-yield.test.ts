import {describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {type CleanedYield, cleanYield} from "../../src/layers/clean-yield.ts";
import type {YieldLog} from "../../src/layers/yield-log.ts";
import {YIELD_REASONS} from "../../src/layers/yield-reasons.ts";
import {changed, type MadeLog, makeLog, recordAt} from "./make-log.ts";

await loadGeos(); // logs are made while tests are listed

const STILL = {delayS: 0} as const;
const reasonOf = (cleaned: CleanedYield, i: number): string => YIELD_REASONS[cleaned.reason[i] as number] as string;
const codes = (cleaned: CleanedYield): string[] => cleaned.issues.map((issue) => issue.code);
/** The run of records through a place, so many to either side. */
const around = (made: MadeLog, x: number, y: number, reach: number): number[] => {
  const middle = recordAt(made, x, y);
  return Array.from({length: 2 * reach + 1}, (_, i) => middle - reach + i);
};

describe("yield from flow", () => {
  it("of 10 lb/s over 30 ft by 6 ft in a second at 18 % moisture is 41.94 bu/ac of corn", () => {
    // 10 lb over 180 ft² is 2,420 lb/ac; × 82 / 84.5 / 56 lb; in metric 2.632209508 t/ha.
    const foot = 0.3048;
    const made = makeLog({swathM: 30 * foot, speedMPerS: 6 * foot, moisturePct: 18});
    const log = {...made.log, flowKgPerS: made.log.headerDown.map((down) => 10 * 0.45359237 * down)};
    const cleaned = cleanYield(log, made.field, STILL);
    expect(cleaned.after.count).toBeGreaterThan(1000);
    expect(cleaned.after.min).toBeCloseTo(2.632209508, 8);
    expect(cleaned.after.max).toBeCloseTo(2.632209508, 8);
    expect(cleaned.after.mean / 0.06276766469).toBeCloseTo(41.935756551, 6);
  });

  it.each([
    ["corn at 20 %", 20, 15.5, 0.946745562],
    ["soybean at 11 %", 11, 13, 1.022988506],
  ])("of %s is brought to standard moisture", (_, moisturePct, standardMoisturePct, factor) => {
    const made = makeLog({passes: 3});
    const log = {...made.log, moisturePct: made.log.moisturePct.map(() => moisturePct), standardMoisturePct};
    expect(cleanYield(log, made.field, STILL).after.mean / 10).toBeCloseTo(factor, 9);
  });

  it("comes from mass where the machine logs mass", () => {
    const {log, field} = makeLog({passes: 3, intervalS: 2});
    const {flowKgPerS, ...rest} = log;
    const massLog: YieldLog = {...rest, massKg: flowKgPerS.map((kgPerS) => 2 * kgPerS)};
    expect(cleanYield(massLog, field, STILL).after.mean).toBeCloseTo(10, 9);
  });

  it("is the given column where there is no flow", () => {
    const {log, field} = makeLog({passes: 3});
    const {flowKgPerS, moisturePct, ...rest} = log;
    const cleaned = cleanYield({...rest, givenYieldTPerHa: flowKgPerS.map((f) => (f > 0 ? 8 : 0))}, field, STILL);
    expect(cleaned.after.mean).toBeCloseTo(8, 9);
  });

  it("is scaled to the weighed grain", () => {
    const {log, field} = makeLog({passes: 3});
    const logged = log.flowKgPerS.reduce((a, b) => a + b, 0);
    const cleaned = cleanYield(log, field, {...STILL, scaleTicketKg: 1.1 * logged});
    expect(cleaned.after.mean).toBeCloseTo(11, 9);
  });

  it("without a moisture column is as cut, and says so", () => {
    const {moisturePct, ...log} = makeLog({passes: 3}).log;
    expect(codes(cleanYield(log, makeLog({passes: 3}).field, STILL))).toContain("yield/no-moisture");
  });
});

describe("a record is set aside", () => {
  const made = makeLog();
  const inside = recordAt(made, 49.5, 150);

  it("where nothing is wrong only at the ends of its pass", () => {
    const cleaned = cleanYield(made.log, made.field, STILL);
    const {kept, "pass-start": start, "pass-end": end, "header-up": up, ...others} = cleaned.counts;
    // 12 passes of 150 records, 10 s and 4 s off each; 11 turns.
    expect([kept, start, end]).toEqual([12 * 136, 120, 48]);
    expect(up).toBe(made.log.headerDown.filter((down) => down === 0).length);
    expect(Object.values(others).reduce((a, b) => a + b, 0)).toBe(0);
    expect(cleaned.after.mean).toBeCloseTo(10, 9);
  });

  it.each([
    ["without a position", "no-position", changed(made.log, "x", [inside], () => Number.NaN)],
    ["after a lone jump of the receiver", "no-position", changed(made.log, "x", [inside], (x) => x + 60)],
    ["with the header up", "header-up", changed(made.log, "headerDown", [inside], () => 0)],
    ["when the machine hardly moves", "speed", changed(made.log, "distanceM", [inside], () => 0.01)],
    ["when it is faster than it can be", "speed", changed(made.log, "distanceM", [inside], () => 40)],
    ["with no width cutting", "partial-swath", changed(made.log, "swathM", [inside], () => 0)],
    ["without a flow", "no-yield", changed(made.log, "flowKgPerS", [inside], () => Number.NaN)],
    ["far above the field", "outlier", changed(made.log, "flowKgPerS", [inside], (f) => 6 * f)],
    ["far below its neighbours, alone", "local-outlier", changed(made.log, "flowKgPerS", [inside], () => 0)],
  ])("%s", (_, reason, log) => {
    const cleaned = cleanYield(log, made.field, STILL);
    expect(reasonOf(cleaned, inside)).toBe(reason);
    expect(cleaned.reason).toHaveLength(log.x.length);
  });

  it("after the same place was recorded", () => {
    const log = changed(
      changed(made.log, "x", [inside], () => made.log.x[inside - 1] as number),
      "y",
      [inside],
      () => made.log.y[inside - 1] as number,
    );
    expect(reasonOf(cleanYield(log, made.field, STILL), inside)).toBe("duplicate");
  });

  it("outside the boundary, but not within 5 m of it", () => {
    const shifted = {...made.log, x: made.log.x.map((x) => x - 8)};
    const cleaned = cleanYield(shifted, made.field, STILL);
    const west = recordAt(made, 4.5, 150); // 4.5 − 8 = 3.5 m outside
    expect(reasonOf(cleaned, west)).toBe("kept");
    expect(reasonOf(cleanYield(shifted, made.field, {...STILL, boundaryToleranceM: 2}), west)).toBe("outside-field");
  });

  it("around a sudden change of speed", () => {
    const slow = around(made, 49.5, 150, 2);
    const log = changed(made.log, "distanceM", slow, (d) => 0.6 * d);
    const cleaned = cleanYield(log, made.field, STILL);
    for (const i of around(made, 49.5, 150, 5)) expect(reasonOf(cleaned, i)).toBe("speed-change");
    expect(reasonOf(cleaned, (slow[0] as number) - 6)).toBe("kept");
  });

  it("in a pass too short to trust", () => {
    const all = around(made, 49.5, 150, 60);
    const log = changed(made.log, "headerDown", all, (down) => down);
    const lifted = [...all.slice(0, 50), ...all.slice(65)];
    const cleaned = cleanYield(
      changed(log, "headerDown", lifted, () => 0),
      made.field,
      STILL,
    );
    // 15 records are left standing alone: 40 % go to the ramps, the rest is under 10 s.
    expect(reasonOf(cleaned, all[57] as number)).toBe("short-pass");
  });

  it("beyond limits the user is sure of", () => {
    const halves = makeLog({yieldAt: (x) => (x < 54 ? 8 : 12)});
    const cleaned = cleanYield(halves.log, halves.field, {...STILL, mostYieldTPerHa: 11});
    expect(cleaned.counts["beyond-limits"]).toBe(6 * 136);
    expect(cleaned.after.max).toBeCloseTo(8, 9);
  });
});

describe("zeros", () => {
  const drowned = (x: number, y: number): number => (Math.hypot(x - 50, y - 150) < 20 ? 0 : 10);

  it("stay where other passes say the same", () => {
    const made = makeLog({yieldAt: drowned});
    const cleaned = cleanYield(made.log, made.field, STILL);
    const zeros = [...cleaned.reason.keys()].filter((i) => made.truth[i] === 0);
    expect(zeros.length).toBeGreaterThan(60);
    for (const i of zeros) expect(reasonOf(cleaned, i)).toBe("kept");
  });

  it("of one pass alone do not", () => {
    const made = makeLog();
    const log = changed(made.log, "flowKgPerS", around(made, 49.5, 150, 6), () => 0);
    const cleaned = cleanYield(log, made.field, STILL);
    for (const i of around(made, 49.5, 150, 6)) expect(reasonOf(cleaned, i)).toBe("local-outlier");
  });

  it("at the end of a pass belong to bare headland", () => {
    const made = makeLog({yieldAt: (_, y) => (y < 40 ? 0 : 10)});
    const cleaned = cleanYield(made.log, made.field, STILL);
    expect(cleaned.after.min).toBe(10);
    expect(reasonOf(cleaned, recordAt(made, 4.5, 45))).toBe("pass-start"); // the ramp begins with the crop
  });
});

describe("two crops in one season", () => {
  // Peas of 1.2 t/ha beside wheat of 10: an eighth, which alone would pass for bare ground.
  const made = makeLog({yieldAt: (x) => (x < 54 ? 1.2 : 10)});
  const crops = Array.from(made.fromWest, (x) => (x < 54 ? "pea" : "wheat"));
  const pea = recordAt(made, 22.5, 150);

  it("are each judged by their own kind", () => {
    const cleaned = cleanYield(made.log, made.field, STILL, crops);
    expect(cleaned.counts.kept).toBe(12 * 136);
    const high = changed(made.log, "flowKgPerS", [pea], (f) => 4 * f);
    expect(reasonOf(cleanYield(high, made.field, STILL, crops), pea)).toBe("outlier");
  });
});

describe("a log of nothing but zeros", () => {
  it("is kept, and doubted", () => {
    const made = makeLog({passes: 4, yieldAt: () => 0});
    const cleaned = cleanYield(made.log, made.field, STILL);
    expect(cleaned.after.max).toBe(0);
    expect(codes(cleaned)).toContain("yield/all-zero");
  });
});

describe("moisture out of range", () => {
  it("is replaced by the pass's median, and the record kept", () => {
    const made = makeLog({moisturePct: 18});
    const spoilt = around(made, 49.5, 150, 3);
    const cleaned = cleanYield(
      changed(made.log, "moisturePct", spoilt, () => 0),
      made.field,
      STILL,
    );
    for (const i of spoilt) {
      expect(reasonOf(cleaned, i)).toBe("kept");
      expect(cleaned.yieldTPerHa[i]).toBeCloseTo(10, 9);
    }
    expect(codes(cleaned)).toContain("yield/moisture-replaced");
  });
});

describe("cleaning", () => {
  const made = makeLog({yieldAt: (x, y) => 10 + 2 * Math.sin(x / 25) * Math.cos(y / 30), delayS: 12, noise: 0.03});

  it("changes nothing it was given, and gives the same bytes again", () => {
    const before = structuredClone(made.log);
    const once = cleanYield(made.log, made.field);
    expect(made.log).toEqual(before);
    expect(cleanYield(made.log, made.field)).toEqual(once);
  });

  it("does not depend on the order of rows that carry a time", () => {
    const reversed = {...made.log};
    for (const [name, column] of Object.entries(made.log)) {
      if (column instanceof Float64Array) Object.assign(reversed, {[name]: column.slice().reverse()});
    }
    const straight = cleanYield(made.log, made.field);
    const turned = cleanYield(reversed, made.field);
    expect(turned.counts).toEqual(straight.counts);
    expect(turned.yieldTPerHa.slice().reverse()).toEqual(straight.yieldTPerHa);
  });

  it("of grain moved back by its delay finds the yield where it grew", () => {
    const worst = (delayS: number | "estimate"): number => {
      const {reason, yieldTPerHa} = cleanYield(made.log, made.field, {delayS});
      const errors = Array.from(yieldTPerHa, (t, i) => (reason[i] === 0 ? Math.abs(t - (made.truth[i] as number)) : 0));
      return Math.max(...errors);
    };
    expect(worst("estimate")).toBeLessThan(1.6); // 3 % noise: five of its standard deviations
    expect(worst(0)).toBeGreaterThan(2);
  });

  it("writes every option down, defaults included", () => {
    const {madeFrom} = cleanYield(made.log, made.field, {fence: 4});
    expect(madeFrom).toMatchObject({step: "layers/clean-yield", inputs: ["made"]});
    expect(madeFrom.options).toMatchObject({fence: 4, delayS: "estimate", startRampS: 10, moistureRangePct: [8, 35]});
  });

  it("reports the log before and after", () => {
    const cleaned = cleanYield(made.log, made.field);
    expect(cleaned.before.count).toBeGreaterThan(cleaned.after.count);
    expect(cleaned.after.moranI).toBeGreaterThan(cleaned.before.moranI);
    expect(cleaned.after.count).toBe(cleaned.counts.kept);
  });

  it("of points that are no machine's log looks at position and outliers only", () => {
    const {x, y, id, crop, season, bushelPounds, standardMoisturePct} = made.log;
    const some = [...x.keys()].filter((i) => i % 15 === 0);
    const at = (column: Float64Array): Float64Array => Float64Array.from(some, (i) => column[i] as number);
    const points: YieldLog = {
      ...{id, crop, season, bushelPounds, standardMoisturePct},
      ...{x: at(x), y: at(y), givenYieldTPerHa: Float64Array.from(some, (_, n) => (n === 40 ? 99 : 8 + (n % 3)))},
    };
    const cleaned = cleanYield(points, made.field);
    expect(cleaned.counts.outlier).toBe(1);
    expect(cleaned.counts["header-up"] + cleaned.counts["pass-start"] + cleaned.counts.speed).toBe(0);
    expect(codes(cleaned)).toContain("yield/no-order");
  });

  it("says when rows were taken out of a log", () => {
    const some = [...made.log.x.keys()].filter((i) => i % 3 !== 1);
    const thin = {...made.log};
    for (const [name, column] of Object.entries(made.log)) {
      if (column instanceof Float64Array)
        Object.assign(thin, {[name]: Float64Array.from(some, (i) => column[i] as number)});
    }
    const {timeS, ...timeless} = thin;
    expect(codes(cleanYield(timeless, made.field))).toContain("yield/rows-missing");
  });
});

describe("cleaning refuses", () => {
  const {log, field} = makeLog({passes: 3});
  const thrown = (work: () => unknown): string => {
    try {
      work();
    } catch (error) {
      return (error as {code: string}).code;
    }
    return "nothing thrown";
  };

  it("flow without a width", () => {
    const {swathM, ...narrow} = log;
    expect(thrown(() => cleanYield(narrow, field))).toBe("yield/no-swath");
    expect(cleanYield(narrow, field, {...STILL, swathM: 9}).after.mean).toBeCloseTo(10, 9);
  });

  it("a log that measured nothing", () => {
    const {flowKgPerS, ...empty} = log;
    expect(thrown(() => cleanYield(empty, field))).toBe("yield/nothing-measured");
  });

  it("a log of another field, and a log without rows", () => {
    expect(thrown(() => cleanYield({...log, x: log.x.map((x) => x + 5000)}, field))).toBe("yield/none-kept");
    const none = {...log};
    for (const [name, column] of Object.entries(log)) {
      if (column instanceof Float64Array) Object.assign(none, {[name]: new Float64Array(0)});
    }
    expect(thrown(() => cleanYield(none, field))).toBe("yield/empty");
  });

  it("settings that make no sense", () => {
    expect(thrown(() => cleanYield(log, field, {slowest: 3}))).toBe("yield/option");
    expect(thrown(() => cleanYield(log, field, {leastSwathShare: 2}))).toBe("yield/option");
    expect(thrown(() => cleanYield(log, field, {delayS: Number.NaN}))).toBe("yield/option");
  });
});
