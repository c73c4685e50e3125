import {describe, expect, it} from "vitest";
import {parseProduct, productLbFor} from "../../src/prescription/parse-product.ts";
import {K2O_PER_K} from "../../src/units/nutrient.ts";

// Weights of fluids are printed lb per gallon at 60 °F; nitrogen per gallon is the printed figure.
const fluid = (analysis: string, lbPerGallon?: number) =>
  parseProduct({analysis, ...(lbPerGallon !== undefined && {lbPerGallon})});
const perGallon = (analysis: string, lbPerGallon: number): number =>
  ((fluid(analysis, lbPerGallon).lbPerGallon ?? 0) * fluid(analysis, lbPerGallon).percent.N) / 100;

describe("amounts of products", () => {
  it("F05 63 lb P2O5 as 10-34-0 of 11.65 lb/gal are 15.91 gal (equation seen)", () => {
    const product = fluid("10-34-0");
    expect(product.lbPerGallon).toBe(11.65);
    expect(Math.abs(productLbFor(product, "P2O5", 63) / (product.lbPerGallon ?? 0) - 15.91)).toBeLessThan(0.01);
  });
  it("F06 a gallon of it holds 3.96 lb P2O5 (3.9 is printed for 11.4 lb/gal)", () => {
    const of = (lb: number) => (lb * fluid("10-34-0", lb).percent.P2O5) / 100;
    expect(Math.abs(of(11.65) - 3.96)).toBeLessThan(0.01);
    expect(Math.abs(of(11.4) - 3.9)).toBeLessThan(0.05);
  });
  it.each([
    ["F07 28-0-0, printed 2.99", "28-0-0", 10.67, 2.99],
    ["F08 30-0-0, printed 3.27", "30-0-0", 10.9, 3.27],
    ["F09 32-0-0, equation seen", "32-0-0", 11.06, 3.54],
  ])("%s lb N a gallon", (_, analysis, weight, expected) => {
    expect(Math.abs(perGallon(analysis, weight) - expected)).toBeLessThan(0.005);
  });
  it("F10 6.5 gal of 28-0-0 bring about 20 lb N (printed at least 20)", () => {
    expect(Math.abs(6.5 * perGallon("28-0-0", 10.67) - 19.4)).toBeLessThan(0.7);
  });
  it("F11 200 lb of 10-34-0 bring 20 lb N (printed)", () => {
    expect((200 * fluid("10-34-0").percent.N) / 100).toBe(20);
  });
  it("V10 potassium chloride of 49.8 % K is 0-0-60 (printed)", () => {
    expect(Math.abs(49.8 * K2O_PER_K - 60)).toBeLessThan(0.05);
  });
});
