import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {contains, distanceM, distanceToEdgeM} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {validationSet} from "../../src/sampling/validation-set.ts";
import {planWholeField} from "../../src/sampling/whole-field.ts";
import {METRES_PER_FOOT} from "../../src/units/factors.ts";
import {metres} from "../../src/units/quantity.ts";
import {fieldOf, rectangleFt, ringOf} from "./make-field.ts";

beforeAll(loadGeos);

const field = fieldOf(rectangleFt(2640, 2640), "Quarter");
const options = {depth: metres(0.2032), seed: 1};

describe("validation bags", () => {
  let plans: SamplingPlan[];
  beforeAll(() => {
    plans = [planWholeField(field), planGrid(field, {pattern: "point"})];
  });

  it("are 12 with ids of their own, each with 8 cores within 15 ft", () => {
    const {bags, issues} = validationSet(field, plans, options);
    expect(bags.map(({id}) => id)).toEqual(Array.from({length: 12}, (_, i) => `QUAV${String(i + 1).padStart(2, "0")}`));
    for (const {centre, cores} of bags) {
      expect(cores.map(({number}) => number)).toEqual([1, 2, 3, 4, 5, 6, 7, 8]);
      for (const core of cores) expect(distanceM(core, centre)).toBeLessThanOrEqual(15 * METRES_PER_FOOT + 1e-9);
    }
    const ids = new Set(plans.flatMap(({units}) => units.map(({id}) => id)));
    expect(bags.some(({id}) => ids.has(id))).toBe(false);
    expect(issues[0]?.message).toMatch(/^12 validation bags, each at a random place of 12\.3 ac, at least 15\.?0? ft/);
  });

  it("stand outside every core circle, off the edge and outside keep-outs", () => {
    const keepOut: MultiPolygon = [[ringOf([100, 100], [400, 100], [400, 300], [100, 300])]];
    for (let seed = 0; seed < 20; seed++) {
      for (const {centre, cores} of validationSet(field, plans, {...options, seed, keepOut, count: 16}).bags) {
        for (const core of plans.flatMap(({units}) => units.flatMap((unit) => unit.cores))) {
          expect(distanceM(core, centre)).toBeGreaterThanOrEqual(15 * METRES_PER_FOOT);
        }
        expect(distanceToEdgeM(field.outline, centre)).toBeGreaterThanOrEqual(50 * METRES_PER_FOOT - 1e-6);
        for (const {x, y} of [centre, ...cores]) expect(contains(keepOut, x, y)).toBe(false);
      }
    }
  });

  it("fall anywhere with one chance: a quarter of them in each quarter of the field, evenly within", () => {
    // 16 bags of equal parts of a square: 4 to a quarter each time; within their part they are uniform, so over 60 seeds
    // the mean place is the middle within 4 standard errors (a part is 180 m wide: 180/√12/√960 = 1.7 m).
    let [sumX, sumY, n] = [0, 0, 0];
    for (let seed = 0; seed < 60; seed++) {
      const {bags} = validationSet(field, [], {...options, seed, count: 16});
      const quarters = [0, 0, 0, 0];
      for (const {centre} of bags) {
        quarters[(centre.x < 402.336 ? 0 : 1) + (centre.y < 402.336 ? 0 : 2)]!++;
        sumX += centre.x;
        sumY += centre.y;
        n++;
      }
      expect(quarters).toEqual([4, 4, 4, 4]);
    }
    expect(Math.abs(sumX / n - 402.336)).toBeLessThan(6.8);
    expect(Math.abs(sumY / n - 402.336)).toBeLessThan(6.8);
  });

  it("under ten say that they rank nothing", () => {
    const [issue] = validationSet(field, plans, {...options, count: 6}).issues;
    expect(issue?.severity).toBe("warning");
    expect(issue?.message).toContain("rank nothing");
  });

  it("are the same for the same seed, and carry check characters when asked", () => {
    expect(validationSet(field, plans, options)).toEqual(validationSet(field, plans, options));
    const {bags} = validationSet(field, plans, {...options, checkCharacter: true});
    for (const {id} of bags) expect(id).toMatch(/^QUAV\d\d[0-9A-HJ-NP-Z]$/);
  });

  it("cannot be 3, 61 or stand where nothing is left", () => {
    for (const bad of [{count: 3}, {count: 61}, {fieldEdge: metres(500)}]) {
      expect(() => validationSet(field, plans, {...options, ...bad})).toThrow(
        expect.objectContaining({code: "sampling/validation"}),
      );
    }
  });
});
