import {existsSync, readFileSync} from "node:fs";
import {beforeAll, describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {conflictingLines} from "../../src/geo/line-conflicts.ts";
import {areaM2, ringAreaM2} from "../../src/geo/measure.ts";
import {partition} from "../../src/geo/partition.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import {cellAt, type Grid, gridOver} from "../../src/grid/grid.ts";
import {labelRegions} from "../../src/grid/label-regions.ts";
import {traceArcs} from "../../src/grid/trace-arcs.ts";
import {seededRandom} from "../../src/stats/random.ts";

beforeAll(loadGeos);

const square = (cols: number, rows: number, size = 1): Grid =>
  gridOver(frameAt(0, 45), {west: 0, south: 0, east: cols * size, north: rows * size}, size);
const outlineOf = ({west, north, cols, rows, cellSize}: Grid): MultiPolygon => {
  const [east, south] = [west + cols * cellSize, north - rows * cellSize];
  return [
    [
      [
        [west, south] as const,
        [east, south] as const,
        [east, north] as const,
        [west, north] as const,
        [west, south] as const,
      ].map(([x, y]) => ({x, y})),
    ],
  ];
};
const digits = (text: string): Uint8Array => Uint8Array.from(text.replace(/\s/g, ""), Number);

describe("lines between labels", () => {
  it("are none where there is one label", () => {
    expect(traceArcs(square(4, 3), new Uint8Array(12).fill(7))).toEqual([]);
  });

  it("run half-way between two rows of cells, from edge to edge", () => {
    const arcs = traceArcs(square(3, 2), digits("111 222"));
    expect(arcs).toEqual([
      {
        points: [
          {x: 0, y: 1},
          {x: 0.5, y: 1},
          {x: 1.5, y: 1},
          {x: 2.5, y: 1},
          {x: 3, y: 1},
        ],
        closed: false,
      },
    ]);
  });

  it("go around an island once, without a break", () => {
    const [arc, ...more] = traceArcs(square(3, 3), digits("111 121 111"));
    expect(more).toEqual([]);
    expect(arc?.closed).toBe(true);
    // A diamond through the middles of the four sides: half the island's cell.
    expect(Math.abs(ringAreaM2(arc?.points ?? []))).toBe(0.5);
  });

  it("meet where three labels do, each line once", () => {
    const arcs = traceArcs(square(2, 2), digits("11 23"));
    expect(arcs).toHaveLength(3);
    // Two of the three come level with the middle, one from the south: the meeting is drawn towards them all.
    const meeting = {x: 1, y: 1 - 0.5 / 3};
    for (const {points} of arcs) {
      const ends = [points[0], points.at(-1)] as XY[];
      expect(ends.some((p) => Math.hypot(p.x - meeting.x, p.y - meeting.y) < 1e-12)).toBe(true);
    }
  });

  it("meet in the middle of a chessboard of four", () => {
    const arcs = traceArcs(square(2, 2), digits("12 21"));
    expect(arcs).toHaveLength(4);
    for (const {points} of arcs) expect([points[0], points.at(-1)]).toContainEqual({x: 1, y: 1});
  });

  it("run where the caller says, but never through a centre", () => {
    const at = (share: number): number | undefined =>
      traceArcs(square(3, 2), digits("111 222"), () => share)[0]?.points[1]?.y;
    expect(at(0.25)).toBe(1.25);
    expect(at(0)).toBeCloseTo(1.4, 12);
    expect(at(1)).toBeCloseTo(0.6, 12);
  });

  it("never touch but in their ends, and cut a field into exactly the patches of its labels", () => {
    const random = seededRandom(5, "arcs");
    for (let round = 0; round < 60; round++) {
      const grid = square(2 + random.integer(9), 2 + random.integer(9), 5);
      const kinds = 2 + random.integer(3);
      const labels = Uint8Array.from({length: grid.cols * grid.rows}, () => 1 + random.integer(kinds));
      const shares = Float64Array.from({length: 2 * labels.length}, () => random.next());
      const arcs = traceArcs(grid, labels, (a, b) => shares[2 * a + (b - a === 1 ? 0 : 1)] as number);
      expect(conflictingLines(arcs.map(({points}) => points))).toEqual([]);
      const {faces, inside} = partition(
        outlineOf(grid),
        arcs.map(({points}) => points),
      );
      const regions = labelRegions(grid, labels);
      expect(faces).toHaveLength(regions.cells.length);
      // Every centre lies in the face of its own patch, because no line runs through one.
      const found = new Set(inside.map(({x, y}) => cellAt(grid, x, y)));
      expect(found.has(-1)).toBe(false);
      expect(areaM2(faces)).toBeCloseTo(grid.cols * grid.rows * 25, 6);
    }
  });
});

const shared = new URL("../../../shared/data/reference/zones/", import.meta.url);

describe.skipIf(!existsSync(shared))("lines of a reference raster (skipped: no shared data)", () => {
  it("make as many polygons as GDAL does", () => {
    // gdal_polygonize.py 3.6.2, 4-connected, on the labels sieved at 40 pixels: 22 polygons.
    const rows = readFileSync(new URL("zones161_sieved40_labels.csv", shared), "utf8").trim().split("\n");
    const labels = Uint8Array.from(rows.join(",").split(","), (v) => Number(v) + 1);
    const grid = square(161, 161, 5);
    const {faces} = partition(
      outlineOf(grid),
      traceArcs(grid, labels).map(({points}) => points),
    );
    expect(faces).toHaveLength(22);
    // 161 x 161 cells of 25 m².
    expect(areaM2(faces)).toBeCloseTo(648_025, 6);
  });
});
