import {beforeAll, describe, expect, it} from "vitest";
import {makeField} from "../../src/geo/field.ts";
import {frameAt, multiPolygonToLonLat} from "../../src/geo/frame.ts";
import {difference, loadGeos} from "../../src/geo/geos.ts";
import {boxOf, distanceM} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {planGrid} from "../../src/sampling/by-grid.ts";
import {columnLetters} from "../../src/sampling/grid-cells.ts";
import type {SamplingPlan} from "../../src/sampling/plan.ts";
import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {fieldOf, rectangleFt, ringOf, turned} from "./make-field.ts";

beforeAll(loadGeos);

const acres = (n: number) => squareMetres(n * SQUARE_METRES_PER_ACRE);
const ft = (n: number) => n * METRES_PER_FOOT;
const labels = (plan: SamplingPlan): string[] => plan.units.map((unit) => unit.label.slice("cell ".length));
const inAcres = (plan: SamplingPlan): number[] => plan.units.map((unit) => unit.area / SQUARE_METRES_PER_ACRE);

describe("grid cells", () => {
  it("of 2.5 ac are squares of 330 ft: 64 on 160 ac, 32 on 80 ac, and 40 of 1 ac on 40 ac", () => {
    const quarter = planGrid(fieldOf(rectangleFt(2640, 2640)));
    expect(quarter.units).toHaveLength(64);
    for (const unit of quarter.units) {
      const {west, east, south, north} = boxOf(unit.shape);
      expect((east - west) / METRES_PER_FOOT).toBeCloseTo(330, 5);
      expect((north - south) / METRES_PER_FOOT).toBeCloseTo(330, 5);
    }
    expect(planGrid(fieldOf(rectangleFt(1320, 2640))).units).toHaveLength(32);
    const side = Math.sqrt(43_560);
    expect(planGrid(fieldOf(rectangleFt(8 * side, 5 * side)), {cellArea: acres(1)}).units).toHaveLength(40);
  });

  it("are the same 64 when the field is turned, or comes in degrees", () => {
    const square = rectangleFt(2640, 2640);
    for (const degrees of [1, 17, 45, 80, 133]) {
      expect(planGrid(fieldOf(turned(square, degrees))).units, `${degrees}°`).toHaveLength(64);
      const {field} = makeField("q", "Q", multiPolygonToLonLat(frameAt(-86.4, 40.55), turned(square, degrees)));
      expect(planGrid(field).units, `${degrees}° in degrees`).toHaveLength(64);
    }
  });

  it("run with the long side of the field, or along a heading", () => {
    const long = planGrid(fieldOf(turned(rectangleFt(3300, 990), 30)));
    expect(long.madeFrom.options.heading).toBeCloseTo(60, 6); // 30° from east is 60° from north
    expect(long.units).toHaveLength(30);
    const across = planGrid(fieldOf(rectangleFt(1320, 660)), {lengthToWidth: 2, cellArea: acres(5), heading: 0});
    // 5 ac twice as long as wide: 660 ft north by 330 ft east.
    expect(across.units).toHaveLength(4);
    const {south, north} = boxOf(across.units[0]?.shape ?? []);
    expect((north - south) / METRES_PER_FOOT).toBeCloseTo(660, 5);
  });

  it("are lettered from west to east and numbered from north to south, without I and O", () => {
    const plan = planGrid(fieldOf(rectangleFt(990, 660)));
    expect([...labels(plan)].sort()).toEqual(["A1", "A2", "B1", "B2", "C1", "C2"]);
    const of = (label: string) => boxOf(plan.units[labels(plan).indexOf(label)]?.shape ?? []);
    expect(of("A1").north).toBeCloseTo(ft(660), 6);
    expect(of("C2").east).toBeCloseTo(ft(990), 6);
    expect([0, 7, 8, 13, 23, 24, 25].map(columnLetters)).toEqual(["A", "H", "J", "P", "Z", "AA", "AB"]);
  });

  it("are numbered to and fro along the long side", () => {
    expect(labels(planGrid(fieldOf(rectangleFt(990, 660))))).toEqual(["A1", "B1", "C1", "C2", "B2", "A2"]);
    expect(labels(planGrid(fieldOf(rectangleFt(660, 990))))).toEqual(["A1", "A2", "A3", "B3", "B2", "B1"]);
    const gate = {x: ft(990), y: 0};
    expect(labels(planGrid(fieldOf(rectangleFt(990, 660)), {start: gate}))).toEqual([
      "C2",
      "B2",
      "A2",
      "A1",
      "B1",
      "C1",
    ]);
  });

  it("of separate parts of a field are walked part by part", () => {
    const parts: MultiPolygon = [
      ...rectangleFt(660, 660),
      [ringOf([ft(700), 0], [ft(1360), 0], [ft(1360), ft(660)], [ft(700), ft(660)])],
    ];
    const xs = planGrid(fieldOf(parts)).units.map((unit) => boxOf(unit.shape).west < ft(690));
    expect(xs).toEqual([true, true, true, true, false, false, false, false]);
  });
});

describe("pieces at the edge", () => {
  it("under half a cell join the neighbour with the longest border", () => {
    // 660 ft and 100 ft more: the last 100 ft (0.30 of a cell) are shared out at the kindest origin.
    const plan = planGrid(fieldOf(rectangleFt(760, 330)));
    expect(plan.units).toHaveLength(2);
    expect(inAcres(plan).reduce((a, b) => a + b)).toBeCloseTo((760 * 330) / 43_560, 9);
    expect(plan.issues.find(({code}) => code === "sampling/pieces-merged")?.message).toMatch(/under 50 % of a cell/);
  });

  it("over half a cell stay cells", () => {
    expect(planGrid(fieldOf(rectangleFt(330 * 2 + 200, 330))).units).toHaveLength(3);
    // 2.6 cells: laid as 0.8, 1 and 0.8 they are 3, which only a wish for nearly full cells forbids.
    expect(planGrid(fieldOf(rectangleFt(330 * 2 + 200, 330)), {mergeBelow: 0.9}).units).toHaveLength(2);
  });

  it("are split evenly between both ends where that keeps cells nearer to their size", () => {
    // 5.4 cells long, cells of 330 ft: a strip of 0.2 joined at each end is kinder than one of 0.4 at one end.
    const areas = inAcres(planGrid(fieldOf(rectangleFt(330 * 5.4, 330))));
    expect(areas.map((a) => Math.round(a * 100) / 100)).toEqual([3, 2.5, 2.5, 2.5, 3]);
  });

  it("are judged one by one where a ditch splits a cell, and the name is not given twice", () => {
    // A ditch through the middle of B leaves 0.42 of a cell on either side of it.
    const ditch: MultiPolygon = [
      [ringOf([ft(470), ft(-10)], [ft(520), ft(-10)], [ft(520), ft(340)], [ft(470), ft(340)])],
    ];
    const field = fieldOf(difference(rectangleFt(990, 330), ditch));
    const joined = planGrid(field);
    expect(labels(joined)).toEqual(["A1", "C1"]);
    expect(inAcres(joined).map((a) => a.toFixed(2))).toEqual(
      [(470 * 330) / 43_560, (470 * 330) / 43_560].map((a) => a.toFixed(2)),
    );
    const apart = planGrid(field, {mergeBelow: 0.3});
    expect([...labels(apart)].sort()).toEqual(["A1", "B1", "B1b", "C1"]);
  });

  it("without a neighbour stay small and are reported", () => {
    const island: MultiPolygon = [...rectangleFt(990, 990), [ringOf([-60, 0], [-20, 0], [-20, 40], [-60, 40])]];
    const plan = planGrid(fieldOf(island));
    const small = plan.units.filter((unit) => unit.area < acres(1));
    expect(small).toHaveLength(1);
    expect(plan.issues.find(({code}) => code === "sampling/small-unit")?.message).toContain("(0.4 ac)");
  });
});

describe("cores at points", () => {
  it("lie within 15 ft of the middle of their cell", () => {
    const plan = planGrid(fieldOf(rectangleFt(990, 990)), {pattern: "point"});
    for (const unit of plan.units) {
      expect(unit.cores).toHaveLength(8);
      const {west, east, south, north} = boxOf(unit.shape);
      expect(unit.centre?.x).toBeCloseTo((west + east) / 2, 6);
      expect(unit.centre?.y).toBeCloseTo((south + north) / 2, 6);
      for (const core of unit.cores) expect(distanceM(core, unit.centre ?? core)).toBeLessThanOrEqual(ft(15) + 1e-9);
    }
  });

  it("move off a keep-out at the middle, which is reported when it is far", () => {
    const keepOut: MultiPolygon = [
      [ringOf([ft(50), ft(50)], [ft(300), ft(50)], [ft(300), ft(300)], [ft(50), ft(300)])],
    ];
    const moved = planGrid(fieldOf(rectangleFt(990, 990)), {pattern: "point", keepOut, fieldEdge: metres(0)});
    const unit = moved.units.find((u) => u.label === "cell A3");
    // Corners of an overlay stand on a grid of 60 nm: 600 m of edge move an area by less than 4e-5 m².
    expect(unit?.keptOut).toBeCloseTo(ft(250) ** 2, 4);
    // 15 ft from the keep-out, so that the whole circle is clear of it.
    expect(Math.min(unit?.centre?.x ?? 0, unit?.centre?.y ?? 0)).toBeCloseTo(ft(50 - 15), 6);
    for (const core of unit?.cores ?? []) {
      expect(core.x > ft(50) && core.x < ft(300) && core.y > ft(50) && core.y < ft(300)).toBe(false);
    }
    expect(moved.issues.find(({code}) => code === "sampling/point-moved")?.message).toContain("cell A3");
  });
});

describe("a grid refuses", () => {
  it.each([
    [{cellArea: acres(-1)}, "sampling/area"],
    [{cellArea: acres(0.01)}, "sampling/too-many-units"],
    [{heading: Number.NaN}, "sampling/heading"],
    [{lengthToWidth: 0}, "sampling/cell-shape"],
    [{mergeBelow: 1.5}, "sampling/merge-below"],
    [{radius: metres(0)}, "sampling/radius"],
  ])("%j", (options, code) => {
    const field = fieldOf(rectangleFt(2640, 2640));
    expect(() => planGrid(field, options)).toThrow(expect.objectContaining({name: "FieldError", code}));
  });
});
