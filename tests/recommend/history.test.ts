import {describe, expect, it} from "vitest";
import {declined, halvingYears} from "../../src/recommend/history/decline-rates.ts";
import {testHistory} from "../../src/recommend/history/test-history.ts";
import {yearsToCritical} from "../../src/recommend/history/years-to-critical.ts";
import {KG_PER_HA_PER_LB_PER_ACRE} from "../../src/units/factors.ts";
import {P2O5_PER_P} from "../../src/units/nutrient.ts";
import {codes, soilTest} from "./advise.ts";

const dated = (date: string, value: number) => ({date, test: soilTest("P", value, "mehlich-3 icp", 8)});

describe("soil tests of several years", () => {
  it("by hand: from 40 to 30 ppm at 10 % error is 10 ± 9.8, told", () => {
    const found = testHistory("Z1", [dated("2025-04-01", 30), dated("2021-04-01", 40)], {errorPct: 10});
    expect(found.change).toBe(-10);
    expect(found.changeError).toBeCloseTo(1.959963984540054 * Math.hypot(4, 3), 9);
    expect(found.isTold).toBe(true);
    expect(found.perYear).toBeCloseTo(-10 / (1461 / 365.25), 9);
    expect(found.issues).toEqual([]);
  });

  it("a change within the error is said to be none", () => {
    const found = testHistory("Z1", [dated("2021", 40), dated("2025", 35)]);
    expect(found.isTold).toBe(false);
    expect(codes(found.issues)).toEqual(["recommend/change-not-told"]);
  });

  it("a straight fall is found as such from three dates, with a smaller error than from two", () => {
    const points = [dated("2017-04-01", 48), dated("2021-04-01", 40), dated("2025-04-01", 32)];
    const three = testHistory("Z1", points);
    const two = testHistory("Z1", [points[0], points[2]] as typeof points);
    expect(three.perYear).toBeCloseTo(-2, 6);
    expect(three.perYearError).toBeLessThanOrEqual(two.perYearError + 1e-12);
  });

  it("different tests, one date, and no date are refused", () => {
    const bray = {date: "2025", test: soilTest("P", 30, "bray-1", 8)};
    expect(() => testHistory("Z1", [dated("2021", 40), bray])).toThrow("different method: mehlich-3 icp and bray-1");
    const shallow = {date: "2025", test: soilTest("P", 30, "mehlich-3 icp", 6)};
    expect(() => testHistory("Z1", [dated("2021", 40), shallow])).toThrow("different depth: 20 cm and 15 cm");
    expect(() => testHistory("Z1", [dated("2021", 40), dated("2021", 41)])).toThrow("two different days");
    expect(() => testHistory("Z1", [dated("spring 21", 40), dated("2025", 41)])).toThrow('"spring 21" is no date');
    expect(() => testHistory("Z1", [dated("2021-13-01", 40), dated("2025", 41)])).toThrow("is no date");
  });

  it("potassium of spring is not compared with that of autumn without a word", () => {
    const k = (date: string, value: number) => ({date, test: soilTest("K", value, "mehlich-3 icp", 8)});
    expect(codes(testHistory("Z1", [k("2021-04-10", 160), k("2025-09-20", 100)]).issues)).toContain(
      "recommend/seasons-differ",
    );
    expect(codes(testHistory("Z1", [k("2021-12-10", 160), k("2025-01-20", 100)]).issues)).toEqual([]);
  });
});

describe("drawdown", () => {
  it("by removal: 80 to 20 ppm at 20 lb per ppm and 60 lb a year is 20 years, 10 to 30", () => {
    const found = yearsToCritical({
      analyte: "P",
      nutrient: "P2O5",
      test: 80,
      critical: 20,
      removalLbPerYear: 60,
      lbPerPpm: 20,
    });
    expect([found.years, found.yearsFrom, found.yearsTo]).toEqual([20, 10, 30]);
    // ln(20/80)/ln(1 − 0.082) = 16.2 and by 0.043 31.5; 60/4 and 60/2; 60/1.78.
    expect(found.published.map(({from, to}) => [from, to])).toEqual([
      [16, 32],
      [15, 30],
      [34, 34],
    ]);
    expect(found.working.at(-1)?.text).toBe("years by removal: 60 × 20 lb P2O5 ÷ 60 lb a year");
  });

  it("is over where the level is reached", () => {
    const input = {analyte: "P", nutrient: "P2O5", critical: 20, removalLbPerYear: 60, lbPerPpm: 20} as const;
    expect(yearsToCritical({...input, test: 18})).toMatchObject({years: 0, published: []});
  });

  it.each([
    ["D01 100 ppm, 4.3 % a year, 10 years", declined(100, 0.043, 10), 64.4, 0.1],
    ["D02 100 ppm, 8.2 % a year, 10 years", declined(100, 0.082, 10), 42.5, 0.1],
    ["D03 halving at 4.3 % (printed 15.9)", halvingYears(0.043), 15.8, 0.2],
    ["D04 halving at 8.2 % (printed 8.4)", halvingYears(0.082), 8.1, 0.4],
    ["D05 120 to 50 ppm at Ohio's 4 ppm a year", (120 - 50) / 4, 17.5, 0.05],
    ["D06 11 kg P/ha in lb P2O5/ac", (11 * P2O5_PER_P) / KG_PER_HA_PER_LB_PER_ACRE, 22.5, 0.05],
  ])("%s", (_, found, expected, tolerance) => {
    expect(Math.abs(found - expected)).toBeLessThan(tolerance);
  });
});
