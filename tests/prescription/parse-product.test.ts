import {describe, expect, it} from "vitest";
import {parseProduct, productLbFor} from "../../src/prescription/parse-product.ts";

const map = parseProduct({analysis: "11-52-0"});
const dap = parseProduct({analysis: "18-46-0"});
const potash = parseProduct({analysis: "0-0-60"});
const fluid = parseProduct({analysis: "10-34-0"});
const nitrogenIn = (lb: number, product = map): number => lb * (product.percent.N / 100);

describe("product for a nutrient, by hand", () => {
  // Closed forms; the same figures stand in extension product tables. Tolerances are half the last digit shown.
  it("63 lb P2O5 is 121.15 lb of 11-52-0 and brings 13.33 lb of nitrogen", () => {
    expect(productLbFor(map, "P2O5", 63)).toBeCloseTo(121.15, 2);
    expect(nitrogenIn(productLbFor(map, "P2O5", 63))).toBeCloseTo(13.33, 2);
  });

  it("63 lb P2O5 is 136.96 lb of 18-46-0 and brings 24.65 lb of nitrogen", () => {
    expect(productLbFor(dap, "P2O5", 63)).toBeCloseTo(136.96, 2);
    expect(nitrogenIn(productLbFor(dap, "P2O5", 63), dap)).toBeCloseTo(24.65, 2);
  });

  it("63 lb P2O5 is 15.91 gallons of 10-34-0, which holds 3.96 lb P2O5 a gallon", () => {
    expect(productLbFor(fluid, "P2O5", 63) / (fluid.lbPerGallon ?? 0)).toBeCloseTo(15.91, 2);
    expect(((fluid.lbPerGallon ?? 0) * fluid.percent.P2O5) / 100).toBeCloseTo(3.96, 2);
  });

  it("56 lb K2O is 93.33 lb of 0-0-60", () => {
    expect(productLbFor(potash, "K2O", 56)).toBeCloseTo(93.33, 2);
  });

  it("100 lb P2O5 is 192 lb of 11-52-0, not 100", () => {
    expect(productLbFor(map, "P2O5", 100)).toBeCloseTo(192.3, 1);
  });

  it("a corn and soybean load of 110.4 lb P2O5 is 240 lb of 18-46-0 (Ohio fact sheet ANR-74 prints 240)", () => {
    expect(productLbFor(dap, "P2O5", 110.4)).toBeCloseTo(240, 6);
  });
});

describe("a product from its analysis", () => {
  it("gets the trade's name and code", () => {
    expect(
      ["11-52-0", "18-46-0", "0-46-0", "0-0-60", "0-0-62"].map((analysis) => parseProduct({analysis}).code),
    ).toEqual(["MAP", "DAP", "TSP", "MOP", "MOP"]);
    expect(map.name).toBe("monoammonium phosphate");
  });

  it("is named by its digits when the trade has no word for it", () => {
    expect(parseProduct({analysis: "9-23-30"})).toMatchObject({code: "92330", name: "9-23-30"});
    expect(parseProduct({analysis: "12-40-0-10S"})).toMatchObject({code: "12400", sulfurPct: 10});
    expect(parseProduct({analysis: "0-0-49.8"}).code).toBe("00498");
  });

  it("takes the user's words, price and weight", () => {
    const product = parseProduct({
      analysis: "10-34-0",
      name: "starter",
      code: "ps1",
      pricePerLb: 0.3,
      lbPerGallon: 11.4,
    });
    expect(product).toMatchObject({code: "PS1", name: "starter", pricePerLb: 0.3, lbPerGallon: 11.4});
  });

  it.each(["11-52", "11/52/0", "11-52-0-1-2", "11 52 0", "a-b-c", "", "11-52-", "1e1-52-0", "-5-52-0", "11-52-0 x"])(
    "refuses %j",
    (analysis) => {
      expect(() => parseProduct({analysis})).toThrow(expect.objectContaining({code: "product/not-an-analysis"}));
    },
  );

  it("refuses what no bag can hold", () => {
    expect(() => parseProduct({analysis: "60-52-0"})).toThrow(
      expect.objectContaining({code: "product/over-100-percent"}),
    );
    expect(() => parseProduct({analysis: "0-0-0"})).toThrow(expect.objectContaining({code: "product/no-nutrient"}));
    expect(() => parseProduct({analysis: "11-52-0", code: "TOOLONG"})).toThrow(
      expect.objectContaining({code: "product/bad-code"}),
    );
    expect(() => parseProduct({analysis: "11-52-0", pricePerLb: Number.NaN})).toThrow(
      expect.objectContaining({code: "product/bad-price"}),
    );
    expect(() => parseProduct({analysis: "28-0-0", lbPerGallon: 0})).toThrow(
      expect.objectContaining({code: "product/bad-weight"}),
    );
  });
});
