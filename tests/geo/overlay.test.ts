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

const shapeOf = (shape: readonly (readonly (readonly (readonly [number, number])[])[])[]): MultiPolygon =>
  shape.map((polygon) => polygon.map((ring) => ring.map(([x, y]) => ({x, y}))));

/** Two neighbours whose common border has a spike of a few nanometres, as unions of machine passes leave them. */
const NEIGHBOUR = shapeOf([
  [
    [
      [-321.5098336833915, -947.4578412919941],
      [-342.85007479433887, -947.4677332145413],
      [-338.88778046425915, -947.4658965572881],
      [-338.86328184711334, -947.6347503688497],
      [-338.67668245000175, -954.439465280112],
      [-338.99493095889517, -956.7909942366325],
      [-334.7348865966843, -956.719048423369],
      [-331.94485224382123, -956.4412394534264],
      [-324.2105232878626, -955.2074921222138],
      [-322.46019869168276, -954.8740261527262],
      [-321.52481519590384, -954.7029974185126],
      [-321.5328940713142, -958.6099936998754],
      [-321.5098336833915, -947.4578412919941],
    ],
  ],
  [
    [
      [-342.8612855223311, -955.4021806791961],
      [-342.8656904882464, -958.5198168097476],
      [-342.8627217503656, -956.4186780819473],
      [-342.8612855223311, -955.4021806791961],
    ],
  ],
  [
    [
      [-334.4503891469218, -958.5553895349365],
      [-329.35695369880403, -958.5769202409817],
      [-331.6829741465126, -958.5670878080344],
      [-334.4503891469218, -958.5553895349365],
    ],
  ],
]);
const SPIKED = shapeOf([
  [
    [
      [-321.533166936226, -963.5133832323326],
      [-321.5328940713142, -958.6099936998754],
      [-342.8656904882464, -958.5198168097476],
      [-342.86598607552975, -963.5010379219951],
      [-321.533166936226, -963.5133832323326],
    ],
  ],
]);

describe("overlay", () => {
  it("finds no common ground in neighbours that only touch along a hair-thin spike", () => {
    // With plain doubles GEOS 3.13.0 gives 105.4 m² for the first and 0 for the second.
    expect(areaM2(intersection(SPIKED, NEIGHBOUR))).toBeLessThan(1e-4);
    expect(areaM2(intersection(NEIGHBOUR, SPIKED))).toBeLessThan(1e-4);
    expect(Math.abs(areaM2(difference(SPIKED, NEIGHBOUR)) - areaM2(SPIKED))).toBeLessThan(1e-4);
  });

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
