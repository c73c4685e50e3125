import {describe, expect, it} from "vitest";
import {
  dataItem,
  type RateKind,
  ratePresentation,
  rawRate,
  rightScale,
  shownValue,
} from "../../../src/formats/iso11783/data-dictionary.ts";
import {scaleText} from "../../../src/formats/iso11783/number-text.ts";
import {lb} from "./plans.ts";

/** 1 US gallon is 3.785411784 L, 1 acre 0.40468564224 ha: exact by definition. */
const gal = (perAcre: number): number => (perAcre * 3.785411784) / 0.40468564224;
const perAcre = (count: number): number => count / 4046.8564224;

describe("rates as the format counts them", () => {
  // Worked by hand from the public data dictionary's resolutions: 1 mg/m2, 0.01 mm3/m2, 0.001 /m2.
  it.each<[string, RateKind, number, number]>([
    ["200 lb/ac", "mass", lb(200), 22417],
    ["100 lb/ac", "mass", lb(100), 11209],
    ["150 lb/ac", "mass", lb(150), 16813],
    ["160 lb/ac", "mass", lb(160), 17934],
    ["300 lb/ac", "mass", lb(300), 33626],
    ["2 short tons per acre", "mass", lb(4000), 448340],
    ["150 kg/ha", "mass", 150, 15000],
    ["10 gal/ac", "volume", gal(10), 935396],
    ["15 gal/ac", "volume", gal(15), 1403093],
    ["30 gal/ac", "volume", gal(30), 2806187],
    ["200 L/ha", "volume", 200, 2_000_000],
    ["28,000 seeds per acre", "count", perAcre(28_000), 6919],
    ["34,000 seeds per acre", "count", perAcre(34_000), 8402],
    ["140,000 seeds per acre", "count", perAcre(140_000), 34595],
    ["80,000 seeds per hectare", "count", 8, 8000],
    ["nothing", "mass", 0, 0],
  ])("writes %s as its whole number", (_, kind, rate, raw) => {
    expect(rawRate(kind, rate, "Zone 1")).toBe(raw);
  });

  it("brings 22417 mg/m2 back to 199.99979 lb/ac", () => {
    expect(22417 / dataItem(6).perUnit / lb(1)).toBeCloseTo(199.99979, 5);
  });

  it("shows whole pounds, gallons and seeds as the user typed them", () => {
    expect(shownValue(22417, ratePresentation("mass", "lb/ac"))).toBe(200);
    expect(shownValue(448340, ratePresentation("mass", "ton/ac"))).toBe(2);
    expect(shownValue(1403093, ratePresentation("volume", "gal/ac"))).toBe(15);
    // 0.001 seeds/m2 is 4 seeds/ac.
    expect(Math.abs(shownValue(8402, ratePresentation("count", "seeds/ac")) - 34_000)).toBeLessThanOrEqual(2);
  });

  it("writes scales without an exponent", () => {
    expect(scaleText(ratePresentation("mass", "lb/ac").scale)).toBe("0.00892179122");
    expect(scaleText(ratePresentation("volume", "gal/ac").scale)).toBe("0.0000106906637");
    expect(scaleText(ratePresentation("count", "seeds/ac").scale)).toBe("4.04685642");
    expect(scaleText(5e-7)).toBe("0.0000005");
  });

  it.each([-1, Number.NaN, Infinity, 22_000_000])("refuses a rate of %f kg/ha", (rate) => {
    expect(() => rawRate("mass", rate, "Zone 1")).toThrow(expect.objectContaining({code: "iso11783/bad-rate"}));
  });

  it("refuses a unit of another kind and names those that fit", () => {
    expect(() => ratePresentation("mass", "gal/ac")).toThrow(
      expect.objectContaining({code: "iso11783/unit", hint: "Use one of: kg/ha, lb/ac, t/ha, ton/ac."}),
    );
    expect(() => ratePresentation("mass", "toString")).toThrow(expect.objectContaining({code: "iso11783/unit"}));
  });

  it("knows the scale a unit asks for, for set and applied rates alone", () => {
    expect(rightScale(6, "kg/ha")).toBe(0.01);
    expect(rightScale(7, "KG/HA ")).toBe(0.01);
    expect(rightScale(99, "kg/ha")).toBeUndefined();
    expect(rightScale(6, "bags/acre")).toBeUndefined();
  });
});

describe("values of machines", () => {
  it.each([
    ["200 bu/ac of corn at 56 lb", 84, 1255353, 12553.53],
    ["moisture", 99, 155000, 15.5],
    ["5 mph", 397, 2235.2, 2.2352],
    ["30 ft", 67, 9144, 9.144],
    ["10 L/ha of grain", 83, 1, 10],
  ])("reads %s", (_, ddi, raw, value) => {
    expect(raw / dataItem(ddi).perUnit).toBeCloseTo(value, 9);
  });

  it("keeps the raw number of identifiers it does not know", () => {
    expect(dataItem(0xe123)).toEqual({ddi: 0xe123, name: "DDI E123", unit: "", perUnit: 1});
  });
});
