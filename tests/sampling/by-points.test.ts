import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, loadGeos} from "../../src/geo/geos.ts";
import {pointAt} from "../../src/geo/half-plane.ts";
import {areaM2, contains, distanceM} from "../../src/geo/measure.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {planPoints} from "../../src/sampling/by-points.ts";
import {nearestGround} from "../../src/sampling/nearest-ground.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {fieldOf, randomField, rectangleFt} from "./make-field.ts";

beforeAll(loadGeos);

const field = fieldOf(rectangleFt(1320, 1320), "Forty");
const ft = (x: number, y: number): XY => ({x: x * METRES_PER_FOOT, y: y * METRES_PER_FOOT});

describe("the ground nearest to points", () => {
  it("of four points in the middles of quarters is the quarters, of two the halves", () => {
    const quarters = nearestGround(field.outline, [ft(330, 330), ft(990, 330), ft(330, 990), ft(990, 990)]);
    for (const ground of quarters) expect(areaM2(ground) / SQUARE_METRES_PER_ACRE).toBeCloseTo(10, 6);
    const halves = nearestGround(field.outline, [ft(100, 660), ft(900, 660)]);
    // By hand: the border stands at 500 ft of 1320.
    expect(areaM2(halves[0] ?? []) / areaM2(field.outline)).toBeCloseTo(500 / 1320, 9);
  });

  it("of one point is all of it", () => {
    expect(areaM2(nearestGround(field.outline, [ft(5, 5)])[0] ?? [])).toBeCloseTo(areaM2(field.outline), 3);
  });

  it("is nearer to its point than to any other, on fields of any shape", () => {
    for (let seed = 0; seed < 15; seed++) {
      const random = seededRandom(seed, "nearest ground");
      const outline = randomField(random);
      const points = Array.from({length: 1 + random.integer(40)}, () =>
        pointAt(outline.flat(), random.next(), random.next()),
      );
      const grounds = nearestGround(outline, points);
      expect(coverageIsValid(grounds.flat(), 0.01)).toBe(true);
      expect(grounds.reduce((sum, ground) => sum + areaM2(ground), 0) / areaM2(outline)).toBeCloseTo(1, 9);
      for (let k = 0; k < 60; k++) {
        const p = pointAt(outline.flat(), random.next(), random.next());
        const distances = points.map((q) => distanceM(p, q));
        const nearest = distances.indexOf(Math.min(...distances));
        expect(contains(grounds[nearest] ?? [], p.x, p.y)).toBe(true);
      }
    }
  });
});

describe("directed points", () => {
  const points = [
    {...ft(200, 200), name: "gate corner"},
    {...ft(1000, 300), name: "sand"},
    {...ft(700, 1000), name: "old yard"},
    {...ft(9000, 0), name: "elsewhere"},
  ];
  let plan: SamplingPlan;
  beforeAll(() => {
    plan = planPoints(field, points);
  });

  it("make a unit each, with cores within 15 ft of them and their names as labels", () => {
    expect(plan.units.map(({label}) => label).sort()).toEqual(["point gate corner", "point old yard", "point sand"]);
    for (const {label, centre, cores} of plan.units) {
      const point = points.find(({name}) => label === `point ${name}`) as XY;
      expect(distanceM(centre as XY, point)).toBeLessThan(1e-9);
      expect(cores).toHaveLength(8);
      for (const core of cores) expect(distanceM(core, point)).toBeLessThanOrEqual(15 * METRES_PER_FOOT);
    }
    expect(plan.units.reduce((sum, {area}) => sum + area, 0) / SQUARE_METRES_PER_ACRE).toBeCloseTo(40, 6);
  });

  it("outside the field are left out, which is said", () => {
    expect(plan.issues.find(({code}) => code === "sampling/points-outside")?.message).toBe(
      "1 of 4 points lies outside Forty and was left out.",
    );
  });

  it("may speak for the ground around them with cores all over it", () => {
    const ground = planPoints(field, points, {pattern: "ground"});
    for (const {cores, shape, centre} of ground.units) {
      expect(centre).toBeUndefined();
      for (const {x, y} of cores) expect(contains(shape, x, y)).toBe(true);
    }
  });

  it.each([
    ["none inside", [ft(9000, 9000)]],
    ["two in one place", [ft(100, 100), ft(100.5, 100)]],
  ])("are refused with %s", (_, bad) => {
    expect(() => planPoints(field, bad)).toThrow(expect.objectContaining({code: "sampling/points"}));
  });
});
