import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {contains, distanceM} from "../../src/geo/measure.ts";
import type {MultiPolygon, Polygon, Ring, XY} from "../../src/geo/shapes.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {type KeepOut, makeKeepOut} from "../../src/sampling/keep-outs.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {findRoutes, resolveRoute} from "../../src/sampling/route.ts";
import {prepareGround} from "../../src/sampling/travel.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {metres} from "../../src/units/quantity.ts";
import {fieldOf, rectangleFt, ringOf} from "./make-field.ts";

beforeAll(loadGeos);

const box = (x: number, y: number, w: number, h: number): MultiPolygon => [
  [ringOf([x, y], [x + w, y], [x + w, y + h], [x, y + h])],
];
const open = {obstacles: [] as MultiPolygon, rowAngle: 0, crossing: 1};
const at = (x: number, y: number): XY => ({x, y});

/** Metres of a line inside a shape, by small steps. */
function metresInside(shape: MultiPolygon, line: readonly XY[]): number {
  let inside = 0;
  line.slice(1).forEach((to, i) => {
    const from = line[i] as XY;
    const steps = Math.ceil(distanceM(from, to) / 0.25);
    for (let k = 0; k < steps; k++) {
      const share = (k + 0.5) / steps;
      const [x, y] = [from.x + (to.x - from.x) * share, from.y + (to.y - from.y) * share];
      if (contains(shape, x, y)) inside += distanceM(from, to) / steps;
    }
  });
  return inside;
}

describe("the way between two places", () => {
  it("is straight where nothing stands, and costs more across the rows", () => {
    const ways = prepareGround({...open, crossing: 3})([at(0, 0), at(40, 0), at(0, 10)]);
    expect(ways.cost(0, 1)).toBeCloseTo(40, 9);
    expect(ways.cost(0, 2)).toBeCloseTo(30, 9);
    expect(ways.cost(1, 2)).toBeCloseTo(50, 9); // by hand: 40 along, 3 · 10 across
    expect(ways.line(0, 1)).toEqual([at(0, 0), at(40, 0)]);
  });

  it("goes round a wall by its corners", () => {
    // A wall 10 m thick and 200 m high between two places 200 m apart: up 100 m and down again, both at an angle.
    const wall = box(-5, -100, 10, 200);
    const ways = prepareGround({...open, obstacles: wall})([at(-100, 0), at(100, 0)]);
    const byHand = 2 * Math.hypot(95, 100) + 10;
    // The way keeps 2 m off, which adds a few metres and never more than 2 · 2 · √2 + 4.
    expect(ways.cost(0, 1)).toBeGreaterThan(byHand);
    expect(ways.cost(0, 1)).toBeLessThan(byHand + 9.7);
    expect(metresInside(wall, ways.line(0, 1))).toBe(0);
    expect(ways.line(1, 0)).toEqual(ways.line(0, 1).toReversed());
  });

  it("follows the bend of a waterway, leaves a courtyard by its gap, and says when there is none", () => {
    const court = (gap: number): MultiPolygon => [
      [
        ringOf(
          [0, 0],
          [100, 0],
          [100, 100],
          [50 + gap, 100],
          [50 + gap, 90],
          [90, 90],
          [90, 10],
          [10, 10],
          [10, 90],
          [50, 90],
          [50, 100],
          [0, 100],
        ),
      ],
    ];
    const places = [at(50, 50), at(50, -50)];
    const ways = prepareGround({...open, obstacles: court(10)})(places);
    expect(ways.isBlocked(0, 1)).toBe(false);
    expect(metresInside(court(10), ways.line(0, 1))).toBe(0);
    // Up to the gap, over the wall's corner and down along a side: at least 50 + 50 + 150 m.
    expect(ways.cost(0, 1)).toBeGreaterThan(230);
    expect(prepareGround({...open, obstacles: court(3)})(places).isBlocked(0, 1)).toBe(true);
  });

  it("stays in an L and goes round a hole when it may not leave the field", () => {
    const el: MultiPolygon = [[ringOf([0, 0], [300, 0], [300, 100], [100, 100], [100, 300], [0, 300])]];
    const inside = prepareGround({...open, within: el})([at(50, 250), at(250, 50)]);
    const outside = prepareGround(open)([at(50, 250), at(250, 50)]);
    // Straight the way is 200√2 m and leaves the field; inside it bends at the inner corner, which it passes at 2 m.
    expect(outside.cost(0, 1)).toBeCloseTo(200 * Math.SQRT2, 9);
    expect(inside.cost(0, 1)).toBeGreaterThan(2 * Math.hypot(50, 150));
    expect(inside.cost(0, 1)).toBeLessThan(2 * Math.hypot(50, 150) + 4);
    const hole = (box(20, 20, 60, 60)[0] as Polygon)[0] as Ring;
    const ring = [[(el[0] as Polygon)[0] as Ring, hole]];
    const round = prepareGround({...open, within: ring})([at(10, 50), at(90, 50)]);
    // Straight it would be 80 m through the hole.
    expect(round.cost(0, 1)).toBeGreaterThan(2 * Math.hypot(10, 30) + 60);
    expect(metresInside([[hole]], round.line(0, 1))).toBe(0);
  });

  it("takes obstacles that overlap as one, inside the field too", () => {
    const cross = [...box(-5, -100, 10, 200), ...box(-100, -5, 200, 10)];
    for (const within of [undefined, box(-150, -150, 300, 300)]) {
      const ways = prepareGround({...open, obstacles: cross, within})([at(-50, 50), at(50, 50), at(50, -50)]);
      // Over the upper end of the cross, by hand √(45² + 50²) twice and its width.
      expect(ways.cost(0, 1)).toBeGreaterThan(2 * Math.hypot(45, 50) + 10);
      expect(ways.cost(0, 1)).toBeLessThan(2 * Math.hypot(45, 50) + 10 + 9.7);
      for (const [a, b] of [
        [0, 1],
        [0, 2],
        [1, 2],
      ] as const) {
        for (const part of cross) expect(metresInside([part], ways.line(a, b))).toBe(0);
      }
    }
  });

  it("is a true distance: no shorter over a third place", () => {
    const obstacles = [...box(-5, -100, 10, 200), ...box(60, -20, 80, 15)];
    const random = seededRandom(3, "travel");
    const places = Array.from({length: 25}, () => at(400 * random.next() - 200, 400 * random.next() - 200)).filter(
      ({x, y}) => !contains(obstacles, x, y),
    );
    const ways = prepareGround({...open, obstacles, rowAngle: 0.4, crossing: 2})(places);
    for (let a = 0; a < places.length; a++) {
      for (let b = 0; b < places.length; b++) {
        expect(ways.cost(a, b)).toBe(ways.cost(b, a));
        for (let c = 0; c < places.length; c++) {
          // Corners are kept 2 m off: a place nearer than that to a corner may cut it by a few metres.
          expect(ways.cost(a, b)).toBeLessThanOrEqual(ways.cost(a, c) + ways.cost(c, b) + 12);
        }
      }
    }
  });
});

describe("the order of bags", () => {
  const finder = (rows: number | undefined, crossing: number | undefined, obstacles: MultiPolygon = []) =>
    findRoutes(box(0, 0, 800, 800), obstacles, resolveRoute({rows, crossing}, false), null, 1);
  const grid = Array.from({length: 36}, (_, i) => at(50 + (i % 6) * 100, 50 + Math.floor(i / 6) * 100));

  it("runs along the rows: with rows to the east steps across them are as few as can be", () => {
    for (const [rows, across] of [
      [90, "y"],
      [0, "x"],
    ] as const) {
      const order = finder(rows, 3).order(grid);
      const turns = order.slice(1).filter((stop, i) => grid[stop]?.[across] !== grid[order[i] as number]?.[across]);
      expect(turns, `rows at ${rows}°`).toHaveLength(5);
    }
  });

  it("visits one side of a ditch and then the other", () => {
    // A ditch through the middle with one crossing at its east end: crossed once and not again.
    const ditch = box(-50, 298, 620, 4);
    const order = finder(undefined, undefined, ditch).order(grid);
    const sides = order.map((stop) => (grid[stop] as XY).y > 300);
    expect(sides.slice(1).filter((side, i) => side !== sides[i])).toHaveLength(1);
  });

  it("begins and ends at the gate", () => {
    const gate = at(0, 800);
    const route = findRoutes(box(0, 0, 800, 800), [], resolveRoute({}, true), gate, 1);
    const order = route.order(grid);
    // By hand: a round over 36 places of a lattice and a gate off its corner: 36 steps, one replaced by two legs.
    const stops = [gate, ...order.map((i) => grid[i] as XY), gate];
    const {lengthM, blocked} = route.lineThrough(stops);
    const legs = [...grid].map((p) => distanceM(p, gate)).sort((a, b) => a - b);
    expect(lengthM).toBeLessThanOrEqual(35 * 100 + (legs[0] as number) + (legs[1] as number) + 1e-6);
    expect(blocked).toEqual([]);
  });
});

describe("a plan with a route", () => {
  const field = fieldOf(rectangleFt(2640, 2640));
  const gate = at(400, -5);
  let ditch: KeepOut;
  let plan: SamplingPlan;
  beforeAll(() => {
    ditch = makeKeepOut("ditch", {lines: [[at(-20, 400), at(640, 420)]]}, metres(3), false);
    plan = planGrid(field, {keepOuts: [ditch], start: gate, route: {rows: 90}});
  });

  it("numbers bags and cores along it, past every core, never through what cannot be crossed", () => {
    expect(plan.units.map(({id}) => id)).toEqual(plan.units.map((_, i) => `TFG${String(i + 1).padStart(2, "0")}`));
    const line = plan.route?.line ?? [];
    let next = 0;
    for (const {x, y} of plan.units.flatMap(({cores}) => cores)) {
      next = line.findIndex((p, i) => i >= next && p.x === x && p.y === y);
      expect(next).toBeGreaterThanOrEqual(0);
    }
    expect(metresInside(ditch.shape, line)).toBeLessThan(1e-9);
    expect(line[0]).toEqual(gate);
    expect(line.at(-1)).toEqual(gate);
    expect(plan.route?.returns).toBe(true);
  });

  it("is as long as its line and says how long it takes", () => {
    const line = plan.route?.line ?? [];
    const length = line.slice(1).reduce((sum, p, i) => sum + distanceM(line[i] as XY, p), 0);
    expect(plan.walk).toBeCloseTo(length, 6);
    expect(plan.issues.find(({code}) => code === "sampling/time")?.message).toMatch(
      /mi from bag to bag .* \(assumed\)/,
    );
    expect(plan.issues.some(({code}) => code === "sampling/no-way")).toBe(false);
  });

  it("warns where there is no way round", () => {
    const through = makeKeepOut("ditch", {lines: [[at(-20, 400), at(900, 420)]]}, metres(3), false);
    const cut = planGrid(field, {keepOuts: [through], start: gate, route: {insideField: true}});
    expect(cut.issues.find(({code}) => code === "sampling/no-way")?.severity).toBe("warning");
  });

  it("keeps every acre in a unit and the same units as without", () => {
    const plain = planGrid(field, {keepOuts: [ditch]});
    const labels = (p: typeof plan) => p.units.map(({label, area}) => `${label} ${area}`).sort();
    expect(labels(plan)).toEqual(labels(plain));
  });

  it.each([[0.5], [30], [Number.NaN]])("refuses rows that cost %f", (crossing) => {
    expect(() => planGrid(field, {route: {rows: 90, crossing}})).toThrow(
      expect.objectContaining({code: "sampling/crossing"}),
    );
  });
});
