import fc from "fast-check";
import {beforeAll, describe, expect, it} from "vitest";
import type {CompareInput, StrategyResult} from "../../src/compare/compare-input.ts";
import {compareStrategies} from "../../src/compare/compare-strategies.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {buildPrescription} from "../../src/prescription/build-prescription.ts";
import {type ProductInput, parseProduct} from "../../src/prescription/parse-product.ts";
import type {Recommendation} from "../../src/recommend/recommendation.ts";
import type {SamplingPlan, Strategy} from "../../src/sampling/plan.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres} from "../../src/units/quantity.ts";
import {strips} from "../prescription/fields.ts";

beforeAll(loadGeos);

function plan(strategy: Strategy, rows: string[], coresEach: number): SamplingPlan {
  return {
    strategy,
    units: strips(...rows).map((unit) => ({
      ...unit,
      label: unit.id,
      cores: Array.from({length: coresEach}, (_, i) => ({number: i + 1, x: 1, y: 1})),
    })),
    depth: metres(0.2032),
    pooled: strategy === "whole-field",
    seed: 1,
    issues: [],
    madeFrom: {step: "sampling/plan", inputs: [], options: {}},
  };
}

function recommendation(
  unit: string,
  rate: number,
  testClass: string,
  test: number,
  more: Partial<Recommendation> = {},
): Recommendation {
  return {
    unit,
    nutrient: "P2O5",
    rateLbPerAcre: rate,
    test: {value: test, unit: "ppm", method: "mehlich-3 icp"},
    testClass,
    guide: {id: "g", title: "A guide", edition: "1"},
    working: [],
    issues: [],
    ...more,
  };
}

function result(
  sampling: SamplingPlan,
  recommendations: Recommendation[],
  product: ProductInput = {analysis: "11-52-0"},
): StrategyResult {
  const prescription = buildPrescription({
    strategy: sampling.strategy,
    units: sampling.units,
    recommendations,
    product: parseProduct(product),
    nutrient: "P2O5",
    limits: {stepLbPerAcre: 5, minLbPerAcre: 0, maxLbPerAcre: 600, belowMin: "zero", outsideLbPerAcre: 0},
  });
  return {plan: sampling, recommendations, prescriptions: [prescription]};
}

const MAP = {analysis: "11-52-0", pricePerLb: 0.4};
const wholeField = (product: ProductInput = MAP) =>
  result(plan("whole-field", ["AB", "AB"], 20), [recommendation("whole field", 52, "maintenance", 25)], product);
const zones = (product: ProductInput = MAP) =>
  result(
    plan("zone", ["AB", "AC"], 10),
    [
      recommendation("A", 0, "above", 60),
      recommendation("B", 104, "below", 12),
      recommendation("C", 52, "maintenance", 25),
    ],
    product,
  );

const acres = (n: number): number => n * SQUARE_METRES_PER_ACRE;
const compare = (strategies: StrategyResult[], more: Partial<CompareInput> = {}) =>
  compareStrategies({field: "Millrace", areaM2: acres(4), strategies, baseline: "whole-field", ...more});

describe("the ledger by hand", () => {
  const prices = {year: 2026, labPerSample: 12, perCore: 0.5, zoneMakingPerAcre: 1};

  it("four acres at 100 against two at 0, one at 200 and one at 100", () => {
    const {rows, acres: size} = compare([wholeField(), zones()], {prices});
    expect(size).toBe(4);
    // 400 lb x $0.40; 2 samples x $12 + 40 cores x $0.50.
    expect(rows[0]).toMatchObject({strategy: "whole-field", samples: 2, cores: 40, acresPerSample: 2});
    expect(rows[0]).toMatchObject({
      productCost: expect.closeTo(160, 9),
      samplingCost: expect.closeTo(44, 9),
      totalCost: expect.closeTo(204, 9),
    });
    // 300 lb x $0.40; 3 samples x $12 + 30 cores x $0.50 + 4 ac x $1 of zone making.
    expect(rows[1]).toMatchObject({
      samples: 3,
      cores: 30,
      productCost: expect.closeTo(120, 9),
      samplingCost: expect.closeTo(55, 9),
      totalCost: expect.closeTo(175, 9),
      differenceCost: expect.closeTo(-29, 9),
    });
    expect(rows[1]?.products).toEqual([
      {
        code: "MAP",
        analysis: "11-52-0",
        nutrient: "P2O5",
        meanLbPerAcre: expect.closeTo(75, 9),
        minLbPerAcre: 0,
        maxLbPerAcre: 200,
        totalLb: expect.closeTo(300, 9),
        nutrientLb: expect.closeTo(156, 9),
        nitrogenLb: expect.closeTo(33, 9),
        shiftedLb: expect.closeTo(0, 9),
        cost: expect.closeTo(120, 9),
        differenceLb: expect.closeTo(-100, 9),
      },
    ]);
  });

  it("the baseline has no difference from itself, whichever it is", () => {
    const {rows} = compare([wholeField(), zones()], {prices, baseline: "zone"});
    expect(rows[1]?.differenceCost).toBeUndefined();
    expect(rows[1]?.products[0]?.differenceLb).toBeUndefined();
    expect(rows[0]?.differenceCost).toBeCloseTo(29, 9);
    expect(rows[0]?.products[0]?.differenceLb).toBeCloseTo(100, 9);
  });

  it("20 samples at $10 are $200 (Maryland fact sheet FS-1046), and $50 a year over four years", () => {
    const grid = plan("grid", ["ABCDE", "FGHIJ", "KLMNO", "PQRST"], 0);
    const {rows} = compare([{plan: grid}], {
      areaM2: acres(20),
      baseline: "grid",
      prices: {labPerSample: 10, yearsServed: 4},
    });
    expect(rows[0]).toMatchObject({samples: 20, samplingCost: 200, samplingCostPerYear: 50});
  });
});

describe("acres by soil-test class", () => {
  it("stand in order of the tests, the same classes for every strategy, and add up to the field", () => {
    const [pooled, zoned] = compare([wholeField(), zones()]).rows;
    const table = (row: typeof pooled) =>
      row?.acresByClass.P2O5?.map((c) => [c.testClass, Math.round(c.acres * 1e6) / 1e6]);
    expect(table(pooled)).toEqual([
      ["below", 0],
      ["maintenance", 4],
      ["above", 0],
    ]);
    expect(table(zoned)).toEqual([
      ["below", 1],
      ["maintenance", 1],
      ["above", 2],
    ]);
    expect(zoned?.acresByClass.K2O).toBeUndefined();
  });

  it("follow the guide's own order where it is given", () => {
    const {rows} = compare([zones()], {
      baseline: "zone",
      classOrder: {P2O5: ["above", "very high", "maintenance", "below"]},
    });
    expect(rows[0]?.acresByClass.P2O5?.map((c) => c.testClass)).toEqual(["above", "very high", "maintenance", "below"]);
  });

  it("say so where a unit has no result", () => {
    const {recommendations = [], ...rest} = zones();
    const {rows} = compare([{...rest, recommendations: recommendations.slice(0, 2)}], {baseline: "zone"});
    expect(rows[0]?.acresByClass.P2O5?.at(-1)).toEqual({testClass: "no result", acres: expect.closeTo(1, 9)});
  });
});

describe("what is not known is left out and said", () => {
  it("plans alone, before the lab has reported", () => {
    const ledger = compare([{plan: plan("whole-field", ["AB", "AB"], 20)}, {plan: plan("grid", ["AB", "CD"], 8)}]);
    expect(ledger.rows.map((row) => [row.samples, row.cores, row.products.length])).toEqual([
      [2, 40, 0],
      [4, 32, 0],
    ]);
    expect(ledger.rows[0]).not.toHaveProperty("productCost");
    expect(ledger.rows[0]).not.toHaveProperty("samplingCost");
    expect(ledger.rows[0]?.acresByClass).toEqual({});
    expect(ledger.notes).toContain("No lab results yet: the table compares the sampling alone.");
  });

  it("a product without a price has no cost, and the row no total", () => {
    const ledger = compare([wholeField({analysis: "11-52-0"})], {prices: {labPerSample: 12}});
    expect(ledger.rows[0]).toMatchObject({samplingCost: 24});
    for (const key of ["productCost", "totalCost", "differenceCost"]) expect(ledger.rows[0]).not.toHaveProperty(key);
    expect(ledger.notes).toEqual(
      expect.arrayContaining([
        "No price was given for 11-52-0, so no total cost is shown.",
        "No price was given for cores: sampling costs leave that out.",
      ]),
    );
  });

  it("a strategy still without lab results stands beside the others", () => {
    const ledger = compare([wholeField(), {plan: plan("grid", ["AB", "CD"], 8)}], {
      prices: {labPerSample: 12, perCore: 1},
    });
    expect(ledger.rows[1]).not.toHaveProperty("totalCost");
    expect(ledger.notes).toContain("No rates yet for grid.");
  });
});

describe("the notes", () => {
  const text = (strategies: StrategyResult[], more: Partial<CompareInput> = {}) =>
    compare(strategies, more).notes.join("\n");

  it("always caution, promise no yield, and say how sure", () => {
    for (const notes of [text([wholeField()]), text([{plan: plan("whole-field", ["AB", "AB"], 1)}])]) {
      expect(notes).toMatch(/local nutrient rules and setbacks.*certified adviser sign.*controller reads the file/);
      expect(notes).toMatch(/No gain in yield is promised/);
      expect(notes).toMatch(/one day's sampling/);
    }
  });

  it("say one thing of sampling that has no price, whether or not published prices stand in beside the table", () => {
    expect(text([wholeField()])).toContain("No price was given for lab or cores, so sampling costs are not counted.");
    const beside = text([wholeField()], {pricesStandIn: true});
    expect(beside).not.toContain("not counted");
    expect(beside).toMatch(/counts it at published prices and placeholders \(10 \$ a sample, 30 \$ an hour\)/);
    const byTheHour = text([wholeField()], {prices: {crew: {"whole-field": 60}}});
    expect(byTheHour).toContain("No price was given for lab or cores: sampling costs leave those out.");
    expect(byTheHour).not.toContain("not counted");
  });

  it("say that nitrogen comes along, and other nutrients no rate counts", () => {
    expect(text([wholeField()])).toMatch(/Nitrogen comes along in 11-52-0: take it off the nitrogen plan\./);
    expect(text([wholeField({analysis: "0-46-0"})])).not.toMatch(/comes along/);
    expect(text([wholeField({analysis: "9-23-30"})])).toMatch(
      /K2O comes along in 9-23-30: no K2O rate here takes it into account\./,
    );
  });

  it("put overrides first: for arithmetic only", () => {
    const issues = [{code: "recommend/arithmetic-only", severity: "warning", message: "…"}] as const;
    const forced = result(plan("whole-field", ["AB", "AB"], 1), [
      recommendation("whole field", 52, "below", 12, {issues}),
    ]);
    const {notes} = compare([forced, zones()], {notes: ["Yield goals were raised by hand."]});
    expect(notes.slice(0, 2)).toEqual([
      "Yield goals were raised by hand.",
      "For arithmetic only: rates worked out from soil tests the guide was not made for (whole field 1). Do not spread by them.",
    ]);
  });

  it("name guides with numbers from memory", () => {
    const working = [{text: "limit", value: 20, unit: "ppm", source: "A guide 1", basis: "from memory"}] as const;
    const unsure = result(plan("whole-field", ["AB", "AB"], 1), [
      recommendation("whole field", 52, "below", 12, {working}),
    ]);
    expect(text([unsure])).toMatch(/Some numbers of A guide, 1 are from memory/);
    expect(text([wholeField()])).not.toMatch(/from memory/);
  });
});

describe("impossible comparisons", () => {
  it.each([
    ["nothing", [], {}, "no-strategy"],
    ["a baseline that is not there", [() => zones()], {}, "no-baseline"],
    ["one strategy twice", [() => wholeField(), () => wholeField()], {}, "strategy-twice"],
    ["a plan of another size", [() => wholeField()], {areaM2: acres(4.1)}, "areas-differ"],
    ["a negative price", [() => wholeField()], {prices: {labPerSample: -1}}, "bad-price"],
    ["sampling that serves no year", [() => wholeField()], {prices: {yearsServed: 0}}, "bad-price"],
  ] as [string, (() => StrategyResult)[], Partial<CompareInput>, string][])("%s is refused", (_, make, more, code) => {
    expect(() =>
      compare(
        make.map((f) => f()),
        more,
      ),
    ).toThrow(expect.objectContaining({code: `compare/${code}`}));
  });
});

it("mean times acres is the total, costs add up, and differences are differences, whatever the rates", () => {
  const rate = fc.double({min: 0, max: 300, noNaN: true});
  fc.assert(
    fc.property(
      fc.array(rate, {minLength: 4, maxLength: 4}),
      fc.double({min: 0, max: 2, noNaN: true}),
      (rates, price) => {
        const product = {analysis: "18-46-0", pricePerLb: price};
        const gridPlan = plan("grid", ["AB", "CD"], 8);
        const grid = result(
          gridPlan,
          gridPlan.units.map(({id}, i) => recommendation(id, rates[i] as number, "any", 20)),
          product,
        );
        const {rows} = compare([wholeField(product), grid], {prices: {labPerSample: 10}});
        const [base, row] = rows as [(typeof rows)[0], (typeof rows)[0]];
        const line = row.products[0];
        const near = (value: number | undefined) => expect.closeTo(value as number, 6); // a few hundred lb in doubles
        expect((line?.meanLbPerAcre as number) * 4).toEqual(near(line?.totalLb));
        expect(line?.cost).toEqual(near((line?.totalLb as number) * price));
        expect(line?.differenceLb).toEqual(near((line?.totalLb as number) - (base.products[0]?.totalLb as number)));
        expect(row.totalCost).toEqual(near((line?.cost as number) + 40));
        expect(row.differenceCost).toEqual(near((row.totalCost as number) - (base.totalCost as number)));
        expect(line?.nitrogenLb).toEqual(near((line?.totalLb as number) * 0.18));
      },
    ),
    {numRuns: 40},
  );
});
