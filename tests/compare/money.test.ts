import {beforeAll, describe, expect, it} from "vitest";
import {breakEvens} from "../../src/compare/break-even.ts";
import type {StrategyResult} from "../../src/compare/compare-input.ts";
import {moneyOf} from "../../src/compare/money.ts";
import {fillPrices, sayPrice, USUAL_PRICES} from "../../src/compare/prices.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {resultOf} from "./results.ts";

beforeAll(loadGeos);

const acres = (n: number): number => n * SQUARE_METRES_PER_ACRE;
const free = {
  labPerSample: 0,
  perCore: 0,
  labourPerHour: 0,
  zoneMakingPerAcre: 0,
  broadcastPerAcre: 0,
  subsurfacePerAcre: 0,
  variableRatePerAcre: 0,
};

describe("sampling prices by the published examples", () => {
  it("20 samples at 10 $ are 200 $ (40 acres on a 2-acre grid, University of Maryland FS-1046)", () => {
    const grid = resultOf("grid", Array(4).fill("ABCDE"), {A: 0, B: 0, C: 0, D: 0, E: 0});
    const plan = {...grid.plan, units: Array(4).fill(grid.plan.units).flat()} as StrategyResult["plan"];
    const {strategies} = moneyOf(
      {areaM2: acres(40), strategies: [{...grid, plan}], baseline: "grid"},
      {prices: {...free, labPerSample: 10}, samplingYears: 4},
    );
    expect(strategies[0]?.lines.find(({what}) => what === "lab")).toMatchObject({
      dollars: 200,
      perAcre: 5,
      perYear: 50,
    });
  });

  it("11 $/ac over 4 years are 2.75 $/ac a year (a Minnesota co-operative, 2007)", () => {
    const zones = resultOf("zone", ["A"], {A: 0});
    const {strategies} = moneyOf(
      {areaM2: acres(1), strategies: [zones], baseline: "zone"},
      {prices: {...free, zoneMakingPerAcre: 11}, samplingYears: 4},
    );
    expect(strategies[0]?.perAcrePerYear).toBeCloseTo(2.75, 12);
  });
});

describe("money by hand", () => {
  const whole = () => resultOf("whole-field", ["AB", "AB"], {"whole field": 52}, {pricePerLb: 0.4});
  const zones = () => resultOf("zone", ["AB", "AC"], {A: 0, B: 104, C: 52}, {pricePerLb: 0.4});
  const prices = {
    ...free,
    labPerSample: 12,
    perCore: 0.5,
    zoneMakingPerAcre: 1,
    broadcastPerAcre: 5,
    variableRatePerAcre: 2,
  };
  const money = () =>
    moneyOf(
      {areaM2: acres(4), strategies: [whole(), zones()], baseline: "whole-field"},
      {prices, year: 2026, samplingYears: 4, applicationYears: 2},
    );

  it("spreads product and passes over the crops, sampling over its cycle", () => {
    // 400 lb x 0.40 = 160 over 2 years; 2 x 12 + 2 x 20 x 0.50 = 44 over 4; 4 ac x 5 = 20 over 2.
    const [row] = money().strategies;
    expect(row?.productPerYear).toBeCloseTo(80, 9);
    expect(row?.samplingPerYear).toBeCloseTo(11, 9);
    expect(row?.applicationPerYear).toBeCloseTo(10, 9);
    expect(row?.dollars).toBeCloseTo(224, 9);
    expect(row?.perAcrePerYear).toBeCloseTo(101 / 4, 9);
    expect(row?.againstPerYear).toBeUndefined();
  });

  it("charges several rates more, zones for their making, and ground without product no pass", () => {
    // 300 lb x 0.40 / 2 = 60; (3 x 12 + 3 x 20 x 0.50 + 4 x 1) / 4 = 17.5; 2 ac x (5 + 2) / 2 = 7.
    const row = money().strategies[1];
    expect(row?.productPerYear).toBeCloseTo(60, 9);
    expect(row?.samplingPerYear).toBeCloseTo(17.5, 9);
    expect(row?.applicationPerYear).toBeCloseTo(7, 9);
    expect(row?.againstPerYear).toBeCloseTo(84.5 - 101, 9);
  });

  it("counts subsurface placement at its own price", () => {
    const placed = moneyOf(
      {areaM2: acres(4), strategies: [whole()], baseline: "whole-field"},
      {prices: {...prices, subsurfacePerAcre: 17}, placement: "subsurface"},
    );
    expect(placed.strategies[0]?.applicationPerYear).toBeCloseTo(68, 9);
  });

  it("leaves a product without price out of the sums and says so", () => {
    const bare = resultOf("whole-field", ["AB"], {"whole field": 52});
    const {strategies, notes} = moneyOf(
      {areaM2: acres(2), strategies: [bare], baseline: "whole-field"},
      {prices: free},
    );
    expect(strategies[0]?.productPerYear).toBe(0);
    expect(notes.join(" ")).toContain("No price was given for 11-52-0");
  });

  it("refuses a negative price and a cycle of no years", () => {
    const input = {areaM2: acres(4), strategies: [whole()], baseline: "whole-field"} as const;
    expect(() => moneyOf(input, {prices: {labPerSample: -1}})).toThrow("A price of -1 $/sample");
    expect(() => moneyOf(input, {samplingYears: 0})).toThrow("Money cannot be spread over 0 years.");
  });

  it("breaks even where extra dollars meet product saved", () => {
    const plans = [whole(), zones()];
    const dear = moneyOf(
      {areaM2: acres(4), strategies: plans, baseline: "whole-field"},
      {prices, samplingYears: 4, applicationYears: 1},
    );
    // Sampling 17.5 - 11, passes 14 - 20: 0.5 $ a year more over 4 acres; product 40 $ a year saved over 4 acres.
    const [zone] = breakEvens(dear, {"whole-field": 2, zone: 3}, [{analysis: "11-52-0", pricePerLb: 0.4}], {
      crop: "corn",
      pricePerUnit: 4,
    });
    expect(zone?.extraPerAcrePerYear).toBeCloseTo(0.125, 9);
    expect(zone?.productSavedPerAcrePerYear).toBeCloseTo(10, 9);
    expect(zone?.neededLb[0]?.lbPerAcrePerYear).toBeCloseTo(0.3125, 9);
    expect(zone?.neededYield?.perAcrePerYear).toBeCloseTo(0.03125, 9);
    expect(zone?.productPriceFactor).toBeCloseTo(0.0125, 9);
    // One sample more every four years: 39.5 $ a year to spare buys it at 12 + 158 $.
    expect(zone?.labPerSample).toBeCloseTo(170, 9);
  });
});

describe("prices that are not the user's", () => {
  it("do not pay cores by the hour that are paid by the piece", () => {
    expect(fillPrices({perCore: 0.5}).labourPerHour.value).toBe(0);
    expect(fillPrices({perCore: 0.5, labourPerHour: 20}).labourPerHour.value).toBe(20);
    expect(fillPrices({}).labourPerHour).toEqual(USUAL_PRICES.labourPerHour);
  });

  it("carry their year and basis into every sentence", () => {
    expect(sayPrice(USUAL_PRICES.broadcastPerAcre)).toBe(
      "4.9 $/ac (2016, published: Iowa custom-rate survey 2016, dry bulk, mean)",
    );
    expect(sayPrice(fillPrices({labPerSample: 11.5}, 2026).labPerSample)).toBe("11.5 $/sample (2026, your price)");
  });
});
