import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {areaM2, contains, distanceM} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {coreRoomsOf} from "../../src/sampling/core-room.ts";
import {leastSpacingM, placeCores, startSpacingM} from "../../src/sampling/place-cores.ts";
import {planWholeField} from "../../src/sampling/whole-field.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {fieldOf, rectangleFt, ringOf} from "./make-field.ts";

beforeAll(loadGeos);

const ft = (n: number) => n * METRES_PER_FOOT;

describe("core places", () => {
  it("start half a stratum's side apart: 47.6 ft for 12 cores on 2.5 ac", () => {
    // By hand: 0.5 · √(108,900 ft² / 12).
    expect(startSpacingM(2.5 * SQUARE_METRES_PER_ACRE, 12) / METRES_PER_FOOT).toBeCloseTo(47.63, 2);
  });

  it("fall one in each equal part, so that 16 cores on a square fall 4 to a quarter", () => {
    const room: MultiPolygon = [[ringOf([0, 0], [100, 0], [100, 100], [0, 100])]];
    for (let seed = 0; seed < 50; seed++) {
      const cores = placeCores(room, 16, 0, seededRandom(seed, "cores"));
      const quarters = [0, 0, 0, 0];
      for (const core of cores) quarters[(core.x < 50 ? 0 : 1) + (core.y < 50 ? 0 : 2)]!++;
      expect(quarters).toEqual([4, 4, 4, 4]);
    }
  });

  it("keep their spacing nearly always", () => {
    const room: MultiPolygon = [[ringOf([0, 0], [100, 0], [100, 100], [0, 100])]];
    const kept = Array.from({length: 200}, (_, seed) => {
      return leastSpacingM(placeCores(room, 15, 0, seededRandom(seed, "cores"))) >= startSpacingM(10_000, 15);
    });
    expect(kept.filter(Boolean).length).toBeGreaterThan(190);
  });

  it("give way to a room that is too narrow for the spacing, and end", () => {
    const thread: MultiPolygon = [
      [ringOf([0, 0], [2000, 0], [2000, 0.5], [0, 0.5])],
      [ringOf([0, 9], [1, 9], [1, 10], [0, 10])],
    ];
    expect(placeCores(thread, 40, 0, seededRandom(1, "cores"))).toHaveLength(40);
  });

  it("are spread evenly over the room", () => {
    // 4,000 single cores in an L of three 10 m squares: each square gets a third, within 4 standard errors (0.0075).
    const room: MultiPolygon = [[ringOf([0, 0], [20, 0], [20, 10], [10, 10], [10, 20], [0, 20])]];
    const random = seededRandom(7, "cores");
    const cores = Array.from({length: 4000}, () => placeCores(room, 1, 0, random)[0] ?? {x: -1, y: -1});
    for (const core of cores) expect(contains(room, core.x, core.y)).toBe(true);
    const share = (east: boolean, north: boolean): number =>
      cores.filter((core) => core.x > 10 === east && core.y > 10 === north).length / 4000;
    for (const s of [share(false, false), share(true, false), share(false, true)]) {
      expect(Math.abs(s - 1 / 3)).toBeLessThan(0.03);
    }
  });
});

describe("room for cores", () => {
  const outline = rectangleFt(1000, 1000);

  it("keeps 30 ft from the unit's edge and 50 ft from the field's", () => {
    const unit = [[ringOf([0, 0], [ft(500), 0], [ft(500), ft(1000)], [0, ft(1000)])]];
    const room = coreRoomsOf(outline, ft(30), ft(50), [])(unit);
    // By hand: 500 − 50 − 30 = 420 ft by 1000 − 2 · 50 = 900 ft.
    expect(areaM2(room.shape) / METRES_PER_FOOT ** 2).toBeCloseTo(420 * 900, 3);
    expect(room.kept).toBe(1);
  });

  it("halves the distances in a strip where they would leave less than a third", () => {
    const strip = [[ringOf([0, 0], [ft(1000), 0], [ft(1000), ft(100)], [0, ft(100)])]];
    // 30 + 50 ft leave 20 of 100 ft; 15 + 25 ft leave 60.
    const room = coreRoomsOf(outline, ft(30), ft(50), [])(strip);
    expect(room.kept).toBe(0.5);
    expect(room.edgeM).toBeCloseTo(ft(15), 12);
  });

  it("is none where a keep-out covers the unit, which the plan reports", () => {
    const keepOut: MultiPolygon = [[ringOf([-10, -10], [ft(600), -10], [ft(600), 400], [-10, 400])]];
    const unit = [[ringOf([0, 0], [ft(500), 0], [ft(500), ft(1000)], [0, ft(1000)])]];
    const room = coreRoomsOf(outline, ft(30), ft(50), keepOut)(unit);
    expect(room.shape).toEqual([]);
    // Corners of an overlay stand on a grid of 60 nm: 900 m of edge move an area by less than 5e-5 m².
    expect(room.keptOutM2).toBeCloseTo(areaM2(unit), 4);
    const plan = planWholeField(fieldOf(outline), {
      keepOut: [[ringOf([-10, -10], [400, -10], [400, 400], [-10, 400])]],
    });
    expect(plan.issues.find(({code}) => code === "sampling/no-room")?.severity).toBe("error");
    expect(plan.units[0]?.cores).toEqual([]);
  });

  it("takes keep-outs that overlap or cross themselves", () => {
    const bow = ringOf([0, 0], [ft(300), ft(300)], [ft(300), 0], [0, ft(300)]);
    const keepOut: MultiPolygon = [[bow], [bow], [ringOf([0, 0], [ft(200), 0], [ft(200), ft(200)], [0, ft(200)])]];
    const plan = planWholeField(fieldOf(outline), {keepOut});
    for (const core of plan.units[0]?.cores ?? []) {
      expect(core.x < ft(200) && core.y < ft(200)).toBe(false);
    }
    expect(plan.units[0]?.cores).toHaveLength(20);
  });
});

describe("the walk", () => {
  it("goes on from unit to unit and numbers the cores as it goes", () => {
    const plan = planWholeField(fieldOf(rectangleFt(2640, 2640)), {start: {x: 0, y: 0}});
    let length = 0;
    let here = {x: 0, y: 0};
    for (const core of plan.units.flatMap((unit) => unit.cores)) {
      length += distanceM(here, core);
      here = core;
    }
    expect(plan.walk).toBeCloseTo(length, 6);
  });
});
