import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, loadGeos} from "../../src/geo/geos.ts";
import {distanceM} from "../../src/geo/measure.ts";
import type {XY} from "../../src/geo/shapes.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {planZones} from "../../src/sampling/by-zone.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {bandedZones, fieldOf, rectangleFt, turned} from "./make-field.ts";

beforeAll(loadGeos);

const quarter = fieldOf(rectangleFt(2640, 2640));
const free = {edge: metres(0), fieldEdge: metres(0), cores: 1, pattern: "point"} as const;
const centresFt = ({units}: SamplingPlan): XY[] =>
  units.map(({centre}) => ({x: (centre?.x ?? 0) / METRES_PER_FOOT, y: (centre?.y ?? 0) / METRES_PER_FOOT}));

describe("grid sizes people ask for", () => {
  it("1 ac, 2.5 ac and 5 ac give the cells their square says", () => {
    // 160 ac: 208.71 ft go 12.65 times into 2640 ft, 330 ft 8 times, 466.69 ft 5.66 times.
    const sizes = [1, 2.5, 5].map((acres) => {
      const plan = planGrid(quarter, {cellArea: squareMetres(acres * SQUARE_METRES_PER_ACRE)});
      expect(plan.units.reduce((sum, {area}) => sum + area, 0) / SQUARE_METRES_PER_ACRE).toBeCloseTo(160, 6);
      expect(plan.issues.find(({code}) => code === "sampling/cell-count")?.message).toContain(
        `they are ${plan.units.length}.`,
      );
      return plan.units.length;
    });
    expect(sizes).toEqual([169, 64, 36]); // 13², 8², 6²: strips of 0.65 and 0.66 of a cell stay cells
  });

  it("cells along a heading turn with the rows", () => {
    const rows = planGrid(fieldOf(turned(rectangleFt(2640, 1320), 20)), {
      heading: 70,
      cellArea: squareMetres(2.5 * SQUARE_METRES_PER_ACRE),
    });
    expect(rows.units).toHaveLength(32);
  });
});

describe("a staggered grid", () => {
  it("of 2.5 ac with cells 1.1547 as long as wide makes triangles of 354.61 ft, lanes 307.10 ft apart", () => {
    const plan = planGrid(quarter, {...free, layout: "staggered", lengthToWidth: 2 / Math.sqrt(3)});
    const points = centresFt(plan).filter(({x, y}) => x > 800 && x < 1840 && y > 800 && y < 1840);
    expect(points.length).toBeGreaterThan(6);
    // Full cells away from the edge: two neighbours in the lane and two to either side, all at one distance.
    const all = centresFt(plan);
    for (const p of points) {
      const near = all.map((q) => distanceM(p, q)).filter((d) => d > 1 && d < 360);
      expect(near).toHaveLength(6);
      for (const d of near) expect(d).toBeCloseTo(354.61, 1);
    }
    const lanes = [...new Set(points.map(({y}) => Math.round(y * 10) / 10))].sort((a, b) => a - b);
    for (const [i, y] of lanes.slice(1).entries()) expect(y - (lanes[i] as number)).toBeCloseTo(307.1, 1);
  });

  it("shifts every other lane by half a cell whichever way the field runs, and tiles it", () => {
    for (const shape of [rectangleFt(2640, 1320), rectangleFt(1320, 2640), turned(rectangleFt(2640, 1320), 33)]) {
      const field = fieldOf(shape);
      const plan = planGrid(field, {...free, layout: "staggered"});
      expect(
        coverageIsValid(
          plan.units.flatMap((unit) => unit.shape),
          0.01,
        ),
      ).toBe(true);
      expect(plan.units.reduce((sum, {area}) => sum + area, 0) / field.area).toBeCloseTo(1, 9);
    }
    const north = centresFt(planGrid(fieldOf(rectangleFt(1320, 2640)), {...free, layout: "staggered"}));
    const lane = (x: number): number[] =>
      north.filter((p) => Math.abs(p.x - x) < 1 && p.y > 400 && p.y < 2200).map(({y}) => y);
    const [first, second] = [lane(165), lane(495)];
    const gap = Math.min(...first.map((y) => Math.abs(y - (second[0] as number))));
    expect(gap).toBeCloseTo(165, 6);
  });
});

describe("an unaligned grid", () => {
  let plan: SamplingPlan;
  beforeAll(() => {
    plan = planGrid(quarter, {...free, layout: "unaligned", seed: 5});
  });
  const cellOf = ({x, y}: XY) => ({column: Math.floor(x / 330), row: Math.floor((2640 - y) / 330)});

  it("has one point in every cell, with one shift along for each row and one across for each column", () => {
    const points = centresFt(plan);
    expect(new Set(points.map((p) => JSON.stringify(cellOf(p)))).size).toBe(64);
    const shifts = new Map<string, number>();
    for (const p of points) {
      const {column, row} = cellOf(p);
      for (const [key, shift] of [
        [`row ${row}`, p.x - column * 330],
        [`column ${column}`, p.y % 330],
      ] as const) {
        // The circle of cores stays 15 ft inside the field, so points there may have been led in.
        if (p.x < 16 || p.y < 16 || p.x > 2624 || p.y > 2624) continue;
        expect(shift).toBeCloseTo(shifts.get(key) ?? shift, 3);
        shifts.set(key, shift);
      }
    }
    expect(new Set([...shifts.values()].map((s) => Math.round(s))).size).toBeGreaterThan(12);
  });

  it("stands in no line: the points of a column differ in place across it", () => {
    const column = centresFt(plan).filter((p) => cellOf(p).column === 3);
    expect(new Set(column.map(({x}) => Math.round(x))).size).toBe(8);
  });

  it("keeps cells of an aligned grid and refuses cores all over them", () => {
    expect(plan.units.map(({area}) => area)).toEqual(planGrid(quarter, free).units.map(({area}) => area));
    expect(() => planGrid(quarter, {layout: "unaligned", pattern: "cell"})).toThrow(
      expect.objectContaining({code: "sampling/layout"}),
    );
  });
});

describe("zone cores along a line", () => {
  let plan: SamplingPlan;
  beforeAll(() => {
    plan = planZones(quarter, bandedZones(quarter), {placement: "line", seed: 3});
  });

  it("stand on one straight line, in equal steps, and the plan says how long it is", () => {
    for (const {cores, transect, id} of plan.units) {
      expect(cores).toHaveLength(15);
      const [first, last] = [cores[0], cores.at(-1)] as [XY, XY];
      const length = distanceM(first, last);
      for (const {x, y} of cores) {
        const off = ((last.x - first.x) * (y - first.y) - (last.y - first.y) * (x - first.x)) / length;
        expect(Math.abs(off)).toBeLessThan(1e-6);
      }
      // Where the line leaves the zone and comes back, steps are counted inside only: 14 of 15 steps at least.
      expect(length).toBeGreaterThanOrEqual(((transect ?? 0) * 14) / 15 - 1e-6);
      expect(plan.issues.find(({code}) => code === "sampling/transect")?.message).toContain(id);
    }
  });

  it("never run within 20° of the rows", () => {
    // A square field runs east.
    for (const {cores} of plan.units) {
      const [first, last] = [cores[0], cores.at(-1)] as [XY, XY];
      expect(Math.abs(Math.atan((last.y - first.y) / (last.x - first.x)))).toBeGreaterThan((19.9 * Math.PI) / 180);
    }
  });
});
