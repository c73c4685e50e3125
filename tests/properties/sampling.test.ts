import {beforeAll, describe, expect, it} from "vitest";
import type {Field} from "../../src/geo/field.ts";
import {buffer, coverageIsValid, difference, invalidReason, loadGeos, union} from "../../src/geo/geos.ts";
import {pointAt} from "../../src/geo/half-plane.ts";
import {areaM2, boxOf, contains, distanceM, distanceToEdgeM} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {planPoints} from "../../src/sampling/by-points.ts";
import {planZones} from "../../src/sampling/by-zone.ts";
import {makeKeepOut} from "../../src/sampling/keep-outs.ts";
import {startSpacingM} from "../../src/sampling/place-cores.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {repeatPlan} from "../../src/sampling/repeat-plan.ts";
import {validationSet} from "../../src/sampling/validation-set.ts";
import {planWholeField} from "../../src/sampling/whole-field.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {hasGoodCheck} from "../../src/units/check-character.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {bandedZones, fieldOf, randomField} from "../sampling/make-field.ts";
import {edgeFaults} from "./edge-use.ts";

beforeAll(loadGeos);

/** All 500 in the reference suite; some two minutes of work. */
const FIELDS = process.env.LOAMWRIGHT_REFERENCE ? 500 : 120;

const acres = (n: number) => squareMetres(n * SQUARE_METRES_PER_ACRE);

/** One plan of every kind, with keep-outs, routes and second bags on some fields. */
function makePlans(field: Field, seed: number): SamplingPlan[] {
  const random = seededRandom(seed, "sampling property points");
  const {west, south} = boxOf(field.outline);
  const anywhere = () => pointAt(field.outline.flat(), random.next(), random.next());
  const yard = makeKeepOut("yard", {points: [anywhere()]}, metres(20 + 40 * random.next()));
  const ditch = makeKeepOut("ditch", {lines: [[anywhere(), anywhere()]]}, metres(4), false);
  const keepOuts = seed % 2 === 0 ? [yard, ditch] : [];
  const routed = seed % 3 === 0;
  const shared = {
    seed,
    keepOuts,
    ...(routed && {route: {rows: seed * 11, insideField: seed % 2 === 1}, start: {x: west, y: south}}),
    ...(seed % 4 === 1 && {checkCharacter: true, duplicates: 2}),
  };
  const points = Array.from({length: 2 + random.integer(12)}, anywhere).filter(
    (p, i, all) => all.findIndex((q) => distanceM(p, q) < 1) === i,
  );
  const layout = (["aligned", "staggered", "unaligned"] as const)[seed % 3];
  const grid = planGrid(field, shared);
  return [
    planWholeField(field, shared),
    grid,
    planGrid(field, {...shared, pattern: "point", layout, heading: seed * 7, lengthToWidth: 2, cellArea: acres(4)}),
    planZones(field, bandedZones(field), {
      ...shared,
      maxArea: acres(seed % 3 === 0 ? 10 : 40),
      piecesApart: seed % 2 === 0,
      placement: seed % 5 === 0 ? "line" : "area",
    }),
    planPoints(field, points, {...shared, pattern: seed % 2 === 0 ? "point" : "ground"}),
    repeatPlan(field, "grid", grid.units, {...shared, keepOuts: [yard]}),
  ];
}

const NAMES = ["whole field", "grid", "point grid", "zones", "own points", "repeat"];
const cases = Array.from({length: FIELDS}, (_, seed) => ({seed}));

describe.each(cases)("all plans of random field $seed", ({seed}) => {
  let field: Field;
  let plans: SamplingPlan[];
  const each = (check: (plan: SamplingPlan, name: string) => void): void => {
    plans.forEach((plan, i) => {
      check(plan, `${NAMES[i]} of field ${seed}`);
    });
  };
  const outOf = ({madeFrom}: SamplingPlan): MultiPolygon => madeFrom.options.keepOut as MultiPolygon;
  const isRepeat = (plan: SamplingPlan): boolean => plan === plans[5];
  beforeAll(() => {
    field = fieldOf(randomField(seededRandom(seed, "sampling test fields")));
    plans = makePlans(field, seed);
  });

  it("put every acre in exactly one unit, without hair-thin pieces", () => {
    each((plan, name) => {
      const pieces = plan.units.flatMap((unit) => unit.shape);
      // No wider: between parts of a field and at acute notches the ground outside is itself a gap of a centimetre.
      expect(coverageIsValid(pieces, 0.001), name).toBe(true);
      expect(edgeFaults(pieces, field.outline), name).toEqual([]);
      const sum = plan.units.reduce((total, unit) => total + unit.area, 0);
      // Corners are rounded to 60 nm, which moves 800 m of edge by at most some 5e-5 m².
      expect(Math.abs(sum / areaM2(field.outline) - 1), name).toBeLessThan(1e-9);
      for (const unit of plan.units) {
        expect(invalidReason(unit.shape), name).toBeUndefined();
        expect(unit.area).toBe(areaM2(unit.shape));
      }
      for (const piece of pieces) expect(areaM2([piece]), name).toBeGreaterThan(1e-4);
    });
  });

  it("put cores inside their unit, off its edge, outside holes and keep-outs", () => {
    each((plan, name) => {
      const out = outOf(plan);
      for (const unit of plan.units) {
        if (unit.cores.length === 0) {
          const said = plan.issues.find(({code}) => code === "sampling/no-room")?.message ?? "";
          expect(said.includes(unit.id) || said.includes("more"), name).toBe(true);
          continue;
        }
        expect(unit.cores.map((core) => core.number)).toEqual(unit.cores.map((_, i) => i + 1));
        const taken = [unit, ...(plan.duplicates ?? []).filter(({of}) => of === unit.id)];
        for (const {cores} of taken) {
          if (!isRepeat(plan)) expect(cores.length, name).toBe(plan.madeFrom.options.cores);
          for (const core of cores) {
            expect(contains(unit.shape, core.x, core.y), name).toBe(true);
            expect(contains(field.outline, core.x, core.y), name).toBe(true);
            expect(contains(out, core.x, core.y), name).toBe(false);
            if (isRepeat(plan)) continue;
            // A round buffer is drawn with 8 sides to a quarter: up to 1 - cos(5.625°) = 0.5 % nearer at corners.
            expect(distanceToEdgeM(unit.shape, core), name).toBeGreaterThan((unit.edge as number) * 0.994 - 1e-9);
          }
        }
      }
    });
  });

  it("space cores as wanted or say that they do not", () => {
    each((plan, name) => {
      const reported = plan.issues.some(({code}) => code === "sampling/spacing-reduced");
      for (const unit of plan.units) {
        if (unit.cores.length < 2) continue;
        let least = Infinity;
        unit.cores.forEach((a, i) => {
          for (const b of unit.cores.slice(i + 1)) least = Math.min(least, distanceM(a, b));
        });
        expect(unit.spacing, name).toBe(least);
        // A plan that reports nothing keeps the spacing of the unit's room, at least a third of its open ground.
        const open = (unit.area - (unit.keptOut ?? 0)) / 3;
        const spread = !isRepeat(plan) && unit.centre === undefined && unit.transect === undefined;
        if (!reported && spread) expect(least, name).toBeGreaterThanOrEqual(startSpacingM(open, unit.cores.length));
      }
    });
  });

  it("take nothing from a unit's acres for keep-outs", () => {
    each((plan, name) => {
      if (outOf(plan).length === 0) return;
      const lost = plan.units.reduce((sum, {keptOut = 0}) => sum + keptOut, 0);
      const inField = areaM2(field.outline) - areaM2(differenceOf(field.outline, outOf(plan)));
      expect(Math.abs(lost - inField), name).toBeLessThan(0.01 + 1e-6 * areaM2(field.outline));
      for (const {area, keptOut = 0, room = 0} of plan.units) {
        expect(keptOut, name).toBeLessThanOrEqual(area + 1e-6);
        expect(room, name).toBeLessThanOrEqual(area - keptOut + 1e-3);
      }
    });
  });

  it("give ids that are short, plain, unique over the strategies and, when asked, checkable", () => {
    const asked = plans[0]?.madeFrom.options.checkCharacter === true;
    const ids = [plans[0], plans[1], plans[3]].flatMap((plan) =>
      [...(plan?.units ?? []), ...(plan?.duplicates ?? [])].map(({id}) => id),
    );
    expect(new Set(ids).size).toBe(ids.length);
    for (const id of ids) {
      expect(id).toMatch(asked ? /^[A-HJ-NP-Z]{1,3}[WGZ]\d{2,3}[0-9A-HJ-NP-Z]$/ : /^[A-HJ-NP-Z]{1,3}[WGZ]\d{2,3}$/);
      if (asked) expect(hasGoodCheck(id)).toBe(true);
    }
    expect(plans[5]?.units.map(({id}) => id)).toEqual(plans[1]?.units.map(({id}) => id));
  });

  it("walk past all cores in the order of ids, never through what cannot be crossed but where they say so", () => {
    each((plan, name) => {
      const {route, walk = 0} = plan;
      if (!route) return;
      let next = 0;
      for (const {x, y} of plan.units.flatMap(({cores}) => cores)) {
        next = route.line.findIndex((p, i) => i >= next && p.x === x && p.y === y);
        expect(next, name).toBeGreaterThanOrEqual(0);
      }
      const length = route.line.slice(1).reduce((sum, p, i) => sum + distanceM(p, route.line[i] ?? p), 0);
      expect(walk, name).toBeCloseTo(length, 4);
    });
  });

  it("leave room for validation bags outside every core's circle", () => {
    const {bags} = validationSet(field, plans.slice(0, 2), {depth: metres(0.2), seed, count: 10});
    expect(new Set(bags.map(({id}) => id)).size).toBe(10);
    const inner = buffer(field.outline, -15.23);
    for (const {centre, cores} of bags) {
      expect(contains(inner, centre.x, centre.y)).toBe(true);
      for (const {x, y} of cores) expect(contains(field.outline, x, y)).toBe(true);
    }
  });

  if (seed % 6 === 0) {
    it("are the same bytes for the same seed", () => {
      expect(JSON.stringify(makePlans(field, seed))).toBe(JSON.stringify(plans));
    });
  }
});

function differenceOf(whole: MultiPolygon, out: MultiPolygon): MultiPolygon {
  return difference(whole, union(out.map((polygon) => [polygon])));
}
