import {beforeAll, describe, expect, it} from "vitest";
import type {Field} from "../../src/geo/field.ts";
import {coverageIsValid, invalidReason, loadGeos} from "../../src/geo/geos.ts";
import {areaM2, contains, distanceM, distanceToEdgeM} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {planZones} from "../../src/sampling/by-zone.ts";
import {startSpacingM} from "../../src/sampling/place-cores.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {planWholeField} from "../../src/sampling/whole-field.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {squareMetres} from "../../src/units/quantity.ts";
import {bandedZones, fieldOf, randomField, ringOf} from "./make-field.ts";

beforeAll(loadGeos);

const FIELDS = 60;
const keepOut: MultiPolygon = [[ringOf([50, 80], [130, 80], [130, 200], [50, 200])]];

const cases = Array.from({length: FIELDS}, (_, seed) => ({seed}));

describe.each(cases)("all plans of random field $seed", ({seed}) => {
  let field: Field;
  let plans: SamplingPlan[];
  const makePlans = (): SamplingPlan[] => {
    const zones = bandedZones(field);
    const acres = (n: number) => squareMetres(n * SQUARE_METRES_PER_ACRE);
    return [
      planWholeField(field, {seed, keepOut: seed % 2 === 0 ? keepOut : []}),
      planGrid(field, {seed, keepOut: seed % 2 === 0 ? keepOut : []}),
      planGrid(field, {seed, pattern: "point", heading: seed * 7, lengthToWidth: 2, cellArea: acres(4)}),
      planZones(field, zones, {seed, maxArea: acres(seed % 3 === 0 ? 10 : 40), piecesApart: seed % 2 === 0}),
    ];
  };
  beforeAll(() => {
    field = fieldOf(randomField(seededRandom(seed, "sampling test fields")));
    plans = makePlans();
  });

  it("put every acre in exactly one unit", () => {
    for (const plan of plans) {
      const pieces = plan.units.flatMap((unit) => unit.shape);
      // Not 0.1 m: near an acute notch of the boundary the ground outside is itself a gap that narrow.
      expect(coverageIsValid(pieces, 0.01), plan.strategy).toBe(true);
      const sum = plan.units.reduce((total, unit) => total + unit.area, 0);
      // Corners are rounded to 60 nm, which moves 800 m of edge by at most some 5e-5 m².
      expect(Math.abs(sum / areaM2(field.outline) - 1)).toBeLessThan(1e-9);
      for (const unit of plan.units) {
        expect(invalidReason(unit.shape)).toBeUndefined();
        expect(unit.area).toBe(areaM2(unit.shape));
      }
    }
  });

  it("leave no hair-thin pieces", () => {
    for (const plan of plans) {
      for (const piece of plan.units.flatMap((unit) => unit.shape)) expect(areaM2([piece])).toBeGreaterThan(1e-4);
    }
  });

  it("put cores inside their unit, off its edge, outside holes and keep-outs", () => {
    for (const plan of plans) {
      const out = plan.madeFrom.options.keepOut as MultiPolygon;
      for (const unit of plan.units) {
        if (unit.cores.length === 0) {
          expect(plan.issues.some(({code, message}) => code === "sampling/no-room" && message.includes(unit.id))).toBe(
            true,
          );
          continue;
        }
        expect(unit.cores.map((core) => core.number)).toEqual(unit.cores.map((_, i) => i + 1));
        expect(unit.cores.length).toBe(plan.madeFrom.options.cores);
        for (const core of unit.cores) {
          expect(contains(unit.shape, core.x, core.y)).toBe(true);
          expect(contains(field.outline, core.x, core.y)).toBe(true);
          expect(contains(out, core.x, core.y)).toBe(false);
          // A round buffer is drawn with 8 sides to a quarter: up to 1 - cos(5.625°) = 0.5 % nearer at corners.
          expect(distanceToEdgeM(unit.shape, core)).toBeGreaterThan((unit.edge as number) * 0.994);
        }
      }
    }
  });

  it("space cores as wanted or say that they do not", () => {
    for (const plan of plans) {
      const reported = plan.issues.find(({code}) => code === "sampling/spacing-reduced")?.message ?? "";
      for (const unit of plan.units) {
        if (unit.cores.length < 2) continue;
        let least = Infinity;
        unit.cores.forEach((a, i) => {
          for (const b of unit.cores.slice(i + 1)) least = Math.min(least, distanceM(a, b));
        });
        expect(unit.spacing).toBe(least);
        // A plan that reports nothing keeps the spacing of the unit's room, which is at least a third of its open ground.
        const open = (unit.area - (unit.keptOut ?? 0)) / 3;
        if (reported === "" && unit.centre === undefined) {
          expect(least).toBeGreaterThanOrEqual(startSpacingM(open, unit.cores.length));
        }
      }
    }
  });

  it("give ids that are short, plain and unique over the strategies", () => {
    const ids = [plans[0], plans[1], plans[3]].flatMap((plan) => (plan as SamplingPlan).units.map((unit) => unit.id));
    expect(new Set(ids).size).toBe(ids.length);
    for (const id of ids) expect(id).toMatch(/^[A-HJ-NP-Z]{1,3}[WGZ]\d{2,3}$/);
  });

  if (seed % 6 === 0) {
    it("are the same bytes for the same seed", () => {
      expect(JSON.stringify(makePlans())).toBe(JSON.stringify(plans));
    });
  }
});
