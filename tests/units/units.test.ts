import {describe, expect, it} from "vitest";
import {KG_PER_HA_PER_LB_PER_ACRE, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {formatArea, formatNumber, inSystem, roundHalfAway} from "../../src/units/format.ts";
import {parsePriceEach, parsePricePerPound} from "../../src/units/money.ts";
import {nearestName} from "../../src/units/nearest-name.ts";
import {K2O_PER_K, P2O5_PER_P} from "../../src/units/nutrient.ts";
import {parseArea, parseLength, parseRateLbPerAcre} from "../../src/units/parse.ts";

describe("factors", () => {
  it("are the published ones", () => {
    // 1 acre = 43,560 international square feet, exact.
    expect(SQUARE_METRES_PER_ACRE).toBeCloseTo(43560 * 0.3048 ** 2, 9);
    // 100 lb/ac = 112.085 kg/ha (arithmetic from the definitions).
    expect(100 * KG_PER_HA_PER_LB_PER_ACRE).toBeCloseTo(112.085, 3);
    // Virginia Tech SPES-201 prints 2.2910 and 1.2051, made with older atomic weights: equal within 0.1 %.
    expect(P2O5_PER_P).toBeCloseTo(2.2913, 4);
    expect(K2O_PER_K).toBeCloseTo(1.2046, 4);
  });
});

describe("a quantity a person wrote", () => {
  it("is read with its unit", () => {
    expect(parseLength("330 ft")).toBeCloseTo(100.584, 9);
    expect(parseLength("5m")).toBe(5);
    expect(parseArea("2.5 ac")).toBeCloseTo(10117.141056, 6);
    expect(parseRateLbPerAcre("100 kg/ha")).toBeCloseTo(89.218, 3);
    expect(parseRateLbPerAcre("2 ton/ac")).toBe(4000);
  });

  it.each(["5", "", "ft", "12abc ft", "1,5 m", "NaN m", "5 furlongs"])("is refused when it is %j", (text) => {
    expect(() => parseLength(text)).toThrow(expect.objectContaining({name: "FieldError"}));
  });

  it("may be a price", () => {
    expect(parsePricePerPound("720 $/ton")).toBeCloseTo(0.36, 12);
    expect(parsePricePerPound("0.5 $/lb")).toBe(0.5);
    expect(parsePriceEach("12 $/sample", "sample", "lab price")).toBe(12);
    expect(() => parsePriceEach("12 $/ac", "sample", "lab price")).toThrow(/\$\/sample/);
    expect(() => parsePricePerPound("-1 $/lb")).toThrow(expect.objectContaining({name: "FieldError"}));
  });
});

describe("a number shown", () => {
  it("groups thousands and keeps its decimals", () => {
    expect(formatNumber(19100.25, 1)).toBe("19,100.3");
    expect(formatNumber(-6700)).toBe("−6,700");
    expect(formatNumber(-0.2)).toBe("0");
    expect(formatNumber(Number.NaN)).toBe("n/a");
    expect(formatArea(10117.141056)).toBe("2.5 ac");
    expect(formatArea(10117.141056, "metric", 2)).toBe("1.01 ha");
  });

  it("rounds half away from zero", () => {
    expect([0.5, 1.5, 2.5, -0.5, -2.5].map((n) => roundHalfAway(n))).toEqual([1, 2, 3, -1, -3]);
    expect(roundHalfAway(1.005, 2)).toBe(1.01);
    expect(Object.is(roundHalfAway(-0.2), 0)).toBe(true);
  });
});

describe("an amount in the reader's units", () => {
  // By hand from the definitions: foot 0.3048 m, pound 0.45359237 kg, acre 43,560 square feet, gallon 231 cubic inches.
  it.each([
    ["ac", "ha", 0.4046856, 1e-7],
    ["lb", "kg", 0.45359237, 0],
    ["lb/ac", "kg/ha", 1.120851, 1e-6],
    ["ton", "t", 0.9071847, 1e-7],
    ["ton/ac", "t/ha", 2.2417, 1e-4],
    ["ft", "m", 0.3048, 0],
    ["in", "cm", 2.54, 0],
    ["mi", "km", 1.609344, 0],
    ["mph", "km/h", 1.609344, 0],
    ["gal", "L", 3.785412, 1e-6],
    ["gal/ac", "L/ha", 9.35396, 1e-5],
  ])("1 %s is so many %s", (us, metric, factor, tolerance) => {
    const there = inSystem(1, us, "metric");
    expect(there.unit).toBe(metric);
    expect(Math.abs(there.value - factor)).toBeLessThanOrEqual(tolerance);
    expect(inSystem(there.value, metric, "us").unit).toBe(us);
    expect(inSystem(there.value, metric, "us").value).toBeCloseTo(1, 14);
    expect(inSystem(1, us, "us")).toEqual({value: 1, unit: us});
  });

  it("costs more by the hectare than by the acre", () => {
    expect(inSystem(1, "$/ac", "metric").value).toBeCloseTo(2.47105, 5);
    expect(inSystem(1, "$/lb", "metric").value).toBeCloseTo(2.20462, 5);
  });

  it("needs a crop where it is a bushel", () => {
    // 100 bu/ac of corn is 6.277 t/ha, of soybean 6.725 t/ha (56 and 60 lb a bushel).
    expect(inSystem(100, "bu/ac", "metric", "corn").value).toBeCloseTo(6.2768, 4);
    expect(inSystem(100, "bu/ac", "metric", "soybean").value).toBeCloseTo(6.7251, 4);
    expect(inSystem(6.2768, "t/ha", "us", "corn").value).toBeCloseTo(100, 2);
    expect(inSystem(100, "bu/ac", "metric")).toEqual({value: 100, unit: "bu/ac"});
    expect(inSystem(100, "bu/ac", "metric", "toString")).toEqual({value: 100, unit: "bu/ac"});
  });

  it("stays as it is where there is one unit for all", () => {
    expect(inSystem(17, "ppm", "metric")).toEqual({value: 17, unit: "ppm"});
    expect(Number.isNaN(inSystem(Number.NaN, "ac", "metric").value)).toBe(true);
  });
});

describe("a name that was mistyped", () => {
  it("is met with the one most likely meant", () => {
    expect(nearestName("gird", ["whole-field", "grid", "zone"])).toBe("grid"); // two letters swapped is one edit
    expect(nearestName("boundry", ["boundary", "name"])).toBe("boundary");
    expect(nearestName("Flow lb/s", ["Flow (lb/s)", "Pass"])).toBe("Flow (lb/s)");
    expect(nearestName("tillage", ["boundary", "name"])).toBeUndefined();
  });
});
