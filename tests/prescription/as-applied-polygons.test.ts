import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import type {AppliedPolygon} from "../../src/prescription/as-applied/applied-log.ts";
import {compareApplied} from "../../src/prescription/as-applied/compare-applied.ts";
import {comparePolygons} from "../../src/prescription/as-applied/compare-polygons.ts";
import {layeredFaces} from "../../src/prescription/as-applied/layered-faces.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {drive, HEIGHT, logOf, oblong, type Row, SPEED, SWATH, threeZones, WIDTH} from "./as-applied-logs.ts";
import {ringOf} from "./fields.ts";

beforeAll(loadGeos);

const acres = (areaM2: number): number => areaM2 / SQUARE_METRES_PER_ACRE;
const rect = (west: number, south: number, east: number, north: number, rateLbPerAcre: number): AppliedPolygon => ({
  shape: [[ringOf(west, south, east, north)]],
  rateLbPerAcre,
});
const zones = (): AppliedPolygon[] => [100, 200, 300].map((rate, i) => rect(200 * i, 0, 200 * (i + 1), HEIGHT, rate));
const compare = (polygons: readonly AppliedPolygon[]) => comparePolygons(oblong, threeZones(), polygons, {id: "x.zip"});

describe("as-applied polygons on a prescription of three zones, by hand", () => {
  it("the same polygons differ nowhere", () => {
    const {comparison, off} = compare(zones());
    expect(comparison.field.differenceLb).toBeCloseTo(0, 6);
    expect([comparison.field.gapAcres, comparison.field.offAcres, comparison.field.overlapAcres]).toEqual([0, 0, 0]);
    expect(off).toEqual([]);
    expect(comparison.loggedLb).toBeCloseTo(comparison.total.plannedLb, 6);
  });

  it("tell gaps, overlaps, off rates and ground outside to the square metre", () => {
    const [first, second] = zones() as [AppliedPolygon, AppliedPolygon];
    const {comparison, off} = compare([
      first,
      {...second, rateLbPerAcre: 150},
      rect(400, 0, 500, HEIGHT, 300), // leaves 100 m of the third zone bare
      rect(0, 0, 50, HEIGHT, 40), // over ground of the first zone already covered
      rect(0, HEIGHT, WIDTH, HEIGHT + 10, 100), // beyond the north side
      rect(500, 0, 600, HEIGHT, 0),
    ]);
    const [a, b, c] = comparison.units;
    expect(a?.overlapAcres).toBeCloseTo(acres(50 * HEIGHT), 9);
    expect(a?.overlapLb).toBeCloseTo(40 * acres(50 * HEIGHT), 6);
    expect(a?.overAcres).toBeCloseTo(acres(50 * HEIGHT), 9);
    expect(b?.underAcres).toBeCloseTo(acres(200 * HEIGHT), 9);
    expect(b?.differencePct).toBeCloseTo(-25, 9);
    expect([c?.gapAcres, c?.gapLb]).toEqual([
      expect.closeTo(acres(100 * HEIGHT), 9),
      expect.closeTo(300 * acres(100 * HEIGHT), 6),
    ]);
    expect(comparison.outside.acres).toBeCloseTo(acres(10 * WIDTH), 9);
    expect(comparison.records).toEqual({all: 6, used: 5, byReason: {"rate zero": 1}});
    expect(off.map(({unit, appliedLbPerAcre}) => [unit, appliedLbPerAcre])).toEqual([
      ["Z1", 140],
      ["Z2", 150],
      ["Z3", 0],
    ]);
    expect(off.reduce((sum, {acres: size}) => sum + size, 0)).toBeCloseTo(comparison.field.offAcres, 9);
  });

  it("three layers on one spot add up", () => {
    const polygons = [rect(0, 0, 30, 10, 10), rect(10, 0, 40, 10, 20), rect(20, 0, 50, 10, 40)];
    const found = layeredFaces(polygons.map(({shape}) => shape)).map(({areaM2: size, shapes}) => {
      const rates = shapes.map((i) => (polygons[i] as AppliedPolygon).rateLbPerAcre);
      const sum = rates.reduce((a, b) => a + b, 0);
      return [size, sum, sum - (rates[0] as number)];
    });
    expect(found.sort(([, a], [, b]) => (a as number) - (b as number))).toEqual(
      [
        [100, 10, 0],
        [100, 30, 20],
        [100, 40, 0],
        [100, 60, 40],
        [100, 70, 60],
      ].map((row) => row.map((value) => expect.closeTo(value, 6))),
    );
  });

  it("repairs a polygon that crosses itself, and says so", () => {
    const bow = [
      {x: 0, y: 0},
      {x: 20, y: 20},
      {x: 20, y: 0},
      {x: 0, y: 20},
      {x: 0, y: 0},
    ];
    const {comparison} = compare([{shape: [[bow]], rateLbPerAcre: 100}]);
    expect(comparison.field.coveredAcres).toBeCloseTo(acres(200), 9);
    expect(comparison.issues.map(({code}) => code)).toContain("as-applied/repaired");
  });

  it("agree with the records they were drawn from: one way through GEOS, the other through cells", () => {
    const rows = drive([0, 1, 2, 3, 5, 6, 7, 7, 8, 9, 10, 12], (x) => 90 + x / 3);
    const points = compareApplied(oblong, threeZones(), logOf(rows)).comparison;
    const strip = ({x, y, rate}: Row, heading: 1 | -1): AppliedPolygon =>
      rect(Math.min(x, x - heading * SPEED), y - SWATH / 2, Math.max(x, x - heading * SPEED), y + SWATH / 2, rate);
    const shapes = compare(rows.map((row) => strip(row, row.pass % 2 === 0 ? 1 : -1))).comparison;
    for (const key of [
      "appliedLb",
      "coveredAcres",
      "gapAcres",
      "overlapAcres",
      "overlapLb",
      "underAcres",
      "overAcres",
    ] as const) {
      shapes.units.forEach((unit, i) => {
        expect(points.units[i]?.[key], `${unit.unit} ${key}`).toBeCloseTo(unit[key], 6);
      });
    }
    expect(points.outside.appliedLb).toBeCloseTo(shapes.outside.appliedLb, 6);
  });
});
