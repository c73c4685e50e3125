import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, intersection, invalidReason, loadGeos} from "../../src/geo/geos.ts";
import {areaM2} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {parseProduct} from "../../src/prescription/parse-product.ts";
import {type PassInput, prescribePass} from "../../src/prescription/prescribe-pass.ts";
import {wantOf} from "../../src/prescription/rated-ground.ts";
import type {Setback} from "../../src/prescription/setback.ts";
import {setbackShape} from "../../src/prescription/setback.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {ACRE_SIDE_M, ringOf, strips} from "./fields.ts";

beforeAll(loadGeos);

const map = parseProduct({analysis: "0-46-0", pricePerLb: 0.4});
const potash = parseProduct({analysis: "0-0-60"});
const limits = {stepLbPerAcre: 1, minLbPerAcre: 0, maxLbPerAcre: 600, belowMin: "zero", outsideLbPerAcre: 0} as const;
const acre = ACRE_SIDE_M;

/** Rates in lb of product by unit; a pair for two products. */
function pass(rows: string[], rates: Record<string, number | [number, number]>, more: Partial<PassInput> = {}) {
  const two = Object.values(rates).some((rate) => typeof rate !== "number");
  const ground = strips(...rows).map((unit) => {
    const rate = rates[unit.id] as number | [number, number];
    const [p, k] = typeof rate === "number" ? [rate, 0] : rate;
    const wants = [wantOf(map, "P2O5", p * 0.46), ...(two ? [wantOf(potash, "K2O", k * 0.6)] : [])];
    return {...unit, wants};
  });
  const products = [
    {product: map, nutrient: "P2O5" as const, limits},
    ...(two ? [{product: potash, nutrient: "K2O" as const, limits}] : []),
  ];
  return prescribePass({strategy: "grid", ground, products, ...more});
}

const box = (west: number, south: number, east: number, north: number): MultiPolygon => [
  [ringOf(west * acre, south * acre, east * acre, north * acre)],
];
const setback = (shape: MultiPolygon, rate: Setback["rate"], name = "ditch"): Setback => ({
  name,
  kind: "ditch",
  shape,
  rate,
});
const rates = (rx: ReturnType<typeof pass>[number]) =>
  Object.fromEntries(
    rx.polygons.map((p) => [p.unit, [p.rateLbPerAcre, Math.round((p.area / SQUARE_METRES_PER_ACRE) * 1e6) / 1e6]]),
  );

describe("a number of rates", () => {
  it("draws 100, 110, 200 and 220 to two means weighted by area", () => {
    // A has two acres, so the lower level is (2 × 100 + 110) ÷ 3 = 103.3, rounded to 103.
    const [rx] = pass(
      ["AABCD"],
      {A: 100, B: 110, C: 200, D: 220},
      {products: [{product: map, nutrient: "P2O5", limits, levels: 2}]},
    );
    expect(rx?.levels).toEqual([103, 210]);
    expect(rx?.totals.productLb).toBeCloseTo(3 * 103 + 2 * 210, 6);
    expect(rx?.shiftedBy.levelsLb).toBeCloseTo(3 * 103 + 2 * 210 - (200 + 110 + 200 + 220), 6);
    expect(rx?.unitRates[0]?.working.at(-1)?.text).toBe("drawn to the nearest of 2 rates");
    expect(rx?.issues.find(({code}) => code === "prescription/levels")?.message).toBe(
      "0-46-0 goes on at 2 rates (103, 210 lb/ac): 5.0 ac moved to the nearest, −1 lb over the field.",
    );
  });

  it("keeps ground that needs none at none", () => {
    const [rx] = pass(
      ["ABCD"],
      {A: 0, B: 20, C: 200, D: 220},
      {products: [{product: map, nutrient: "P2O5", limits, levels: 2}]},
    );
    expect(rx?.levels).toEqual([0, 147]);
    expect(rx?.polygons[0]?.rateLbPerAcre).toBe(0);
  });

  it("leaves fewer rates than allowed alone", () => {
    const [rx] = pass(["AB"], {A: 100, B: 110}, {products: [{product: map, nutrient: "P2O5", limits, levels: 5}]});
    expect(rx?.shiftedLb).toBeCloseTo(0, 9);
    expect(rx?.issues).toEqual([]);
  });
});

describe("merging", () => {
  const merge = {withinLbPerAcre: 10, leastAreaM2: 0, leastWidthM: 0};

  it("joins neighbours of close rates at their mean by area", () => {
    const [rx] = pass(["AAAB"], {A: 100, B: 108}, {merge});
    expect(rates(rx as never)).toEqual({A: [102, 4]});
    expect(rx?.merging).toMatchObject({close: 1, small: 0, left: []});
    // Six lb off the acre at 108, two on each of the three acres at 100.
    expect(
      [rx?.merging?.lbAdded, rx?.merging?.lbTaken, rx?.merging?.acresMoved].map((x) => Math.round(x as number)),
    ).toEqual([6, 6, 4]);
    expect(rx?.unitRates.map(({polygons}) => polygons)).toEqual([["A"], ["A"]]);
  });

  it("never moves any ground by more than asked, however long the chain", () => {
    const [rx] = pass(["ABCD"], {A: 100, B: 108, C: 116, D: 124}, {merge});
    expect(rx?.polygons.map((p) => p.rateLbPerAcre)).toEqual([104, 120]);
  });

  it("gives a small piece to the neighbour with the nearest rate, which keeps its own", () => {
    const small = {withinLbPerAcre: 0, leastAreaM2: 1.5 * SQUARE_METRES_PER_ACRE, leastWidthM: 0};
    const [rx] = pass(["AABCC"], {A: 100, B: 180, C: 200}, {merge: small});
    expect(rates(rx as never)).toEqual({A: [100, 2], C: [200, 3]});
    expect(rx?.shiftedBy.mergingLb).toBeCloseTo(20, 6);
    expect(rx?.spread.find(({unit}) => unit === "B")?.meanLbPerAcre).toBeCloseTo(200, 9);
  });

  it("gives a strip narrower than the width away, whatever its area", () => {
    const narrow = {withinLbPerAcre: 0, leastAreaM2: 0, leastWidthM: 1.5 * acre};
    const [rx] = pass(["AABCC", "AABCC", "AABCC"], {A: 100, B: 120, C: 200}, {merge: narrow});
    expect(rates(rx as never)).toEqual({A: [100, 9], C: [200, 6]});
  });

  it("says which pieces have no neighbour to join", () => {
    const small = {withinLbPerAcre: 0, leastAreaM2: 1.5 * SQUARE_METRES_PER_ACRE, leastWidthM: 0};
    const [rx] = pass(["AA B"], {A: 100, B: 180}, {merge: small});
    expect(rx?.merging?.left).toEqual(["B"]);
    expect(rx?.issues.find(({code}) => code === "prescription/too-small")?.message).toContain("1 polygon (B)");
  });

  it("joins in one pass only what is close in every product", () => {
    const [p, k] = pass(["ABC"], {A: [100, 50], B: [105, 150], C: [104, 145]}, {merge});
    expect(p?.polygons.map(({unit}) => unit)).toEqual(["A", "B"]);
    expect(k?.polygons.map((one) => one.rateLbPerAcre)).toEqual([50, 148]);
    expect(p?.polygons.map(({polygon}) => polygon)).toEqual(k?.polygons.map(({polygon}) => polygon));
  });
});

describe("setbacks", () => {
  it("cut a quarter acre out as a polygon of its own at zero", () => {
    const [rx] = pass(["AB"], {A: 100, B: 200}, {setbacks: [setback(box(0.75, 0, 1, 1), "zero")]});
    expect(rates(rx as never)).toEqual({A: [100, 0.75], SETBACK1: [0, 0.25], B: [200, 1]});
    expect(rx?.setbacks?.[0]).toMatchObject({name: "ditch", polygons: ["SETBACK1"]});
    expect(rx?.setbacks?.[0]?.openLb).toBeCloseTo(25, 4);
    expect(rx?.shiftedBy.setbacksLb).toBeCloseTo(-25, 4);
    expect(rx?.totals.productLb).toBeCloseTo(275, 4);
    expect(rx?.issues.find(({code}) => code === "prescription/setback")).toMatchObject({
      message: 'Setback "ditch" (ditch): 0.25 ac, 25 lb of 0-46-0 taken out, 0 lb left.',
      hint: "Check local code for the distance and the rate.",
    });
  });

  it("run as one polygon over units where nothing goes on, as several where a share does", () => {
    const across = box(0.75, 0, 1.25, 1);
    const [none] = pass(["AB"], {A: 100, B: 200}, {setbacks: [setback(across, "zero")]});
    expect(none?.polygons.map(({unit}) => unit).sort()).toEqual(["A", "B", "SETBACK1"]);
    const [half] = pass(["AB"], {A: 100, B: 200}, {setbacks: [setback(across, {share: 0.5})]});
    expect(rates(half as never)).toEqual({
      A: [100, 0.75],
      SETBACK1: [50, 0.25],
      B: [200, 0.75],
      "SETBACK1-2": [100, 0.25],
    });
    expect(half?.setbacks?.[0]?.lb).toBeCloseTo(37.5, 4);
  });

  it("round a reduced rate down, never up, and to none below what the machine can spread", () => {
    const coarse = {...limits, stepLbPerAcre: 20, minLbPerAcre: 60};
    const products = [{product: map, nutrient: "P2O5" as const, limits: coarse}];
    const at = (share: number) =>
      pass(["A"], {A: 100}, {products, setbacks: [setback(box(0, 0, 0.5, 1), {share})]})[0]?.polygons.find(
        ({unit}) => unit === "SETBACK1",
      )?.rateLbPerAcre;
    expect([at(0.79), at(0.6), at(0.59)]).toEqual([60, 60, 0]);
  });

  it("where they overlap, the strictest wins and the ground counts for it alone", () => {
    const [rx] = pass(
      ["A"],
      {A: 100},
      {
        setbacks: [setback(box(0, 0, 0.5, 1), {share: 0.5}, "stream"), setback(box(0.25, 0, 0.75, 1), "zero", "inlet")],
      },
    );
    expect(
      rx?.setbacks?.map(({acres, openLb, lb}) => [acres, openLb, lb].map((x) => Math.round(x * 1e4) / 1e4)),
    ).toEqual([
      [0.25, 25, 12.5],
      [0.5, 50, 0],
    ]);
    expect(rx?.totals.productLb).toBeCloseTo(37.5, 4);
  });

  it("a most of 80 lb leaves ground at 60 alone", () => {
    const [rx] = pass(["AB"], {A: 60, B: 200}, {setbacks: [setback(box(0, 0, 2, 0.5), {lbPerAcre: 80})]});
    expect(rx?.totals.productLb).toBeCloseTo(60 + 100 + 40, 4);
  });

  it("speak of the products they name, and leave both products on the same polygons", () => {
    const only = {...setback(box(0, 0, 1, 0.5), "zero"), products: ["tsp"]};
    const [p, k] = pass(["A"], {A: [100, 150]}, {setbacks: [only]});
    expect(p?.polygons.map((one) => one.rateLbPerAcre)).toEqual([100, 0]);
    expect(k?.polygons.map((one) => one.rateLbPerAcre)).toEqual([150, 150]);
    expect(k?.setbacks).toEqual([]);
  });

  it("that speak of none of the products cut nothing, and keep their numbers", () => {
    const lime = {...setback(box(0, 0, 1, 0.5), "zero"), products: ["lime"]};
    const [none] = pass(["A"], {A: 100}, {setbacks: [lime]});
    expect(none?.polygons.map(({unit}) => unit)).toEqual(["A"]);
    const [second] = pass(["A"], {A: 100}, {setbacks: [lime, setback(box(0, 0, 0.5, 0.5), "zero")]});
    expect(second?.polygons.map(({unit}) => unit)).toEqual(["A", "SETBACK2"]);
  });

  it("keep the whole a valid coverage with the field's acres", () => {
    const drawn = {
      polygons: [],
      lines: [
        [
          {x: -10, y: 20},
          {x: 2.3 * acre, y: 1.4 * acre},
        ],
      ],
      points: [{x: 2.5 * acre, y: 0.5 * acre}],
    };
    const [rx] = pass(
      ["AAB", "ACC"],
      {A: 100, B: 150, C: 200},
      {setbacks: [setback(setbackShape("d", drawn, 10), "zero")]},
    );
    const faces = rx?.polygons.map(({polygon}) => polygon) ?? [];
    expect(coverageIsValid(faces, 0.1)).toBe(true);
    for (const face of faces) expect(invalidReason([face])).toBeUndefined();
    expect((rx?.totals.area ?? 0) / SQUARE_METRES_PER_ACRE).toBeCloseTo(6, 9);
  });

  it("that miss the field are told", () => {
    const [rx] = pass(["A"], {A: 60}, {setbacks: [setback(box(5, 5, 6, 6), "zero")]});
    expect(rx?.issues.find(({code}) => code === "prescription/setback")?.message).toContain("takes nothing off 0-46-0");
  });
});

describe("the shape of a setback", () => {
  it("is never nearer than the distance, and at most 2.1 percent farther", () => {
    const shape = setbackShape("well", {polygons: [], lines: [], points: [{x: 0, y: 0}]}, 100);
    const radii = shape.flat(2).map(({x, y}) => Math.hypot(x, y));
    // Sides of the drawn circle are nearest at their middles.
    const ring = shape[0]?.[0] ?? [];
    const middles = ring
      .slice(1)
      .map((b, i) => Math.hypot((b.x + (ring[i]?.x ?? 0)) / 2, (b.y + (ring[i]?.y ?? 0)) / 2));
    expect(Math.min(...middles)).toBeGreaterThan(100 - 1e-9);
    expect(Math.max(...radii)).toBeLessThan(102.1);
  });

  it("needs a distance for a line, and something drawn", () => {
    const none = {polygons: [], lines: [], points: []};
    expect(() => setbackShape("x", none, 10)).toThrowError(expect.objectContaining({code: "setback/nothing-drawn"}));
    expect(() => setbackShape("x", {...none, points: [{x: 0, y: 0}]}, 0)).toThrowError(
      expect.objectContaining({code: "setback/no-distance"}),
    );
    expect(areaM2(setbackShape("x", {...none, polygons: box(0, 0, 1, 1)}, 0))).toBeCloseTo(SQUARE_METRES_PER_ACRE, 6);
  });
});

describe("rates where the map says nothing", () => {
  it("are refused above the largest rate", () => {
    for (const more of [{lostPositionLbPerAcre: 700}, {defaultLbPerAcre: -1}]) {
      const products = [{product: map, nutrient: "P2O5" as const, limits: {...limits, ...more}}];
      expect(() => pass(["A"], {A: 100}, {products})).toThrowError(
        expect.objectContaining({code: "prescription/bad-limits"}),
      );
    }
  });
});

describe("supply", () => {
  const load = {amount: 300, unit: "lb"} as const;
  it("counts loads, the last one partial, and the bill", () => {
    const [rx] = pass(["AB"], {A: 300, B: 400}, {products: [{product: map, nutrient: "P2O5", limits, load}]});
    expect(rx?.supply.loads).toMatchObject({count: 3, lbPerLoad: 300});
    expect(rx?.supply.loads?.lastLb).toBeCloseTo(100, 6);
    expect(rx?.supply.dollars).toBeCloseTo(280, 6);
    // 0-46-0 weighs 65 to 75 lb a cubic foot, 70 in the middle.
    expect(rx?.supply.cubicFeet).toBeCloseTo(10, 6);
  });

  it("knows how much of a fluid a tank holds", () => {
    const fluid = parseProduct({analysis: "10-34-0"});
    const [rx] = prescribePass({
      strategy: "zone",
      ground: strips("A").map((unit) => ({...unit, wants: [wantOf(fluid, "P2O5", 34)]})),
      products: [{product: fluid, nutrient: "P2O5", limits, load: {amount: 5, unit: "gal"}}],
    });
    // 100 lb at 11.65 lb a gallon are 8.58 gallons.
    expect(rx?.supply.gallons).toBeCloseTo(100 / 11.65, 9);
    expect(rx?.supply.loads?.count).toBe(2);
    expect(rx?.supply.loads?.lastLb).toBeCloseTo(100 - 5 * 11.65, 6);
  });

  it("says so when loads cannot be counted", () => {
    const [rx] = pass(
      ["A"],
      {A: 300},
      {products: [{product: map, nutrient: "P2O5", limits, load: {amount: 5, unit: "gal"}}]},
    );
    expect(rx?.supply.loads).toBeUndefined();
    expect(rx?.issues.at(-1)?.code).toBe("prescription/loads-unknown");
  });
});

describe("a budget of corners", () => {
  const wavy = (x: number): {x: number; y: number}[] =>
    Array.from({length: 101}, (_, i) => ({x: x + 0.3 * Math.sin(i), y: (i * acre) / 100}));
  const ground = () => {
    const line = wavy(acre);
    const west = [{x: 0, y: 0}, ...line, {x: 0, y: acre}, {x: 0, y: 0}];
    const east = [{x: 2 * acre, y: acre}, ...[...line].reverse(), {x: 2 * acre, y: 0}, {x: 2 * acre, y: acre}];
    return [west, east].map((ring, i) => ({
      id: "AB"[i] as string,
      shape: [[ring]],
      area: areaM2([[ring]]) as never,
      wants: [wantOf(map, "P2O5", 46 * (i + 1))],
    }));
  };
  const products = [{product: map, nutrient: "P2O5" as const, limits}];

  it("is kept by simplifying shared borders; the field and its pounds stay", () => {
    const [free] = prescribePass({strategy: "zone", ground: ground(), products});
    const [rx] = prescribePass({strategy: "zone", ground: ground(), products, mostVertices: 40});
    expect(rx?.simplified?.after).toBeLessThanOrEqual(40);
    expect(rx?.simplified?.before).toBe(206);
    expect(coverageIsValid(rx?.polygons.map(({polygon}) => polygon) ?? [], 0.1)).toBe(true);
    expect(rx?.totals.area).toBeCloseTo(free?.totals.area as number, 6);
    expect((rx?.totals.productLb ?? 0) - (rx?.shiftedLb ?? 0)).toBeCloseTo(
      (free?.totals.productLb ?? 0) - (free?.shiftedLb ?? 0),
      6,
    );
    expect(areaM2(intersection([rx?.polygons[0]?.polygon ?? []], [rx?.polygons[1]?.polygon ?? []]))).toBeLessThan(1e-6);
  });

  it("that cannot be kept is told", () => {
    const [rx] = prescribePass({strategy: "zone", ground: ground(), products, mostVertices: 4});
    expect(rx?.issues.map(({code}) => code)).toContain("prescription/over-budget");
  });
});
