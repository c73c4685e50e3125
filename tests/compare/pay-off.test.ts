import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {adviseSampling} from "../../src/compare/advise-sampling.ts";
import {certaintyOf} from "../../src/compare/certainty.ts";
import {type PayInput, payAtGivenPrices, payOff} from "../../src/compare/pay-off.ts";
import {redrawNeeds} from "../../src/compare/redraw-needs.ts";
import {relativeYield, relativeYieldGiven, USUAL_CURVES} from "../../src/compare/response-curve.ts";
import {guideAgainstGuide, priceByYield} from "../../src/compare/sensitivity.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";

const curve = {
  id: "test",
  title: "A test",
  nutrient: "P2O5",
  atZero: 0.8,
  criticalTest: 20,
  test: "ppm",
  basis: "user",
  source: "a test",
} as const;
const linear = {...curve, shape: "linear plateau"} as const;
const quadratic = {...curve, shape: "quadratic plateau"} as const;

describe("response curves", () => {
  it("rise to the critical level and stay: by hand at 0, 10, 20 and 50 ppm", () => {
    expect([0, 10, 20, 50].map((test) => relativeYield(linear, test))).toEqual([0.8, 0.9, 1, 1]);
    expect(relativeYield(quadratic, 10)).toBeCloseTo(0.95, 12);
    expect(relativeYield(quadratic, 20)).toBe(1);
  });

  it("half of the need closes three quarters of the gap, the need all, more no more", () => {
    expect(relativeYieldGiven(linear, 0, 30, 60)).toBeCloseTo(0.95, 12);
    expect(relativeYieldGiven(linear, 0, 60, 60)).toBe(1);
    expect(relativeYieldGiven(linear, 0, 90, 60)).toBe(1);
    expect(relativeYieldGiven(linear, 50, 0, 0)).toBe(1);
  });

  it("all given ones are within 0 and 1, rise, and are marked as assumed", () => {
    for (const given of USUAL_CURVES) {
      expect(given.basis).toBe("placeholder");
      fc.assert(
        fc.property(
          fc.double({min: 0, max: 200, noNaN: true}),
          fc.double({min: 0, max: 50, noNaN: true}),
          (test, more) => {
            const [low, high] = [relativeYield(given, test), relativeYield(given, test + more)];
            expect(low).toBeGreaterThanOrEqual(given.atZero);
            expect(high).toBeGreaterThanOrEqual(low);
            expect(high).toBeLessThanOrEqual(1);
          },
        ),
        {numRuns: 50},
      );
    }
  });
});

/** Two acres, one needing nothing and one at 10 ppm needing 100 lb of nutrient; product is all nutrient at 1 $/lb. */
const acre = SQUARE_METRES_PER_ACRE;
const ground = (a: number, b: number) => [
  [
    {polygon: 0, rateLbPerAcre: a, areaM2: acre, value: 0},
    {polygon: 1, rateLbPerAcre: b, areaM2: acre, value: 1},
  ],
];
const truth = [[[{test: 60, needLbPerAcre: 0}]], [[{test: 10, needLbPerAcre: 100}]]];
const base: PayInput = {
  acres: 2,
  products: [{analysis: "0-100-0", nutrient: "P2O5", share: 1, pricePerLb: 1, curve: linear}],
  strategies: [
    {strategy: "whole-field", samplingPerYear: 2, applicationPerYear: 0, ground: ground(50, 50)},
    {strategy: "zone", samplingPerYear: 6, applicationPerYear: 0, ground: ground(0, 100)},
  ],
  baseline: "whole-field",
  truths: [truth],
  crops: [{crop: "corn", yieldGoal: 200, pricePerUnit: 4}],
  applicationYears: 1,
  bankedShare: 0.75,
  bankedShareAboveLimit: 0.5,
};

describe("expected loss", () => {
  it("by hand: 50 lb wasted on the rich acre, half the need on the poor one", () => {
    const at = payAtGivenPrices(payOff(base));
    const [whole, zone] = at.strategies;
    // Relative yield 0.9 at 10 ppm; half the need leaves a quarter of the gap: 0.025 x 800 $ on one of two acres.
    expect(whole?.yieldLoss).toBeCloseTo(10, 9);
    // 50 lb at 1 $, half of it banked, over two acres.
    expect(whole?.excess).toBeCloseTo(12.5, 9);
    expect(whole?.sampling).toBe(1);
    expect(whole?.total).toBeCloseTo(23.5, 9);
    expect(zone).toMatchObject({yieldLoss: 0, excess: 0, sampling: 3, total: 3});
    expect(zone?.againstBaseline).toBeCloseTo(-20.5, 9);
    expect(at.least).toBe("zone");
  });

  it("scales with prices: grain moves the yield part, fertilizer the excess", () => {
    const {prices} = payOff({...base, grainFactors: [2], fertilizerFactors: [0.5]});
    expect(prices).toHaveLength(1);
    expect(prices[0]?.strategies[0]).toMatchObject({yieldLoss: expect.closeTo(20, 9), excess: expect.closeTo(6.25, 9)});
  });

  it("counts no yield when the curve is off, and says so", () => {
    const off = payOff({...base, products: base.products.map((product) => ({...product, curve: "off" as const}))});
    expect(payAtGivenPrices(off).strategies[0]?.yieldLoss).toBe(0);
    expect(off.notes.join(" ")).toContain("No yield is counted for P2O5");
    expect(off.curves).toEqual([]);
  });

  it("lets banked nutrient take the waste away under the guide's limit, and only there", () => {
    const rich = {...base, truths: [[[[{test: 30, needLbPerAcre: 20}]], [[{test: 10, needLbPerAcre: 100}]]]]};
    const excess = (bankedShare: number): number | undefined =>
      payAtGivenPrices(payOff({...rich, bankedShare, bankedShareAboveLimit: 0})).strategies[0]?.excess;
    expect(excess(1)).toBe(0);
    expect(excess(0)).toBeCloseTo(15, 9);
    expect(payAtGivenPrices(payOff({...base, bankedShare: 1, bankedShareAboveLimit: 0})).strategies[0]?.excess).toBe(
      25,
    );
  });

  it("spreads a two-crop application over two years, sampling staying yearly", () => {
    const crops = [...base.crops, {crop: "soybean", yieldGoal: 40, pricePerUnit: 10}];
    const at = payAtGivenPrices(payOff({...base, crops, applicationYears: 2}));
    expect(at.strategies[0]?.yieldLoss).toBeCloseTo((0.025 * 1200) / 2 / 2, 9);
    expect(at.strategies[0]?.excess).toBeCloseTo(6.25, 9);
    expect(at.strategies[0]?.sampling).toBe(1);
  });

  it("finds no clear difference when the truth could be either way", () => {
    const other = [truth[1], truth[0]] as typeof truth;
    const at = payAtGivenPrices(payOff({...base, truths: [truth, other, truth, other]}));
    expect(at.strategies[1]?.verdict).toBe("no clear difference");
  });

  it("refuses a share of 2 and no truth at all", () => {
    expect(() => payOff({...base, bankedShare: 2})).toThrow("cannot be worth 2 times");
    expect(() => payOff({...base, truths: []})).toThrow("nothing to judge");
  });
});

describe("needs re-drawn", () => {
  const units = [{id: "A", acres: 1, cores: 10, values: {P: 12}}];
  const none = {P: {core: 0, lab: 0, scale: "share", basis: "user", source: "a test"}} as const;
  const needsOf = ({P = 0}) => [{test: P, needLbPerAcre: 200 - P}];
  const draw = (more: object) => redrawNeeds({strategy: "grid", pooled: false, units}, needsOf, {seed: 1, ...more});

  it("keep what is known without error and follow the guide otherwise", () => {
    const [first] = draw({noise: none, draws: 3});
    expect(first?.[0]).toHaveLength(6);
    expect(first?.[0]?.[5]?.[0]).toEqual({test: 12, needLbPerAcre: 188});
  });

  it("spread spots within a unit about its mean as cores do", () => {
    const spots = draw({noise: none, withinPct: {P: 35}, draws: 2000}).flatMap((units) => units[0] ?? []);
    const tests = spots.map((spot) => spot[0]?.test ?? 0);
    const mean = tests.reduce((a, b) => a + b) / tests.length;
    const sd = Math.sqrt(tests.reduce((sum, t) => sum + (t - mean) ** 2, 0) / tests.length);
    expect(Math.abs(mean - 12)).toBeLessThan(0.12);
    expect(Math.abs(sd / mean - 0.35)).toBeLessThan(0.015);
  });

  it("charge every strategy with what varies inside its units", () => {
    const flat = payAtGivenPrices(payOff({...base, truths: [truth]}));
    const spread = payAtGivenPrices(
      payOff({
        ...base,
        // The poor acre is half at 5 ppm needing 115 lb and half at 15 ppm needing 85.
        truths: [[truth[0] ?? [], [[{test: 5, needLbPerAcre: 115}], [{test: 15, needLbPerAcre: 85}]]]],
      }),
    );
    expect(flat.strategies[1]?.excess).toBe(0);
    expect(spread.strategies[1]?.excess).toBeCloseTo((15 * 0.25) / 2 / 2, 9);
  });
});

describe("advice", () => {
  const samples = {"whole-field": 2, zone: 3, grid: 60} as const;
  const pay = payOff(base);

  it("sampling finer pays where losses say so at every price", () => {
    const advice = adviseSampling({baseline: "whole-field", samples, pay});
    expect(advice).toMatchObject({finer: "pays", strategy: "zone"});
    expect(advice.headline).toBe("Sampling by zone pays here, at all prices looked at.");
    expect(advice.reasons[0]).toBe(
      "Expected loss at your prices, against whole-field sampling: zone $20.50/ac a year better.",
    );
  });

  it("do not sample finer where it costs more than it saves", () => {
    const dear = payOff({
      ...base,
      strategies: base.strategies.map((s, i) => (i === 1 ? {...s, samplingPerYear: 200} : s)),
    });
    const advice = adviseSampling({baseline: "whole-field", samples, pay: dear});
    expect(advice).toMatchObject({finer: "does not pay", strategy: "whole-field"});
    expect(advice.headline).toBe("Do not sample finer here: whole-field sampling is enough.");
    expect(advice.reasons[0]).toBe("Finer sampling costs more than it saves at all prices looked at.");
  });

  it("do not sample finer where nothing is needed, or one rate does for all", () => {
    const unit = (id: string, P: number) => ({id, acres: 1, cores: 10, values: {P}});
    const certain = (rate: (P: number) => number) =>
      certaintyOf({
        strategies: [
          {strategy: "whole-field", pooled: true, units: [unit("W", 100)]},
          {strategy: "grid", pooled: false, units: Array.from({length: 12}, (_, i) => unit(`G${i}`, 90 + i))},
        ],
        products: [{code: "MAP", analysis: "11-52-0", nutrient: "P2O5"}],
        evaluate: ({P = 0}) => ({lbPerAcre: [rate(P)]}),
        seed: 1,
      });
    const few = {"whole-field": 1, grid: 12} as const;
    const nothing = adviseSampling({baseline: "whole-field", samples: few, certainty: certain(() => 0)});
    expect(nothing.finer).toBe("does not pay");
    expect(nothing.reasons[0]).toContain("calls for any product");
    const same = adviseSampling({baseline: "whole-field", samples: few, certainty: certain(() => 120)});
    expect(same.finer).toBe("does not pay");
    expect(same.reasons[0]).toContain("Nearly all ground of the grid plan gets the rate");
  });

  it("says so where a strategy is judged by its own samples and nothing was held out", () => {
    const advice = adviseSampling({baseline: "whole-field", samples, pay: {...pay, yardstick: "zone"}});
    expect(advice.headline).toBe("By its own samples, sampling by zone pays here, at all prices looked at.");
    expect(advice.reasons[1]).toContain("upper guess");
  });

  it("shows nothing where nothing is known of what spots need", () => {
    expect(adviseSampling({baseline: "whole-field", samples})).toMatchObject({finer: "not shown"});
  });
});

describe("sensitivity", () => {
  const totalsAt = (factor: number) => [
    {strategy: "whole-field" as const, products: [{analysis: "11-52-0", totalLb: 1000 * factor, pricePerLb: 0.4}]},
    {strategy: "zone" as const, products: [{analysis: "11-52-0", totalLb: 800 * factor, pricePerLb: 0.4}]},
  ];

  it("by hand: prices and yield goals multiply", () => {
    const cells = priceByYield(totalsAt, [1, 1.1], [1, 2]);
    expect(cells).toHaveLength(4);
    expect(cells[3]).toMatchObject({priceFactor: 2, yieldFactor: 1.1});
    expect(cells[3]?.strategies[1]?.productCost).toBeCloseTo(800 * 1.1 * 0.4 * 2, 9);
    expect(cells[3]?.strategies[1]?.differenceCost).toBeCloseTo(-200 * 1.1 * 0.4 * 2, 9);
  });

  it("has no cost where a product has no price", () => {
    const bare = priceByYield(() => [{strategy: "grid", products: [{analysis: "0-0-60", totalLb: 5}]}], [1], [1]);
    expect(bare[0]?.strategies[0]?.productCost).toBeUndefined();
  });

  it("lays guide against guide, and lists one that refuses the results with its reason", () => {
    const rows = guideAgainstGuide([
      {guide: "First", edition: "1", totals: totalsAt(1)},
      {guide: "Second", edition: "2", totals: totalsAt(1.5)},
      {guide: "Third", edition: "3", refused: "It needs Bray-1.", totals: []},
    ]);
    expect(rows.find(({guide, strategy}) => guide === "Second" && strategy === "zone")).toMatchObject({
      differenceLb: 400,
    });
    expect(rows.at(-1)).toEqual({guide: "Third", edition: "3", refused: "It needs Bray-1."});
  });
});
