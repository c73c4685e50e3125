import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {type CertaintyInput, certaintyOf, type NoisyStrategy, verdictOf} from "../../src/compare/certainty.ts";
import type {AnalyteNoise} from "../../src/compare/composite-noise.ts";
import type {Strategy} from "../../src/sampling/plan.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {PRODUCTS, spreadRates} from "./spread-rates.ts";

const noise = (sd: number): AnalyteNoise => ({core: 0, lab: sd, scale: "same", basis: "user", source: "a test"});
const product = {code: "MAP", analysis: "11-52-0", nutrient: "P2O5", pricePerLb: 0.4} as const;

function strategy(name: Strategy, tests: readonly number[], more: Partial<NoisyStrategy> = {}): NoisyStrategy {
  const units = tests.map((P, i) => ({id: `${name}${i}`, acres: 10, cores: 10, values: {P}}));
  return {strategy: name, pooled: false, units, ...more};
}

/** lb/ac falls by 2 for each ppm: a straight line, so that errors can be worked out by hand. */
const straight: CertaintyInput["evaluate"] = ({P = 0}) => ({lbPerAcre: [200 - 2 * P]});

const base = {products: [product], evaluate: straight, seed: 1, noise: {P: noise(3)}};

describe("noise carried to a total", () => {
  it("of one unit and a straight line is 1.645 standard deviations either way", () => {
    const {strategies} = certaintyOf({...base, strategies: [strategy("zone", [20])], draws: 20_000});
    const total = strategies[0]?.products[0];
    // 10 ac x 2 lb/ac a ppm x 3 ppm = 60 lb.
    expect(total?.totalLb).toBe(1600);
    expect(Math.abs((total?.totalLbInterval.low ?? 0) - (1600 - 1.645 * 60))).toBeLessThan(3);
    expect(Math.abs((total?.totalLbInterval.high ?? 0) - (1600 + 1.645 * 60))).toBeLessThan(3);
    expect(total?.cost).toBeCloseTo(640, 9);
    expect(total?.costInterval?.high).toBeCloseTo(0.4 * (total?.totalLbInterval.high ?? 0), 9);
  });

  it("averages out over four units: half the share of one", () => {
    const width = (tests: number[]): number => {
      const {strategies} = certaintyOf({...base, strategies: [strategy("zone", tests)], draws: 20_000});
      const {low, high} = strategies[0]?.products[0]?.meanLbPerAcreInterval ?? {low: 0, high: 0};
      return high - low;
    };
    expect(width([20, 20, 20, 20]) / width([20])).toBeCloseTo(0.5, 1);
  });

  it("gives a pooled plan one rate from the mean weighted by area", () => {
    const units = [
      {id: "A", acres: 30, cores: 10, values: {P: 10}},
      {id: "B", acres: 10, cores: 10, values: {P: 50}},
    ];
    const {strategies} = certaintyOf({...base, strategies: [{strategy: "whole-field", pooled: true, units}]});
    // 20 ppm over 40 acres at 160 lb/ac.
    expect(strategies[0]?.products[0]?.totalLb).toBe(6400);
    expect(strategies[0]?.units.map(({unit}) => unit)).toEqual(["whole field"]);
  });

  it("gives units without results no product and no say", () => {
    const units = [
      {id: "A", acres: 10, cores: 10, values: {P: 20}},
      {id: "B", acres: 10, cores: 10, values: {}},
    ];
    const {strategies} = certaintyOf({...base, strategies: [{strategy: "zone", pooled: false, units}]});
    expect(strategies[0]?.products[0]?.totalLb).toBe(1600);
  });

  it("counts acres by class with their intervals, and the chance of another rate", () => {
    const evaluate: CertaintyInput["evaluate"] = ({P = 0}) => ({
      lbPerAcre: [P < 40 ? 100 : 0],
      classes: [P < 40 ? "low" : "high"],
    });
    const {strategies} = certaintyOf({...base, evaluate, strategies: [strategy("zone", [40, 80])], draws: 4000});
    const [low, high] = [...(strategies[0]?.products[0]?.acresByClass ?? [])].sort((a, b) => a.acres - b.acres);
    expect(low).toMatchObject({testClass: "low", acres: 0, interval: {low: 0, high: 10}});
    expect(high).toMatchObject({testClass: "high", acres: 20, interval: {low: 10, high: 20}});
    const [edge, safe] = strategies[0]?.units ?? [];
    expect(edge?.chanceOfAnotherRate).toBeCloseTo(0.5, 1);
    expect(safe?.chanceOfAnotherRate).toBe(0);
  });

  it("is none at all where there is no noise", () => {
    const {strategies} = certaintyOf({...base, noise: {P: noise(0)}, strategies: [strategy("zone", [20, 30])]});
    expect(strategies[0]?.products[0]?.totalLbInterval).toEqual({low: 2 * 1500 - 0, high: 3000});
  });
});

describe("differences", () => {
  it("are clear only when the whole interval is on one side of zero", () => {
    expect(verdictOf({low: -5, high: -1})).toBe("less");
    expect(verdictOf({low: 1, high: 5})).toBe("more");
    expect(verdictOf({low: -1, high: 5})).toBe("no clear difference");
    expect(verdictOf({low: 0, high: 0})).toBe("no clear difference");
  });

  it("compare every two strategies, the later against the earlier", () => {
    const {differences} = certaintyOf({
      ...base,
      strategies: [strategy("whole-field", [20]), strategy("grid", [60]), strategy("zone", [21])],
    });
    expect(differences.map((d) => `${d.strategy} against ${d.against}: ${d.verdict}`)).toEqual([
      "grid against whole-field: less",
      "zone against whole-field: no clear difference",
      "zone against grid: more",
    ]);
  });

  it("are told in dollars of all products together, where each has a price", () => {
    const given = {...base, noise: {P: noise(0)}, strategies: [strategy("whole-field", [20]), strategy("grid", [30])]};
    // 10 ac at 160 and at 140 lb/ac: 200 lb less at 0.40 $, and without noise nothing moves.
    const interval = {low: -80, high: -80};
    expect(certaintyOf(given).costDifferences).toEqual([
      {strategy: "grid", against: "whole-field", dollars: -80, interval, verdict: "less"},
    ]);
    const unpriced = [product, {...product, code: "B", pricePerLb: undefined}];
    const twice: CertaintyInput["evaluate"] = ({P = 0}) => ({lbPerAcre: [200 - 2 * P, 100]});
    expect(certaintyOf({...given, products: unpriced, evaluate: twice}).costDifferences).toEqual([]);
  });

  it("say what was assumed, and nothing of it once it was measured", () => {
    const assumed = certaintyOf({...base, noise: {}, strategies: [strategy("grid", [20])]});
    expect(assumed.notes.join(" ")).toContain("assumed for P, not measured here");
    const own = strategy("grid", [20], {noise: {P: noise(2)}});
    expect(certaintyOf({...base, noise: {}, strategies: [own]}).notes.join(" ")).not.toContain("assumed");
  });
});

describe("the real guide", () => {
  const field = (name: Strategy, count: number): NoisyStrategy => {
    const random = seededRandom(7, name);
    return {
      strategy: name,
      pooled: name === "whole-field",
      units: Array.from({length: count}, (_, i) => ({
        id: `${name}${i}`,
        acres: 150 / count,
        cores: 10,
        values: {P: 25 * Math.exp(0.6 * random.normal()), K: 130 * Math.exp(0.25 * random.normal()), CEC: 14},
      })),
    };
  };
  const input: CertaintyInput = {
    strategies: [field("whole-field", 7), field("grid", 60), field("zone", 6)],
    products: PRODUCTS,
    evaluate: spreadRates(),
    draws: 200,
    seed: 3,
  };

  it("runs 200 re-draws of a 60-unit comparison in under a second", () => {
    const started = process.cpuUsage();
    certaintyOf({...input, evaluate: spreadRates()});
    // Processor time, so that a busy machine does not fail it.
    expect(process.cpuUsage(started).user / 1000).toBeLessThan(1000);
  });

  it("gives the same bytes for the same seed, others for another", () => {
    expect(JSON.stringify(certaintyOf(input))).toBe(JSON.stringify(certaintyOf(input)));
    expect(JSON.stringify(certaintyOf({...input, seed: 4}).strategies)).not.toBe(
      JSON.stringify(certaintyOf(input).strategies),
    );
  });

  it("does not let one strategy's luck depend on which others are compared", () => {
    const alone = certaintyOf({...input, strategies: input.strategies.slice(1, 2)});
    expect(alone.strategies[0]).toEqual(certaintyOf(input).strategies[1]);
  });
});

describe("whatever the tests", () => {
  it("intervals are in order and lie within what the rates allow", () => {
    fc.assert(
      fc.property(fc.array(fc.double({min: 1, max: 90, noNaN: true}), {minLength: 1, maxLength: 14}), (tests) => {
        const {strategies} = certaintyOf({...base, noise: {}, strategies: [strategy("grid", tests)], draws: 40});
        const {low, high} = strategies[0]?.products[0]?.meanLbPerAcreInterval ?? {low: 0, high: 0};
        expect(low).toBeLessThanOrEqual(high);
        expect(high).toBeLessThanOrEqual(200);
      }),
      {numRuns: 50},
    );
  });
});
