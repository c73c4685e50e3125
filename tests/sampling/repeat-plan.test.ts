import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, loadGeos} from "../../src/geo/geos.ts";
import {areaM2, contains, distanceM} from "../../src/geo/measure.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {makeKeepOut} from "../../src/sampling/keep-outs.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {type EarlierUnit, repeatPlan} from "../../src/sampling/repeat-plan.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres} from "../../src/units/quantity.ts";
import {fieldOf, randomField, rectangleFt, ringOf} from "./make-field.ts";

beforeAll(loadGeos);

const box = (x: number, y: number, w: number, h: number): MultiPolygon => [
  [ringOf([x, y], [x + w, y], [x + w, y + h], [x, y + h])],
];

/** As a file holds it: to nine decimals of a degree, about a tenth of a millimetre. */
const asFiled = ({units}: SamplingPlan): EarlierUnit[] => {
  const round = ({x, y}: XY): XY => ({x: Math.round(x * 1e4) / 1e4, y: Math.round(y * 1e4) / 1e4});
  return units.map(({id, label, shape, cores}) => ({
    id,
    label,
    shape: shape.map((polygon) => polygon.map((ring) => ring.map(round))),
    cores: cores.map(round),
  }));
};

describe("a plan sampled again", () => {
  const field = fieldOf(rectangleFt(1320, 1320), "Forty");
  let first: SamplingPlan;
  let earlier: EarlierUnit[];
  beforeAll(() => {
    first = planGrid(field, {prefix: "FT", seed: 4});
    earlier = asFiled(first);
  });

  it("has the same ids, labels and places, whatever its seed, prefix and number of cores", () => {
    const again = repeatPlan(field, "grid", earlier, {prefix: "ZZ", seed: 99, cores: 3});
    expect(again.units.map(({id, label}) => [id, label])).toEqual(first.units.map(({id, label}) => [id, label]));
    again.units.forEach(({cores, area}, i) => {
      expect(cores.map(({x, y}) => ({x, y}))).toEqual(earlier[i]?.cores);
      expect(area / (first.units[i]?.area ?? 0)).toBeCloseTo(1, 6);
    });
    expect(again.issues.find(({code}) => code === "sampling/repeated")?.message).toMatch(
      /^16 units .* the same places/,
    );
    expect(again.issues.some(({code}) => code === "sampling/core-moved")).toBe(false);
  });

  it("moves only cores whose place is now in a keep-out, as little as may be, and says so", () => {
    const shed = makeKeepOut("shed", {polygons: box(20, 20, 60, 60)}, metres(0));
    const again = repeatPlan(field, "grid", earlier, {keepOuts: [shed]});
    const moved = new Map<string, number>();
    again.units.forEach(({id, cores, shape}, i) => {
      cores.forEach((core, k) => {
        const before = earlier[i]?.cores[k] as XY;
        const far = distanceM(core, before);
        expect(contains(shed.shape, core.x, core.y)).toBe(false);
        expect(contains(shape, core.x, core.y)).toBe(true);
        if (!contains(shed.shape, before.x, before.y)) expect(far).toBe(0);
        else {
          moved.set(id, (moved.get(id) ?? 0) + 1);
          // By hand: the nearest side, and a foot beyond it.
          const {x, y} = before;
          const out = Math.min(x - 20, 80 - x, y - 20, 80 - y) + METRES_PER_FOOT;
          expect(far).toBeLessThan(out + 0.5);
        }
      });
    });
    expect(moved.size).toBeGreaterThan(0);
    const said = again.issues.find(({code}) => code === "sampling/core-moved")?.message ?? "";
    for (const [id, count] of moved) expect(said).toContain(`${id} ${count} of 10`);
  });

  it("keeps its bags through three cycles", () => {
    const third = repeatPlan(field, "grid", asFiled(repeatPlan(field, "grid", earlier)));
    expect(third.units.map(({id}) => id)).toEqual(first.units.map(({id}) => id));
    expect(third.units.flatMap(({cores}) => cores)).toEqual(
      repeatPlan(field, "grid", earlier).units.flatMap(({cores}) => cores),
    );
  });

  it("gives new ground to the unit beside it and leaves out units that are gone, saying both", () => {
    // Ten acres bought to the north, and the south-west forty-rod strip sold.
    const ft = METRES_PER_FOOT;
    const grown = fieldOf(box(0, 0, 1320 * ft, 1650 * ft), "Forty");
    const again = repeatPlan(grown, "grid", earlier);
    expect(again.units.reduce((sum, {area}) => sum + area, 0) / SQUARE_METRES_PER_ACRE).toBeCloseTo(50, 5);
    expect(again.issues.find(({code}) => code === "sampling/unit-changed")?.message).toMatch(/2\.5 ac to \d+\.\d ac/);
    const shrunk = fieldOf(box(330 * ft, 0, 990 * ft, 1320 * ft), "Forty");
    const fewer = repeatPlan(shrunk, "grid", earlier);
    expect(fewer.units).toHaveLength(12);
    expect(fewer.issues.find(({code}) => code === "sampling/unit-gone")?.message).toMatch(/^Outside the field now/);
  });

  it("takes second bags with ids no unit had", () => {
    const again = repeatPlan(field, "grid", earlier, {prefix: "FT", duplicates: 2});
    const ids = [...again.units, ...(again.duplicates ?? [])].map(({id}) => id);
    expect(ids).toHaveLength(18);
    expect(new Set(ids).size).toBe(18);
  });

  it("is refused for another field or two units of one id", () => {
    const far = fieldOf(box(9000, 9000, 100, 100), "Far");
    for (const [where, units] of [
      [far, earlier],
      [field, [...earlier, ...earlier]],
    ] as const) {
      expect(() => repeatPlan(where, "grid", units)).toThrow(expect.objectContaining({code: "sampling/repeat"}));
    }
  });

  it("tiles fields of any shape from the rounded file", () => {
    for (let seed = 0; seed < 12; seed++) {
      const odd = fieldOf(randomField(seededRandom(seed, "repeat")));
      const plan = planGrid(odd, {seed});
      const again = repeatPlan(odd, "grid", asFiled(plan));
      expect(again.units.map(({id}) => id)).toEqual(plan.units.map(({id}) => id));
      expect(
        coverageIsValid(
          again.units.flatMap(({shape}) => shape),
          0.01,
        ),
      ).toBe(true);
      expect(again.units.reduce((sum, {area}) => sum + area, 0) / areaM2(odd.outline)).toBeCloseTo(1, 8);
    }
  });
});
