import {existsSync, readFileSync} from "node:fs";
import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, invalidReason, loadGeos} from "../../src/geo/geos.ts";
import {areaM2, polygonAreaM2} from "../../src/geo/measure.ts";
import {dissolve, partition} from "../../src/geo/partition.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import {simplifyLine, triangleAreaM2} from "../../src/geo/simplify-line.ts";
import {smoothLine} from "../../src/geo/smooth-line.ts";
import {labelRegions} from "../../src/grid/label-regions.ts";
import {traceArcs} from "../../src/grid/trace-arcs.ts";
import {drawZones} from "../../src/zones/draw-zones.ts";
import {edgeFaults} from "../properties/edge-use.ts";
import {box, fieldFrom} from "./fields.ts";

// Printed and hand-made values for labels, lines and polygons, from the smallest case to a whole raster.

beforeAll(loadGeos);

const line = (...points: [number, number][]): XY[] => points.map(([x, y]) => ({x, y}));

describe("a line by hand", () => {
  it("has a point of 10 m² between (0, 0) and (10, 0) at (5, 2), which goes just above that threshold", () => {
    const bent = line([0, 0], [5, 2], [10, 0]);
    expect(triangleAreaM2(...(bent as [XY, XY, XY]))).toBe(10);
    expect(simplifyLine(bent, 10)).toEqual(bent);
    expect(simplifyLine(bent, 10.001)).toEqual(line([0, 0], [10, 0]));
  });

  it("cuts the corner of (0, 0), (4, 0), (4, 4) at (3, 0) and (4, 1)", () => {
    expect(smoothLine(line([0, 0], [4, 0], [4, 4]), 1)).toEqual(line([0, 0], [3, 0], [4, 1], [4, 4]));
  });
});

describe("small label maps by hand", () => {
  it("make four valid polygons of a chessboard of two by two, also as two zones of two pieces", () => {
    const {field, grid} = fieldFrom(box(0, 0, 10, 10));
    const labels = Uint8Array.of(1, 2, 2, 1);
    expect(labelRegions(grid, labels).labels).toHaveLength(4);
    const cuts = traceArcs(grid, labels).map(({points}) => points);
    const {faces} = partition(field.outline, cuts);
    expect(faces.map(polygonAreaM2)).toEqual([25, 25, 25, 25]);
    expect(coverageIsValid(faces, 0.1)).toBe(true);
    const {parts} = drawZones(field.outline, grid, labels, 0);
    expect(parts.map(({shape}) => [shape.length, areaM2(shape), invalidReason(shape)])).toEqual([
      [2, 50, undefined],
      [2, 50, undefined],
    ]);
  });

  it("make one ring with a hole and an island of an island, areas 8 and 1", () => {
    const outline = box(0, 0, 3, 3);
    const island = box(1, 1, 2, 2).flat();
    const division = partition(outline, island);
    const parts = dissolve(
      division,
      division.faces.map((face) => (face.length === 2 ? 1 : 2)),
    );
    expect(parts.map(({shape}) => [shape.length, shape[0]?.length, areaM2(shape)])).toEqual([
      [1, 2, 8],
      [1, 1, 1],
    ]);
    expect(edgeFaults(division.faces, outline)).toEqual([]);
  });
});

describe("whether two squares are a coverage", () => {
  const west = box(0, 0, 10, 10)[0] as MultiPolygon[number];
  const east = (shift: number): MultiPolygon[number] => box(10 + shift, 0, 20, 10)[0] as MultiPolygon[number];
  // Expected: GEOS 3.13.1 through shapely 2.1.2.
  it("is: with a common side", () => {
    expect(coverageIsValid([west, east(0)], 0)).toBe(true);
    expect(edgeFaults([west, east(0)], box(0, 0, 20, 10))).toEqual([]);
  });

  it("is not: with a corner of one amid the side of the other", () => {
    const cornered = [line([0, 0], [10, 0], [10, 5], [10, 10], [0, 10], [0, 0])];
    expect(coverageIsValid([cornered, east(0)], 0)).toBe(false);
    expect(edgeFaults([cornered, east(0)], box(0, 0, 20, 10))).toHaveLength(3);
  });

  it("is not: with an overlap of 5 cm, or a gap of 5 cm when gaps under 10 cm count", () => {
    expect(coverageIsValid([west, east(-0.05)], 0)).toBe(false);
    expect(coverageIsValid([west, east(0.05)], 0)).toBe(true);
    expect(coverageIsValid([west, east(0.05)], 0.1)).toBe(false);
    expect(edgeFaults([west, east(0.05)], box(0, 0, 20, 10))).toHaveLength(2);
  });
});

const shared = new URL("../../../shared/data/reference/zones/", import.meta.url);

describe.skipIf(!existsSync(shared))("a raster of 161 × 161 cells (skipped: no shared data)", () => {
  const read = (file: string): Uint8Array =>
    Uint8Array.from(
      readFileSync(new URL(file, shared), "utf8").trim().split("\n").join(",").split(","),
      (v) => Number(v) + 1,
    );
  const {field, grid} = fieldFrom(box(0, 0, 805, 805));

  it("has the patches and cells per class that SciPy 1.10.1 and GDAL 3.6.2 count, raw and sieved", () => {
    const count = (labels: Uint8Array): number[] =>
      [1, 2, 3, 4, 5].map((label) => labels.filter((own) => own === label).length);
    const [raw, sieved] = [read("zones161_raw_labels.csv"), read("zones161_sieved40_labels.csv")];
    expect(count(raw)).toEqual([4086, 5861, 2100, 6226, 7648]);
    expect(labelRegions(grid, raw).labels).toHaveLength(180);
    expect(count(sieved)).toEqual([4067, 5870, 2095, 6184, 7705]);
    expect(labelRegions(grid, sieved).labels).toHaveLength(22);
  });

  it.each(["raw", "sieved40"])("%s, has lines each used once from either side and an area of 648,025 m²", (name) => {
    const labels = read(`zones161_${name}_labels.csv`);
    const {parts} = drawZones(field.outline, grid, labels, 0);
    const faces = parts.flatMap(({shape}) => shape);
    expect(edgeFaults(faces, field.outline)).toEqual([]);
    // To a centimetre, after simplifying and smoothing.
    const round = ({x, y}: XY): XY => ({x: Math.round(100 * x) / 100, y: Math.round(100 * y) / 100});
    const rounded = faces.map((face) => face.map((ring) => ring.map(round)));
    expect(edgeFaults(rounded, field.outline)).toEqual([]);
    expect(Math.abs(areaM2(faces) / 648_025 - 1)).toBeLessThan(1e-9);
    expect(areaM2(rounded)).toBeCloseTo(648_025, 6);
    // A zone gains or loses little by its lines being smooth: under 1 % of what its cells are.
    for (const {label, shape} of parts) {
      const cells = 25 * labels.filter((own) => own === label).length;
      expect(Math.abs(areaM2(shape) / cells - 1)).toBeLessThan(0.01);
    }
  });
});
