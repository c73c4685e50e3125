import {beforeAll, describe, expect, it} from "vitest";
import {difference, intersection, loadGeos, union} from "../../src/geo/geos.ts";
import {areaM2} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {seededRandom} from "../../src/stats/random.ts";

beforeAll(loadGeos);

const star = (seed: number, x: number): MultiPolygon => {
  const random = seededRandom(seed, "star");
  const ring = Array.from({length: 24}, (_, i) => {
    const [angle, radius] = [(2 * Math.PI * i) / 24, 20 + 60 * random.next()];
    return {x: x + radius * Math.cos(angle), y: radius * Math.sin(angle)};
  });
  return [[[...ring, ring[0] as {x: number; y: number}]]];
};

describe("overlay", () => {
  it("adds up on random stars: a = a∩b + a−b, and a∪b = a + b − a∩b, whichever comes first", () => {
    for (let seed = 0; seed < 60; seed++) {
      const [a, b] = [star(seed, 0), star(seed + 1000, seed)];
      const both = areaM2(intersection(a, b));
      // Corners stand on a grid of 60 nm; 500 m of edge move an area by less than 5e-5 m².
      expect(Math.abs(areaM2(intersection(b, a)) - both)).toBeLessThan(5e-5);
      expect(Math.abs(areaM2(a) - both - areaM2(difference(a, b)))).toBeLessThan(5e-5);
      expect(Math.abs(areaM2(a) + areaM2(b) - both - areaM2(union([a, b])))).toBeLessThan(5e-5);
    }
  });
});
