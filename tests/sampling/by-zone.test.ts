import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, loadGeos} from "../../src/geo/geos.ts";
import {contains} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {planZones} from "../../src/sampling/by-zone.ts";
import {METRES_PER_FOOT, SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import type {ZoneMap} from "../../src/zones/zone-map.ts";
import {fieldOf, rectangleFt, ringOf} from "./make-field.ts";

beforeAll(loadGeos);

const acres = (n: number) => squareMetres(n * SQUARE_METRES_PER_ACRE);
const ft = (n: number) => n * METRES_PER_FOOT;
const square = (x: number, y: number): MultiPolygon[number] => [
  ringOf([ft(x), ft(y)], [ft(x + 660), ft(y)], [ft(x + 660), ft(y + 660)], [ft(x), ft(y + 660)]),
];

/** A checkerboard of four 10-ac squares: zone 1 on one diagonal, zone 2 on the other. */
const board = fieldOf(rectangleFt(1320, 1320), "Board");
const zones = (shapes: readonly MultiPolygon[]): ZoneMap => ({
  grid: {frame: board.frame, west: metres(0), north: metres(0), cellSize: metres(5), cols: 0, rows: 0},
  cells: new Uint8Array(),
  varianceExplained: {clustered: 1, tidied: 1},
  issues: [],
  madeFrom: {step: "zones/build", inputs: [], options: {}},
  zones: shapes.map((shape, i) => ({id: i + 1, label: `Zone ${i + 1}`, area: acres(20), shape, means: {}})),
});
const diagonals = zones([
  [square(0, 0), square(660, 660)],
  [square(660, 0), square(0, 660)],
]);

describe("zone plans", () => {
  it("take one composite per zone, over all its pieces, numbered like the zones", () => {
    const plan = planZones(board, diagonals);
    expect(plan.units.map(({id, label, zone}) => [id, label, zone])).toEqual([
      ["BARZ01", "Zone 1", 1],
      ["BARZ02", "Zone 2", 2],
    ]);
    for (const unit of plan.units) {
      expect(unit.area).toBeCloseTo(acres(20), 6);
      expect(unit.cores).toHaveLength(15);
      // Strata of equal area put 15 cores on two equal pieces as 7 and 8.
      const onFirst = unit.cores.filter((core) => contains([unit.shape[0] ?? []], core.x, core.y)).length;
      expect([7, 8]).toContain(onFirst);
    }
    expect(plan.pooled).toBe(false);
  });

  it("sample pieces apart when asked", () => {
    const plan = planZones(board, diagonals, {piecesApart: true});
    expect(plan.units.map(({label, zone}) => [label, zone])).toEqual([
      ["Zone 1, part 1 of 2", 1],
      ["Zone 1, part 2 of 2", 1],
      ["Zone 2, part 1 of 2", 2],
      ["Zone 2, part 2 of 2", 2],
    ]);
  });

  it("split zones over the largest area into equal parts, with matching corners across the border", () => {
    const halves = zones([[...rectangle(0, 0, 1320, 330)], [...rectangle(0, 330, 1320, 990)]]);
    const plan = planZones(board, halves, {maxArea: acres(11)});
    // 10 ac stay; 30 ac make three of 10.
    expect(plan.units.map((unit) => unit.zone)).toEqual([1, 2, 2, 2]);
    for (const unit of plan.units) expect(unit.area / acres(10)).toBeCloseTo(1, 6);
    expect(
      coverageIsValid(
        plan.units.flatMap((unit) => unit.shape),
        0.1,
      ),
    ).toBe(true);
  });

  it("keep 40 ac as one composite by default and split 41", () => {
    expect(planZones(board, zones([board.outline])).units).toHaveLength(1);
    const larger = fieldOf(rectangleFt(1320, 1353), "Larger");
    const one = {...zones([larger.outline]), grid: {...diagonals.grid, frame: larger.frame}};
    expect(planZones(larger, one).units).toHaveLength(2);
  });

  it("refuse zones of another field", () => {
    const other = fieldOf(rectangleFt(1320, 1300), "Other");
    expect(() => planZones(other, diagonals)).toThrow(expect.objectContaining({code: "sampling/other-field"}));
  });
});

function rectangle(x: number, y: number, w: number, h: number): MultiPolygon {
  return [[ringOf([ft(x), ft(y)], [ft(x + w), ft(y)], [ft(x + w), ft(y + h)], [ft(x), ft(y + h)])]];
}
