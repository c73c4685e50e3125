import {describe, expect, it} from "vitest";
import {adviseSampling} from "../../src/compare/advise-sampling.ts";
import {type Certainty, certaintyOf, verdictOf} from "../../src/compare/certainty.ts";
import type {Money} from "../../src/compare/money.ts";
import type {OverUnder} from "../../src/compare/over-and-under.ts";
import type {PayAtPrices, PayOff} from "../../src/compare/pay-off.ts";

const samples = {"whole-field": 1, grid: 12} as const;

/** Losses of grid against whole field that are clear to neither side at any price. */
const part = {yieldLoss: 1, excess: 2, sampling: 1, application: 1, total: 5};
const at: PayAtPrices = {
  grainFactor: 1,
  fertilizerFactor: 1,
  least: "whole-field",
  strategies: [
    {strategy: "whole-field", ...part},
    {
      strategy: "grid",
      ...part,
      total: 7.17,
      againstBaseline: 2.17,
      interval: {low: -1, high: 5},
      verdict: "no clear difference",
    },
  ],
};
const pay: PayOff = {
  acres: 40,
  baseline: "whole-field",
  level: 0.9,
  bankedShare: 0.75,
  bankedShareAboveLimit: 0,
  prices: [at],
  curves: [],
  notes: [],
};

/** A whole-field total of potash with its interval; the grid's is firm. */
function certainWith(totalLb: number, low: number, high: number): Certainty {
  const made = certaintyOf({
    strategies: [
      {strategy: "whole-field", pooled: true, units: [{id: "W", acres: 40, cores: 15, values: {K: 150}}]},
      {strategy: "grid", pooled: false, units: [{id: "G", acres: 40, cores: 15, values: {K: 60}}]},
    ],
    products: [{code: "POT", analysis: "0-0-60", nutrient: "K2O"}],
    evaluate: () => ({lbPerAcre: [100]}),
    draws: 20,
    seed: 1,
  });
  const [whole, grid] = made.strategies as [Certainty["strategies"][number], Certainty["strategies"][number]];
  const [total] = whole.products as [(typeof whole.products)[number]];
  // Units apart from the baseline's rate, so that the losses are asked.
  const units = grid.units.map((unit) => ({...unit, interval: {low: 0, high: 300}}));
  return {
    ...made,
    strategies: [
      {...whole, products: [{...total, totalLb, totalLbInterval: {low, high}}]},
      {...grid, units},
    ],
  };
}

function short(acresUnder: number): OverUnder {
  return {
    strategy: "whole-field",
    nutrient: "K2O",
    toleranceLbPerAcre: 15,
    acresOver: 0,
    acresUnder,
    acresWithin: 40 - acresUnder,
    acresUnknown: 0,
    lbOver: 0,
    lbShort: 0,
    meanError: 0,
    rootMeanSquareError: 0,
  };
}

describe("the advice", () => {
  it("says that whole-field sampling is enough where its total is firm and little ground is short", () => {
    const advice = adviseSampling({
      baseline: "whole-field",
      samples,
      pay,
      certainty: certainWith(4_000, 3_000, 5_000),
      overUnder: [short(10)],
    });
    expect(advice).toMatchObject({finer: "does not pay", strategy: "whole-field"});
    expect(advice.headline).toBe("Do not sample finer here: whole-field sampling is enough.");
  });

  it("decides nothing, and says what would, where no product is called for but much could be", () => {
    const advice = adviseSampling({baseline: "whole-field", samples, pay, certainty: certainWith(0, 0, 9_321)});
    expect(advice.finer).toBe("not shown");
    expect(advice.strategy).toBeUndefined();
    expect(advice.headline).toBe(
      "Not decided: the whole-field total of 0-0-60 hangs on the guide's limit and could be anything from 0 to 9,321 lb.",
    );
    expect(advice.reasons[0]).toMatch(/^What would decide 0-0-60: whole-field sampling done again with more bags/);
    expect(advice.reasons[1]).toBe("Finer sampling is not clearly ahead at any of the prices looked at.");
  });

  it.each([
    [4_000, 0, 6_000, false],
    [4_000, 400, 6_000, false],
    [4_000, 601, 6_000, true],
    [0, 0, 0, true],
  ])("of a total of %d lb, %d to %d: enough is %s", (totalLb, low, high, enough) => {
    const certainty = certainWith(totalLb, low, high);
    const advice = adviseSampling({baseline: "whole-field", samples, pay, certainty});
    expect(advice.finer === "does not pay").toBe(enough);
  });

  it("decides nothing where more than a quarter of the ground is short by the finer samples", () => {
    const certainty = certainWith(4_000, 3_000, 5_000);
    const advice = adviseSampling({baseline: "whole-field", samples, pay, certainty, overUnder: [short(20)]});
    expect(advice.headline).toBe(
      "Not decided: whole-field sampling leaves 20 of 40 ac short of K2O by the finer samples.",
    );
    expect(advice.reasons[0]).toContain("ten hold-out samples");
  });

  it("says that there is nothing to compare where one strategy alone has rates", () => {
    const made = certainWith(4_000, 3_000, 5_000);
    const certainty = {...made, strategies: made.strategies.slice(0, 1), differences: []};
    const alone = {...pay, prices: [{...at, strategies: at.strategies.slice(0, 1)}]};
    const advice = adviseSampling({baseline: "whole-field", samples: {"whole-field": 1}, pay: alone, certainty});
    expect(advice.headline).toBe(
      "Whether finer sampling pays is not shown: only one strategy has rates, so there is nothing to compare it with.",
    );
    expect(advice.howSure).toBe("Only one strategy has rates: its total cannot be told apart from another.");
  });

  it.each([
    [
      1,
      3,
      "1 of 3 differences between totals is clear; the others could be the luck of cores and lab (90 % intervals).",
    ],
    [
      2,
      3,
      "2 of 3 differences between totals are clear; the other could be the luck of cores and lab (90 % intervals).",
    ],
    [0, 3, "No total differs clearly from another: the luck of cores and lab could explain it (90 % intervals)."],
    [3, 3, "The totals differ clearly between all strategies (90 % intervals)."],
  ])("says of %d clear differences in %d how sure that is", (clear, all, words) => {
    const made = certainWith(4_000, 3_000, 5_000);
    const [one] = made.differences as [Certainty["differences"][number]];
    const differences = Array.from({length: all}, (_, i) => ({
      ...one,
      verdict: i < clear ? ("less" as const) : ("no clear difference" as const),
    }));
    const certainty = {...made, level: 0.9, differences};
    expect(adviseSampling({baseline: "whole-field", samples, pay, certainty}).howSure).toBe(words);
  });

  it("tells the loss apart from the bill, with both figures", () => {
    const money = {
      acres: 40,
      strategies: [{strategy: "whole-field"}, {strategy: "grid", againstPerYear: 40 * 18.56}],
    } as unknown as Money;
    const {reasons} = adviseSampling({baseline: "whole-field", samples, pay, money});
    expect(reasons[1]).toMatch(
      /^Expected loss at your prices, against whole-field sampling: grid \$2\.17\/ac a year worse\. The bill for product, sampling and spreading is another sum \(grid \$18\.56\/ac a year more than whole-field\): the loss leaves out/,
    );
  });
});

describe("a verdict", () => {
  it("is none when the interval touches zero, or ends so near that it is printed as touching it", () => {
    expect(verdictOf({low: -2_025, high: 0})).toBe("no clear difference");
    expect(verdictOf({low: -2_025, high: -0.4}, 2)).toBe("no clear difference");
    expect(verdictOf({low: -2_025, high: -3}, 2)).toBe("less");
    expect(verdictOf({low: 3, high: 9}, 2)).toBe("more");
  });
});
