import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {blend} from "../../src/prescription/blend.ts";
import {cheapestMix} from "../../src/prescription/cheapest-mix.ts";
import {parseProduct} from "../../src/prescription/parse-product.ts";

const product = (analysis: string, dollarsPerTon?: number) =>
  parseProduct({analysis, ...(dollarsPerTon !== undefined && {pricePerLb: dollarsPerTon / 2000})});
const MAP = product("11-52-0", 800);
const DAP = product("18-46-0", 780);
const TSP = product("0-46-0", 700);
const MOP = product("0-0-60", 500);

const lbOf = (found: ReturnType<typeof blend>): Record<string, number> =>
  Object.fromEntries(found.parts.map(({product: p, lbPerAcre}) => [p.code, lbPerAcre]));

describe("a mix of one product for each nutrient, by hand", () => {
  it("F01, F02 63 lb P2O5 as 11-52-0 is 121.15 lb and brings 13.33 lb N", () => {
    const found = blend({unit: "Z1", want: {P2O5: 63, K2O: 0}, products: [MAP, MOP]});
    expect(lbOf(found)).toEqual({MAP: expect.closeTo(121.154, 3)});
    expect(found.nutrients.N).toBeCloseTo(13.327, 3);
  });
  it("F03, F04 as 18-46-0 136.96 lb and 24.65 lb N", () => {
    const found = blend({unit: "Z1", want: {P2O5: 63}, products: [DAP]});
    expect(found.lbPerAcre).toBeCloseTo(136.957, 3);
    expect(found.nutrients.N).toBeCloseTo(24.652, 3);
    expect(found.issues.map(({code}) => code)).toEqual(["blend/nitrogen-rides-along"]);
  });
  it("F15 56 lb K2O as 0-0-60 is 93.33 lb", () => {
    expect(blend({unit: "Z1", want: {P2O5: 0, K2O: 56}, products: [MAP, MOP]}).lbPerAcre).toBeCloseTo(93.333, 3);
  });
  it("F12 to F14 equal parts of 18-46-0 and 0-0-60 are 9-23-30 (printed)", () => {
    const found = blend({unit: "Z1", want: {P2O5: 46, K2O: 60}, products: [DAP, MOP]});
    expect(lbOf(found)).toEqual({DAP: expect.closeTo(100, 9), MOP: expect.closeTo(100, 9)});
    expect(found.analysis).toEqual({N: expect.closeTo(9, 9), P2O5: expect.closeTo(23, 9), K2O: expect.closeTo(30, 9)});
  });
  it("F16 200 lb of 11-52-0 at 62.5 lb/ft³ are 3.2 ft³", () => {
    const found = blend({unit: "Z1", want: {P2O5: 104}, products: [MAP]});
    expect(found.lbPerAcre).toBeCloseTo(200, 9);
    expect(found.cubicFeetPerAcre).toBeCloseTo(3.2, 9);
  });
  it("costs what its parts cost, and less the nitrogen when that is worth something", () => {
    const found = blend({unit: "Z1", want: {P2O5: 52, K2O: 60}, products: [MAP, MOP], nitrogenPerLb: 0.5});
    expect(found.cost?.products).toBeCloseTo(100 * 0.4 + 100 * 0.25, 9);
    expect(found.cost?.afterNitrogen).toBeCloseTo(65 - 5.5, 9);
    expect(found.working.map(({text}) => text)).toEqual([
      "monoammonium phosphate 11-52-0",
      "muriate of potash 0-0-60",
      "N, which rides along: 100 × 0.11",
      "P2O5: 100 × 0.52",
      "K2O: 100 × 0.6",
      "the mix",
      "loose volume",
    ]);
  });
});

describe("the choice of products", () => {
  it("turns with the worth of nitrogen", () => {
    // P2O5 by price alone: MAP 0.769, DAP 0.848, TSP 0.761 $/lb. With N at 0.60 $/lb DAP brings 0.235 $ of it per lb
    // P2O5, MAP 0.127: DAP 0.613, MAP 0.642, TSP 0.761.
    const want = {P2O5: 60, K2O: 60};
    expect(lbOf(blend({unit: "Z", want, products: [MAP, DAP, TSP, MOP]}))).toHaveProperty("TSP");
    expect(lbOf(blend({unit: "Z", want, products: [MAP, DAP, TSP, MOP], nitrogenPerLb: 0.6}))).toHaveProperty("DAP");
  });

  it("can use a product of three nutrients and complete it", () => {
    const npk = product("10-20-20", 500);
    const found = blend({unit: "Z", want: {P2O5: 20, K2O: 80}, products: [npk, MOP]});
    expect(found.nutrients.P2O5).toBeCloseTo(20, 9);
    expect(found.nutrients.K2O).toBeCloseTo(80, 9);
    expect(found.parts.map(({lbPerAcre}) => lbPerAcre)).toEqual([expect.closeTo(100, 9), expect.closeTo(100, 9)]);
  });

  it("takes the lightest mix where prices are missing, and says so", () => {
    const found = blend({unit: "Z", want: {P2O5: 52}, products: [product("0-46-0"), product("11-52-0")]});
    expect(lbOf(found)).toHaveProperty("MAP");
    expect(found.issues.map(({code}) => code)).toContain("blend/no-prices");
  });

  it("says when nothing gives the wanted amounts exactly", () => {
    const npk = product("10-20-20");
    expect(() => blend({unit: "Z", want: {P2O5: 60, K2O: 20}, products: [npk]})).toThrow(
      expect.objectContaining({
        code: "blend/cannot-be-met",
        hint: "Add a product that holds one of the nutrients alone.",
      }),
    );
    expect(() => blend({unit: "Z", want: {P2O5: 60, K2O: 20}, products: [MAP]})).toThrow(
      expect.objectContaining({hint: "Add a product with K2O."}),
    );
    expect(() => blend({unit: "Z", want: {P2O5: -1}, products: [MAP]})).toThrow("cannot hold -1");
  });

  it("is nothing at all where nothing is due", () => {
    const found = blend({unit: "Z", want: {P2O5: 0, K2O: 0}, products: [MAP, MOP]});
    expect(found).toMatchObject({parts: [], lbPerAcre: 0, analysis: {N: 0, P2O5: 0, K2O: 0}, cubicFeetPerAcre: 0});
  });
});

it("whatever the products, the mix is exact, never negative, and no mix on a fine raster is cheaper", () => {
  const percent = fc.integer({min: 0, max: 60});
  const ingredient = fc.record({cost: fc.integer({min: 1, max: 50}), holds: fc.tuple(percent, percent)});
  fc.assert(
    fc.property(
      fc.tuple(fc.integer({min: 0, max: 100}), fc.integer({min: 0, max: 100})),
      fc.array(ingredient, {minLength: 1, maxLength: 3}),
      (wanted, ingredients) => {
        const found = cheapestMix(wanted, ingredients);
        if (!found) return;
        const sum = (r: 0 | 1) =>
          found.reduce((total, amount, i) => total + amount * (ingredients[i]?.holds[r] ?? 0), 0);
        expect(found.every((amount) => amount >= 0)).toBe(true);
        expect(Math.abs(sum(0) - wanted[0])).toBeLessThan(1e-6);
        expect(Math.abs(sum(1) - wanted[1])).toBeLessThan(1e-6);
        const cost = found.reduce((total, amount, i) => total + amount * (ingredients[i]?.cost ?? 0), 0);
        // Any other exact mix moves along the one line of exact mixes that three products leave: try points of it.
        const [a, b, c] = ingredients;
        if (!a || !b || !c) return;
        const det = a.holds[0] * b.holds[1] - a.holds[1] * b.holds[0];
        if (det === 0) return;
        for (let t = 0; t <= 10; t += 0.1) {
          const p = wanted[0] - c.holds[0] * t;
          const q = wanted[1] - c.holds[1] * t;
          const x = (p * b.holds[1] - q * b.holds[0]) / det;
          const y = (a.holds[0] * q - a.holds[1] * p) / det;
          if (x < 0 || y < 0) continue;
          expect(cost).toBeLessThanOrEqual(x * a.cost + y * b.cost + t * c.cost + 1e-6);
        }
      },
    ),
    {numRuns: 500},
  );
});
