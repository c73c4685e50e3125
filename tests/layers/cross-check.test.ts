import {describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {type CleanedYield, cleanYield} from "../../src/layers/clean-yield.ts";
import type {YieldLog} from "../../src/layers/yield-log.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {makeLog} from "./make-log.ts";

await loadGeos();

// Moisture wanders between about 17 and 23 % as it does in a real field, so yield as cut is no constant factor.
const made = makeLog({passes: 10, yieldAt: (x, y) => 8 + x / 20 + Math.sin(y / 30)});
const random = seededRandom(7, "tests/cross-check");
const moisturePct = made.log.flowKgPerS.map((_, i) => 20 + 3 * Math.sin(i / 40) + 0.2 * random.normal());
const dry = made.truth.map((t) => (Number.isNaN(t) ? 0 : t));
/** Flow that makes the true yield at the moisture of each record. */
const flowKgPerS = made.log.flowKgPerS.map((f, i) => (f * (100 - 15.5)) / (100 - (moisturePct[i] as number)));
const log: YieldLog = {...made.log, flowKgPerS, moisturePct};
const wet = dry.map((t, i) => (t * (100 - 15.5)) / (100 - (moisturePct[i] as number)));

const against = (givenYieldTPerHa: Float64Array, more: Partial<YieldLog> = {}): CleanedYield =>
  cleanYield({...log, ...more, givenYieldTPerHa}, made.field, {delayS: 0});
const message = (cleaned: CleanedYield): string | undefined =>
  cleaned.issues.find(({code}) => code === "yield/given-differs")?.message;
const T_PER_BUSHEL = 0.06276766469; // 56 lb over an acre in t/ha
const POUND_PER_ACRE = 1.12085115619; // in kg/ha

describe("the yield column of a log", () => {
  it("is passed over in silence where it agrees to a hundredth", () => {
    expect(message(against(dry))).toBeUndefined();
    expect(message(against(dry.map((t) => 1.01 * t)))).toBeUndefined();
    expect(against(dry).crossCheck?.factor).toBeCloseTo(1, 9);
  });

  it.each([
    [56 / 60, "read at 56 lb/bu, it fits 60 lb/bu (soybean, wheat)"],
    [56 / 32, "read at 56 lb/bu, it fits 32 lb/bu (oats)"],
    [1000, "the column is in kg/ha but was read as t/ha"],
    [0.001, "the column is in t/ha but was read as kg/ha"],
    [POUND_PER_ACRE, "the column is in kg/ha but was read as lb/ac"],
    [1 / POUND_PER_ACRE, "the column is in lb/ac but was read as kg/ha"],
    [2 * POUND_PER_ACRE, "the column is in t/ha but was read as short tons per acre"],
    [T_PER_BUSHEL, "the column is in t/ha but was read as bu/ac"],
    [1 / T_PER_BUSHEL, "the column is in bu/ac but was read as t/ha"],
    [56, "the column is in lb/ac but was read as bu/ac"],
    [0.845, "it looks like dry matter"],
  ])("%d times ours says what is wrong with it", (factor, cause) => {
    const cleaned = against(dry.map((t) => factor * t));
    expect(message(cleaned)).toContain(cause);
    expect(cleaned.crossCheck?.factor).toBeCloseTo(factor, 6);
  });

  it("of a wheat bushel read for corn is named with its factor: 1.0714", () => {
    // Sold at 56 lb, but the setting said 60: every bushel counts 60 / 56 too much.
    const cleaned = against(
      dry.map((t) => (t * 60) / 56),
      {bushelPounds: 60},
    );
    expect(message(cleaned)).toBe(
      "The yield column of made is 1.0714 times ours, worked out from flow: read at 60 lb/bu, it fits 56 lb/bu (corn).",
    );
  });

  it.each([
    ["swathM", 1 / 0.3048, "in metres but was read as feet", 0.3048],
    ["swathM", 0.3048, "in feet but was read as metres", 1 / 0.3048],
    ["distanceM", 2.54, "in inches but was read as centimetres", 1 / 2.54],
    ["distanceM", 0.0254, "in inches but was read as metres", 1 / 0.0254],
    ["flowKgPerS", 0.45359237, "the flow is in pounds but was read as kilograms", 1 / 0.45359237],
    ["flowKgPerS", 1 / 0.45359237, "the flow is in kilograms but was read as pounds", 0.45359237],
  ] as const)("finds %s wrong by %d", (column, truth, cause, factor) => {
    const wrong = (log[column] as Float64Array).map((v) => v / truth);
    const cleaned = against(dry, {[column]: wrong});
    // Theirs stays true, ours goes with the flow and against width and distance.
    expect(cleaned.crossCheck?.factor).toBeCloseTo(column === "flowKgPerS" ? truth : 1 / truth, 6);
    expect(cleaned.crossCheck?.factor).toBeCloseTo(column === "flowKgPerS" ? 1 / factor : factor, 6);
    expect(message(cleaned)).toContain(cause);
  });

  it("is not needed to see a wrong unit of distance: positions tell", () => {
    const wrong = {...made.log, distanceM: made.log.distanceM.map((d) => d * 3.280839895)};
    const {issues} = cleanYield(wrong, made.field, {delayS: 0});
    expect(issues.find(({code}) => code === "yield/distance-differs")?.message).toBe(
      "Distances of made are 3.28 times the steps between its positions: they look like feet read as metres.",
    );
    expect(cleanYield(made.log, made.field, {delayS: 0}).issues.map(({code}) => code)).not.toContain(
      "yield/distance-differs",
    );
  });

  it("and the distances are told of even when not a record can be used", () => {
    const crawling = {...log, distanceM: made.log.distanceM.map((d) => d / 12), givenYieldTPerHa: dry};
    const refuse = (): unknown => cleanYield(crawling, made.field, {delayS: 0});
    expect(refuse).toThrow(
      expect.objectContaining({
        code: "yield/none-kept",
        issues: [
          expect.objectContaining({code: "yield/given-differs"}),
          expect.objectContaining({message: expect.stringContaining("feet read as inches")}),
        ],
      }),
    );
  });

  it("at the moisture of harvest is told from a unit, though moisture varies", () => {
    expect(message(against(wet))).toMatch(
      /looks like yield at the moisture it was cut \(median 20\.\d %\), not at 15\.5 %/,
    );
  });

  it("at the moisture of harvest and in the wrong unit at once is told so", () => {
    const both = message(against(wet.map((t) => 1000 * t)));
    expect(both).toContain("kg/ha but was read as t/ha");
    expect(both).toContain("moisture it was cut");
  });

  it("that lags ours by seconds, with a spike and a zero here and there, is still compared", () => {
    const late = dry.map((_, i) => {
      const t = (dry[Math.max(0, i - 10)] as number) * (60 / 56);
      return i % 97 === 0 ? 40 * t : i % 89 === 0 ? 0 : t;
    });
    expect(message(against(late, {bushelPounds: 60}))).toContain("it fits 56 lb/bu (corn)");
  });

  it("off by a factor nobody knows is reported with the factor, and the header that would explain it", () => {
    const cleaned = against(dry.map((t) => 1.3 * t));
    expect(message(cleaned)).toBe("The yield column of made is 1.3000 times ours, worked out from flow.");
    const {hint} = cleaned.issues.find(({code}) => code === "yield/given-differs") ?? {};
    expect(hint).toContain("A header of 6.92 m (22.7 ft)"); // 9 m / 1.3
  });

  it("that has nothing to do with ours is not given a cause", () => {
    const noise = dry.map((t) => (t > 0 ? Math.exp(2 + 1.5 * random.normal()) : 0));
    const cleaned = against(noise);
    expect(cleaned.crossCheck?.cause).toBeUndefined();
  });

  it("of a few records is not compared", () => {
    const some = against(dry.map((t, i) => (i < 150 ? t * 2 : Number.NaN)));
    expect(some.crossCheck).toBeUndefined();
  });
});
