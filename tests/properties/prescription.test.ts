import {beforeAll, describe, expect, it} from "vitest";
import {buffer, coverageIsValid, intersection, invalidReason, loadGeos} from "../../src/geo/geos.ts";
import {areaM2, boxOf, perimeterM, polygonAreaM2} from "../../src/geo/measure.ts";
import {dissolve, partition} from "../../src/geo/partition.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import {parseProduct} from "../../src/prescription/parse-product.ts";
import {type PassInput, prescribePass} from "../../src/prescription/prescribe-pass.ts";
import {wantOf} from "../../src/prescription/rated-ground.ts";
import {type Setback, setbackShape} from "../../src/prescription/setback.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {squareMetres} from "../../src/units/quantity.ts";
import {edgeFaults} from "./edge-use.ts";
import {randomOutline} from "./random-outline.ts";

beforeAll(loadGeos);

/** A thousand with the reference suite, else as many as a coffee break of a machine allows. */
const COUNT = process.env.LOAMWRIGHT_REFERENCE ? 1000 : 200;
const PRODUCTS = [
  {product: parseProduct({analysis: "11-52-0"}), nutrient: "P2O5"},
  {product: parseProduct({analysis: "0-0-60"}), nutrient: "K2O"},
] as const;

interface Case {
  readonly outline: MultiPolygon;
  readonly input: PassInput;
  readonly setbacks: readonly Setback[];
}

/** A field no one would want to farm, cut into units by random lines, with rates, limits and rules drawn at random. */
function randomCase(seed: number): Case {
  const random = seededRandom(seed, "prescription");
  const outline = randomOutline(random);
  const {west, south, east, north} = boxOf(outline);
  const anywhere = (): XY => ({x: west + (east - west) * random.next(), y: south + (north - south) * random.next()});
  // Borders as traced on cells wiggle; those of grid cells do not.
  const wiggle = random.next() < 0.5 ? 0 : 2 * random.next();
  const across = (a: XY, b: XY): XY[] =>
    Array.from({length: 121}, (_, i) => {
      const t = (i - 60) / 6;
      const off = (): number => wiggle * (random.next() - 0.5);
      return {x: a.x + t * (b.x - a.x) + off(), y: a.y + t * (b.y - a.y) + off()};
    });
  const division = partition(
    outline,
    Array.from({length: 1 + random.integer(9)}, () => across(anywhere(), anywhere())),
  );
  const most = 1 + random.integer(20);
  const units = dissolve(
    division,
    division.faces.map(() => random.integer(most)),
  );
  const two = random.next() < 0.4;
  const products = PRODUCTS.slice(0, two ? 2 : 1);
  const ground = units.map(({label, shape}) => ({
    id: `U${label}`,
    shape,
    area: squareMetres(areaM2(shape)),
    wants: products.map(({product, nutrient}) =>
      wantOf(product, nutrient, random.next() < 0.15 ? 0 : Math.round(180 * random.next())),
    ),
  }));
  const setbacks = Array.from({length: random.next() < 0.6 ? 1 + random.integer(3) : 0}, (_, i): Setback => {
    const drawn = {
      polygons: [],
      lines: random.next() < 0.6 ? [[anywhere(), anywhere(), anywhere()]] : [],
      points: [anywhere()],
    };
    const kind = random.next();
    const rate = kind < 0.6 ? "zero" : kind < 0.8 ? {share: random.next()} : {lbPerAcre: 100 * random.next()};
    const only = random.next() < 0.3 ? {products: ["MAP"]} : {};
    return {
      name: `rule ${i + 1}`,
      kind: "ditch",
      shape: setbackShape("x", drawn, 3 + 25 * random.next()),
      rate,
      ...only,
    };
  });
  const step = [1, 5, 20][random.integer(3)] as number;
  const limits = {
    stepLbPerAcre: step,
    minLbPerAcre: random.next() < 0.5 ? 0 : 60,
    maxLbPerAcre: 240,
    belowMin: random.next() < 0.5 ? ("zero" as const) : ("minimum" as const),
    outsideLbPerAcre: 0,
  };
  const levels = random.next() < 0.5 ? 1 + random.integer(6) : undefined;
  return {
    outline,
    setbacks,
    input: {
      strategy: "grid",
      ground,
      setbacks,
      products: products.map((one) => ({...one, limits, levels})),
      ...(random.next() < 0.5 && {
        merge: {
          withinLbPerAcre: random.next() < 0.5 ? 0 : 40 * random.next(),
          leastAreaM2: 3000 * random.next(),
          leastWidthM: random.next() < 0.5 ? 0 : 25 * random.next(),
        },
      }),
      ...(random.next() < 0.3 && {mostVertices: 4 + random.integer(400)}),
    },
  };
}

describe(`${COUNT} random prescriptions`, () => {
  for (let seed = 1; seed <= COUNT; seed++) {
    it(`lose no pound, no acre and no rule (prescription ${seed})`, () => {
      const {outline, input, setbacks} = randomCase(seed);
      const made = prescribePass(input);
      const acres = areaM2(outline) / SQUARE_METRES_PER_ACRE;
      const {merge} = input;
      made.forEach((rx, p) => {
        const {polygons, totals} = rx;
        const faces = polygons.map(({polygon}) => polygon);

        // Pounds: what the guide calls for, plus what every step says it moved, is what is spread.
        const called = input.ground.reduce(
          (sum, {area, wants}) => sum + (area / SQUARE_METRES_PER_ACRE) * (wants[p]?.exactLbPerAcre ?? 0),
          0,
        );
        const spread = polygons.reduce(
          (sum, {area, rateLbPerAcre}) => sum + (area / SQUARE_METRES_PER_ACRE) * rateLbPerAcre,
          0,
        );
        expect(Math.abs(spread - called - rx.shiftedLb)).toBeLessThanOrEqual(1e-4 * Math.max(1, called));
        expect(Math.abs(spread - totals.productLb)).toBeLessThanOrEqual(1e-9 * Math.max(1, spread));
        const byUnit = rx.spread.reduce((sum, unit) => sum + unit.acres * unit.meanLbPerAcre, 0);
        expect(Math.abs(byUnit - spread)).toBeLessThanOrEqual(1e-6 * Math.max(1, spread));

        // Ground: single valid parts that cover the field once, whatever was cut, merged and simplified.
        expect(Math.abs(totals.area / SQUARE_METRES_PER_ACRE - acres)).toBeLessThan(1e-6 * acres);
        for (const face of faces) expect(invalidReason([face])).toBeUndefined();
        expect(coverageIsValid(faces, 0)).toBe(true);
        expect(edgeFaults(faces, outline)).toEqual([]);
        expect(new Set(polygons.map(({unit}) => unit)).size).toBe(polygons.length);
        polygons.forEach(({area, polygon}) => {
          expect(Math.abs(area - polygonAreaM2(polygon))).toBeLessThanOrEqual(1e-6 * totals.area);
        });

        // Rates: as many as allowed, and each one the machine can spread.
        const open = polygons.filter(({unit}) => !unit.startsWith("SETBACK"));
        const {levels, limits} = input.products[p] ?? {};
        if (levels !== undefined)
          expect(new Set(open.map(({rateLbPerAcre}) => rateLbPerAcre)).size).toBeLessThanOrEqual(levels);
        for (const {rateLbPerAcre: rate} of polygons) {
          expect(rate === 0 || (rate >= (limits?.minLbPerAcre ?? 0) && rate <= (limits?.maxLbPerAcre ?? 0))).toBe(true);
        }

        // Merging: nothing is left that the machine cannot treat, unless it is named.
        if (merge) {
          for (const {unit, polygon, area} of open) {
            const roomy =
              merge.leastWidthM === 0 || buffer([polygon], (-merge.leastWidthM / 2) * (1 - 1e-3)).length > 0;
            if (area < merge.leastAreaM2 || !roomy) expect(rx.merging?.left).toContain(unit);
          }
        }

        // Setbacks: nothing inside where a rule says so; outside, every unit has its own rate.
        setbacks.forEach(({shape, rate, products}) => {
          if (rate !== "zero" || (products && p > 0)) return;
          for (const one of polygons) {
            if (one.rateLbPerAcre === 0) continue;
            const inside = areaM2(intersection([one.polygon], shape));
            // Corners lie on a grid of 60 nm.
            expect(inside).toBeLessThan(1e-6 * (1 + perimeterM(shape)));
          }
        });
        if (!merge) {
          for (const {unit, rateLbPerAcre} of open) {
            const own = rx.unitRates.find((one) => one.polygons.includes(unit));
            expect(rateLbPerAcre).toBe(own?.rateLbPerAcre);
          }
        }
        // What setbacks hold and what they leave add up.
        const held = polygons.filter(({unit}) => unit.startsWith("SETBACK"));
        const heldLb = held.reduce(
          (sum, {area, rateLbPerAcre}) => sum + (area / SQUARE_METRES_PER_ACRE) * rateLbPerAcre,
          0,
        );
        const takenLb = (rx.setbacks ?? []).reduce((sum, {lb}) => sum + lb, 0);
        const speakOfAll = setbacks.every(({products}) => !products || p === 0);
        if (speakOfAll) expect(Math.abs(heldLb - takenLb)).toBeLessThanOrEqual(1e-6 * Math.max(1, heldLb));
      });
      // All products of a pass have the same polygons.
      for (const rx of made) {
        expect(rx.polygons.map(({unit}) => unit)).toEqual(made[0]?.polygons.map(({unit}) => unit));
      }
      if (seed % 20 === 0) expect(JSON.stringify(prescribePass(input))).toBe(JSON.stringify(made));
    });
  }
});
