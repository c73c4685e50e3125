import {describe, expect, it} from "vitest";
import type {ComparisonRow, CountChoice, EvidenceCard, OutputCard, ReceiptCard} from "../../web/api/types.ts";
import {classAcres} from "../../web/charts/class-acres.ts";
import {costSentences, costsOf, isClear} from "../../web/charts/costs.ts";
import {countMarks} from "../../web/charts/counts.ts";
import {rateBins} from "../../web/charts/rate-bins.ts";
import {decimalsOf, placeOn, roundStep, ticksAround, ticksTo} from "../../web/charts/scale.ts";
import {filesOut, ratesKey} from "../../web/hand-over/for-whom.ts";

describe("a scale", () => {
  it("has round steps, and from zero reaches what it has to", () => {
    expect(roundStep(430, 18)).toBe(25);
    expect(roundStep(0.3, 3)).toBeCloseTo(0.1, 12);
    expect(roundStep(0, 4)).toBe(1);
    expect(ticksTo(74)).toEqual([0, 20, 40, 60, 80]);
    expect(ticksTo(80)).toEqual([0, 20, 40, 60, 80]);
    expect(ticksTo(0)).toEqual([0, 1]);
    expect(ticksTo(0.3, 3)).toEqual([0, 0.1, 0.2, 0.3]);
  });

  it("goes to either side of zero as far as both ends need", () => {
    expect(ticksAround(-15, 4)).toEqual([-15, -10, -5, 0, 5]);
    expect(ticksAround(0, 0)).toEqual([0]);
    expect(ticksAround(2, 9, 3)).toEqual([0, 5, 10]);
  });

  it("lays values on a page by their share of the way", () => {
    const at = placeOn([0, 200], [40, 140]);
    expect([at(0), at(50), at(200)]).toEqual([40, 65, 140]);
    expect(placeOn([5, 5], [10, 20])(5)).toBe(10);
    expect(decimalsOf([0, 0.25, 0.5])).toBe(2);
    expect(decimalsOf([0, 20, 40])).toBe(0);
  });
});

describe("ground by rate", () => {
  const of = (rate: number, area: number, polygons = 1) => ({rate, area, polygons});

  it("has nothing at all in a bar of its own, and the same bars for every strategy", () => {
    const {width, end, rows} = rateBins([[of(0, 23, 9), of(205, 5), of(220, 80, 40), of(240, 10, 2)], [of(220, 118)]]);
    // 240 in at most 18 bars: steps of 20. 205 and 220 are both over 200 and up to 220.
    expect([width, end]).toEqual([20, 240]);
    expect(rows).toEqual([
      [
        {from: 0, to: 0, area: 23, polygons: 9, rates: 1},
        {from: 200, to: 220, area: 85, polygons: 41, rates: 2},
        {from: 220, to: 240, area: 10, polygons: 2, rates: 1},
      ],
      [{from: 200, to: 220, area: 118, polygons: 1, rates: 1}],
    ]);
  });

  it("keeps all ground, whatever the rates", () => {
    const rates = Array.from({length: 60}, (_, i) => of(i * 7.3, i + 0.25));
    const {rows} = rateBins([rates]);
    const sum = (all: readonly {readonly area: number}[]) => all.reduce((total, {area}) => total + area, 0);
    expect(sum(rows[0] ?? [])).toBeCloseTo(sum(rates), 9);
    expect(rows[0]?.length).toBeLessThanOrEqual(19);
  });

  it("of a field that gets nothing is one bar", () => {
    expect(rateBins([[of(0, 40)]])).toEqual({
      width: 1,
      end: 1,
      rows: [[{from: 0, to: 0, area: 40, polygons: 1, rates: 1}]],
    });
  });
});

describe("cost by acre and year", () => {
  const NAMES = {"whole-field": "Whole field", grid: "Grid", zone: "Zones"};
  const SAID = {figures: (dollars: number) => dollars.toFixed(2), area: "an acre"};
  const money = (strategy: string, productPerYear: number, samplingPerYear: number, applicationPerYear: number) => ({
    strategy,
    productPerYear,
    samplingPerYear,
    applicationPerYear,
  });
  /** 100 ac, product serving two crop years. */
  const evidence = (more: object = {}) =>
    ({
      money: {
        acres: 100,
        applicationYears: 2,
        baseline: "whole-field",
        strategies: [money("whole-field", 4000, 50, 490), money("grid", 3500, 250, 500)],
        ...more,
      },
      certainty: {
        level: 0.9,
        strategies: [
          {strategy: "whole-field", productCostInterval: {low: 8000, high: 9000}},
          {strategy: "grid", productCostInterval: {low: 7000, high: 7400}},
        ],
        costDifferences: [
          {strategy: "grid", against: "whole-field", dollars: -1000, interval: {low: -1800, high: -200}},
        ],
      },
    }) as unknown as EvidenceCard;

  it("is product, sampling and spreading over acres and the years they serve", () => {
    const {rows} = costsOf(evidence());
    // 8,000 to 9,000 $ over 100 ac and 2 years is 40 to 45; sampling 0.50 and spreading 4.90 come on top.
    expect(rows[0]).toMatchObject({product: 40, sampling: 0.5, spreading: 4.9});
    expect(rows[0]?.total).toBeCloseTo(45.4, 9);
    expect(rows[0]?.interval?.low).toBeCloseTo(45.4, 9);
    expect(rows[0]?.interval?.high).toBeCloseTo(50.4, 9);
    expect(rows[1]?.total).toBeCloseTo(42.5, 9);
  });

  it("differs from the baseline by an interval that holds sampling and spreading too", () => {
    const [grid] = costsOf(evidence()).differences;
    // Product 9 to 1 less, sampling and spreading 2.10 more.
    expect(grid?.dollars).toBeCloseTo(-2.9, 9);
    expect(grid?.interval?.low).toBeCloseTo(-6.9, 9);
    expect(grid?.interval?.high).toBeCloseTo(1.1, 9);
  });

  it("is turned round where the baseline is the later of the two", () => {
    const [whole] = costsOf(evidence({baseline: "grid"})).differences;
    expect(whole?.strategy).toBe("whole-field");
    expect(whole?.dollars).toBeCloseTo(2.9, 9);
    expect(whole?.interval?.low).toBeCloseTo(-1.1, 9);
    expect(whole?.interval?.high).toBeCloseTo(6.9, 9);
  });

  it("is told in a plain sentence that claims no more than the interval holds", () => {
    const costs = costsOf(evidence());
    expect(costSentences(costs, NAMES, SAID)).toEqual([
      "Grid costs $2.90 less an acre a year than whole field, which is no clear difference: another day's cores could make it anything from $6.90 less to $1.10 more (90 % interval).",
    ]);
    const [grid] = costs.differences;
    const clear = {
      ...costs,
      differences: [{...grid, strategy: "zone" as const, dollars: -3, interval: {low: -4, high: -2}}],
    };
    expect(costSentences(clear, NAMES, SAID)).toEqual([
      "Zones cost $3.00 less an acre a year than whole field, clearly: between $2.00 and $4.00 (90 % interval).",
    ]);
    const still = {...costs, differences: [{strategy: "grid" as const, dollars: 1, interval: {low: 1, high: 1}}]};
    expect(costSentences(still, NAMES, SAID)[0]).toBe(
      "Grid costs $1.00 more an acre a year than whole field; cores and lab cannot move that.",
    );
    const unpriced = {...costs, differences: [{strategy: "grid" as const, dollars: 0.001}]};
    expect(costSentences(unpriced, NAMES, SAID)[0]).toBe(
      "Grid costs the same as whole field; how sure that is cannot be told without a price for each product.",
    );
  });

  it("is a clear difference only when the whole interval is on one side of zero", () => {
    expect([isClear({low: -3, high: -1}), isClear({low: -1, high: 1}), isClear({low: 0, high: 0})]).toEqual([
      true,
      false,
      false,
    ]);
  });
});

describe("ground by class of the test", () => {
  it("is laid end to end in the guide's order, for strategies that were tested", () => {
    const row = (strategy: string, classes?: [string, number][]) =>
      ({
        strategy,
        acresByClass: classes ? {P2O5: classes.map(([testClass, acres]) => ({testClass, acres}))} : {},
      }) as unknown as ComparisonRow;
    const rows = [
      row("whole-field", [
        ["low", 0],
        ["high", 40],
      ]),
      row("grid", [
        ["low", 15],
        ["high", 25],
      ]),
      row("zone"),
    ];
    expect(classAcres(rows, "P2O5")).toEqual({
      classes: ["low", "high"],
      rows: [
        {
          strategy: "whole-field",
          parts: [
            {testClass: "low", from: 0, acres: 0},
            {testClass: "high", from: 0, acres: 40},
          ],
        },
        {
          strategy: "grid",
          parts: [
            {testClass: "low", from: 0, acres: 15},
            {testClass: "high", from: 15, acres: 25},
          ],
        },
      ],
    });
    expect(classAcres(rows, "K2O").rows).toEqual([]);
  });
});

describe("the choice of the number of zones", () => {
  it("has a point for each number, and none explained where the share is not known", () => {
    const row = (count: number, explained: number | null, more: object = {}) => ({
      count,
      heldOut: {explained, ...more},
      composites: count + 1,
      left: count,
    });
    const choice = {
      rows: [row(1, null), row(2, 0.31, {byChance: {high: 0.09}}), {...row(3, 0.33), cost: 58.5, left: 2}],
      recommended: {count: 2},
    } as unknown as CountChoice;
    expect(countMarks(choice)).toEqual([
      {count: 1, explained: 0, bags: 2, recommended: false},
      {count: 2, explained: 0.31, chance: 0.09, bags: 3, recommended: true},
      {count: 3, explained: 0.33, bags: 4, cost: 58.5, recommended: false, fewer: 2},
    ]);
  });
});

describe("files by who gets them", () => {
  const output = (name: string): OutputCard => ({name, bytes: 10, sha256: `sha of ${name}`});
  const outputs = [
    "zones.geojson",
    "plan-grid-cores.geojson",
    "plan-grid-sheet.html",
    "plan-budget.csv",
    "rates-zone.zip",
    "taskdata-zone.zip",
    "rates-zone-lime.geojson",
    "hand-over/applicator-sheet.html",
    "comparison.csv",
    "run.json",
  ].map(output);
  const receipt = (file: string) => ({file, product: "11-52-0", strategy: "zone"}) as ReceiptCard;
  const receipts = [receipt("rates-zone.zip"), receipt("taskdata-zone.zip"), receipt("rates-zone-lime.geojson")];
  const files = filesOut(outputs, receipts, "zone");

  it("leaves none out, and gives the spreader what has a receipt and the applicator's folder", () => {
    expect(files.map(({whom}) => whom)).toEqual([
      "office",
      "office",
      "office",
      "office",
      "spreader",
      "spreader",
      "spreader",
      "spreader",
      "office",
      "agency",
    ]);
    expect(files.find(({name}) => name === "taskdata-zone.zip")?.what).toMatch(/ISO 11783-10.*stick/);
    expect(files.find(({name}) => name === "rates-zone.zip")).toMatchObject({strategy: "zone", inFolder: false});
    expect(files.find(({name}) => name.startsWith("hand-over/"))).toMatchObject({
      inFolder: true,
      strategy: "zone",
      products: ["11-52-0"],
    });
  });

  it("are the same rates as long as their bytes are, whatever else changed", () => {
    const other = outputs.map((one) => (one.name === "comparison.csv" ? {...one, sha256: "another"} : one));
    expect(ratesKey(filesOut(other, receipts, "zone"))).toBe(ratesKey(files));
    const changed = outputs.map((one) => (one.name === "rates-zone.zip" ? {...one, sha256: "another"} : one));
    expect(ratesKey(filesOut(changed, receipts, "zone"))).not.toBe(ratesKey(files));
  });
});
