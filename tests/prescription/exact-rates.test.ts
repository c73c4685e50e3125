import {describe, expect, it} from "vitest";
import {exactRates} from "../../src/prescription/exact-rates.ts";
import {parseProduct} from "../../src/prescription/parse-product.ts";

const map = {product: parseProduct({analysis: "11-52-0", pricePerLb: 0.4}), nutrient: "P2O5"} as const;
const dap = {product: parseProduct({analysis: "18-46-0", pricePerLb: 0.35}), nutrient: "P2O5"} as const;
const mop = {product: parseProduct({analysis: "0-0-60", pricePerLb: 0.2}), nutrient: "K2O"} as const;

describe("pounds of product for pounds of nutrient", () => {
  it("each by itself: 52 lb P2O5 are 100 lb of 11-52-0, 60 lb K2O 100 lb of 0-0-60", () => {
    expect(exactRates([map, mop], [52, 60], undefined, "A")).toEqual([100, 100]);
  });

  it("mixed, the cheaper phosphate alone: 46 lb cost 35 $ as 18-46-0 and 35.4 $ as 11-52-0", () => {
    expect(exactRates([map, dap, mop], [46, 46, 60], {}, "A").map(Math.round)).toEqual([0, 100, 100]);
  });

  it("worth of nitrogen tells against the one with less of it, or for the other", () => {
    const dear = {...dap, product: {...dap.product, pricePerLb: 0.4}};
    // 46 lb P2O5: 40 $ with 18 lb N, or 35.4 $ with 9.7 lb N. Equal where N is worth 4.6 $ ÷ 8.3 lb = 0.56 $/lb.
    expect(exactRates([map, dear, mop], [46, 46, 0], {nitrogenPerLb: 0.5}, "A")[1]).toBe(0);
    expect(exactRates([map, dear, mop], [46, 46, 0], {nitrogenPerLb: 0.6}, "A")[0]).toBe(0);
  });

  it("a product for two nutrients leaves less for the others", () => {
    const npk = {product: parseProduct({analysis: "10-26-26", pricePerLb: 0.25}), nutrient: "K2O"} as const;
    // 100 lb of it hold 26 lb of each; the other 26 lb of P2O5 are 50 lb of 11-52-0.
    expect(exactRates([map, npk], [52, 26], {}, "A").map(Math.round)).toEqual([50, 100]);
  });
});
