import {beforeAll, describe, expect, it} from "vitest";
import {intersection, invalidReason, loadGeos} from "../../src/geo/geos.ts";
import {areaM2} from "../../src/geo/measure.ts";
import type {Polygon, XY} from "../../src/geo/shapes.ts";
import {findOverlaps} from "../../src/prescription/find-overlaps.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {ringOf} from "./fields.ts";

beforeAll(loadGeos);

const square = (x: number, y: number, side = 10): Polygon => [ringOf(x, y, x + side, y + side)];

describe("ground in two polygons", () => {
  it("of two squares that overlap by a quarter is 25 m²", () => {
    expect(findOverlaps([square(0, 0), square(5, 5)], 1)).toEqual([
      {first: 0, second: 1, areaM2: expect.closeTo(25, 9)},
    ]);
  });

  it("is none where squares touch along an edge or at a corner", () => {
    expect(findOverlaps([square(0, 0), square(10, 0), square(10, 10)], 0.01)).toEqual([]);
  });

  it("counts a square that runs clockwise like one that does not", () => {
    const reversed: Polygon = [[...(square(5, 5)[0] ?? [])].reverse()];
    expect(findOverlaps([square(0, 0), reversed], 1)[0]?.areaM2).toBeCloseTo(25, 9);
  });

  it("takes the hole of a ring out: a square within it is no overlap", () => {
    const ring: Polygon = [ringOf(0, 0, 40, 40), [...ringOf(10, 10, 30, 30)].reverse()];
    expect(findOverlaps([ring, square(15, 15)], 1)).toEqual([]);
    expect(findOverlaps([ring, square(5, 15)], 1)[0]?.areaM2).toBeCloseTo(50, 9);
  });

  it("is what GEOS finds for every pair of 40 sets of random polygons, convex and not", () => {
    let found = 0;
    for (let seed = 1; seed <= 40; seed++) {
      const random = seededRandom(seed, "overlaps");
      const polygons = Array.from({length: 30}, (): Polygon => {
        const [x, y] = [200 * random.next(), 200 * random.next()];
        const corners = 3 + random.integer(6);
        const even = random.next() < 0.6;
        const ring = Array.from({length: corners}, (_, i): XY => {
          const angle = (2 * Math.PI * i) / corners;
          const reach = even ? 25 : 8 + 22 * random.next();
          return {x: x + reach * Math.cos(angle), y: y + reach * Math.sin(angle)};
        });
        return [[...ring, ring[0] as XY]];
      }).filter((polygon) => invalidReason([polygon]) === undefined);
      const ours = findOverlaps(polygons, 0.5);
      const theirs = polygons.flatMap((a, i) =>
        polygons.slice(i + 1).flatMap((b, k) => {
          const shared = areaM2(intersection([a], [b]));
          return shared >= 0.5 ? [{first: i, second: i + 1 + k, areaM2: shared}] : [];
        }),
      );
      expect(ours.map(({first, second}) => [first, second])).toEqual(theirs.map(({first, second}) => [first, second]));
      for (const [i, {areaM2: shared}] of ours.entries())
        expect(Math.abs(shared - (theirs[i]?.areaM2 as number))).toBeLessThan(5e-5); // GEOS on a grid of 60 nm
      found += ours.length;
    }
    expect(found).toBeGreaterThan(1000);
  });
});
