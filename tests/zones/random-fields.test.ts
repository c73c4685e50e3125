import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, difference, invalidReason, loadGeos, union} from "../../src/geo/geos.ts";
import {areaM2, polygonAreaM2} from "../../src/geo/measure.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {type Random, seededRandom} from "../../src/stats/random.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {buildZones} from "../../src/zones/build-zones.ts";
import type {Feature, Theme} from "../../src/zones/feature-matrix.ts";
import type {ZoneMap} from "../../src/zones/zone-map.ts";
import {box, fieldFrom, layerFrom, randomLayer} from "./fields.ts";

beforeAll(loadGeos);

/** A shape with bays and points around a centre. */
function star(random: Random, x: number, y: number, radius: number, corners: number): MultiPolygon {
  const points: XY[] = Array.from({length: corners}, (_, i) => {
    const angle = (2 * Math.PI * (i + 0.6 * random.next())) / corners;
    const reach = radius * (0.35 + 0.65 * random.next());
    return {x: x + reach * Math.cos(angle), y: y + reach * Math.sin(angle)};
  });
  return [[[...points, points[0] as XY]]];
}

/** Concave; often with a hole, a second part, or a lane narrower than a cell out of it. */
function randomOutline(random: Random): MultiPolygon {
  let outline = star(random, 0, 0, 120 + 180 * random.next(), 5 + random.integer(12));
  if (random.next() < 0.5) outline = difference(outline, star(random, 20, 10, 60, 7));
  if (random.next() < 0.4) {
    const width = 0.5 + 12 * random.next();
    outline = union([outline, box(-320, 5, -40, 5 + width), box(-360, -60, -315, 60)]);
  }
  if (random.next() < 0.4) outline = [...outline, ...star(random, 500, 80, 40 + 60 * random.next(), 6)];
  return outline;
}

interface Case {
  readonly outline: MultiPolygon;
  readonly minAreaM2: number;
  readonly map: ZoneMap;
  readonly again: ZoneMap;
  readonly mask: Uint8Array;
}

function randomCase(seed: number): Case {
  const random = seededRandom(seed, "field");
  const outline = randomOutline(random);
  const made = fieldFrom(outline, 4 + random.integer(5));
  const themes: Theme[] = ["yield", "soil", "terrain", "sensed"];
  const features: Feature[] = Array.from({length: 1 + random.integer(4)}, (_, i) => {
    const layer = randomLayer(made.grid, `layer ${i}`, random, 30 + 150 * random.next(), 0.6 * random.next());
    const gaps = layerFrom(made.grid, `layer ${i}`, () => (random.next() < 0.05 ? Number.NaN : 0));
    return {
      layer: {...layer, values: layer.values.map((v, cell) => v + (gaps.values[cell] as number))},
      theme: themes[random.integer(4)] as Theme,
    };
  });
  const minAreaM2 = random.next() < 0.2 ? 0 : 500 + 4000 * random.next();
  const options = {
    count: 2 + random.integer(5),
    minArea: squareMetres(minAreaM2),
    smoothing: metres(random.next() < 0.2 ? 0 : 25 * random.next()),
    restarts: 3,
    seed,
  };
  const build = (): ZoneMap => buildZones({...made, features}, options);
  return {outline, minAreaM2, map: build(), again: build(), mask: maskOf(made.grid, outline)};
}

describe("zones of sixty random fields", () => {
  for (let seed = 1; seed <= 60; seed++) {
    it(`are a valid coverage with every cell and acre in one zone (field ${seed})`, () => {
      const {outline, minAreaM2, map, again, mask} = randomCase(seed);
      const {zones, cells, issues} = map;

      // Every cell whose centre is in the field, and no other, is in a zone.
      cells.forEach((zone, i) => {
        if ((zone > 0 && zone <= zones.length) !== (mask[i] === 1)) throw new Error(`cell ${i} is in zone ${zone}`);
      });
      expect(zones.map(({id}) => id)).toEqual(zones.map((_, i) => i + 1));

      // Areas add up to the outline's: only the order of sums differs.
      const total = zones.reduce((sum, {area}) => sum + area, 0);
      expect(Math.abs(total / areaM2(outline) - 1)).toBeLessThan(1e-9);
      for (const {shape} of zones) expect(invalidReason(shape)).toBeUndefined();
      expect(
        coverageIsValid(
          zones.flatMap(({shape}) => shape),
          0.1,
        ),
      ).toBe(true);

      // The minimum area is kept, but for parts of the field that are smaller themselves, and these are named.
      const small = zones.flatMap(({shape}) => shape).filter((piece) => polygonAreaM2(piece) < minAreaM2);
      const named = issues.find(({code}) => code === "zones/piece-under-minimum")?.message ?? "0";
      expect(Number.parseInt(named, 10)).toBe(small.length);
      const parts = outline.map(polygonAreaM2);
      for (const piece of small) {
        // Corners lie on a grid of 60 nm, which a small part notices more than the whole field.
        expect(Math.min(...parts.map((part) => Math.abs(part / polygonAreaM2(piece) - 1)))).toBeLessThan(1e-6);
      }

      expect(again).toEqual(map);
    });
  }
});
