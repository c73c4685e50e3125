import {existsSync, readFileSync} from "node:fs";
import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, invalidReason, loadGeos} from "../../src/geo/geos.ts";
import {areaM2} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {drawZones} from "../../src/zones/draw-zones.ts";
import {box, fieldFrom, ring} from "./fields.ts";

beforeAll(loadGeos);

const labelsOf = (grid: {cols: number; rows: number}, label: (col: number, row: number) => number): Uint8Array =>
  Uint8Array.from({length: grid.cols * grid.rows}, (_, i) => label(i % grid.cols, Math.floor(i / grid.cols)));

describe("zones drawn from cells", () => {
  it("divide a square field by a straight line where the cells do", () => {
    const {field, grid} = fieldFrom(box(0, 0, 100, 100));
    const {parts, cells} = drawZones(
      field.outline,
      grid,
      labelsOf(grid, (col) => (col < 8 ? 1 : 2)),
      0,
    );
    expect(parts.map(({label}) => label)).toEqual([1, 2]);
    expect(parts.map(({shape}) => areaM2(shape))).toEqual([4000, 6000]);
    expect([...cells]).toEqual([...labelsOf(grid, (col) => (col < 8 ? 1 : 2))]);
  });

  it("draw the line where two zones are equally strong, not where the cells end", () => {
    // Strength of zone 1 falls from 1 at the west to 0 at 80 m, zone 2 has the rest: equal at 40 m less 1.
    const {field, grid} = fieldFrom(box(0, 0, 100, 100));
    const west = Float64Array.from(labelsOf(grid, (col) => col)).map((col) =>
      Math.max(0, 1 - (2 * (5 * col + 2.5) + 2) / 160),
    );
    const {parts} = drawZones(
      field.outline,
      grid,
      labelsOf(grid, (col) => (col < 8 ? 1 : 2)),
      0,
      [west, west.map((v) => 1 - v)],
    );
    expect(areaM2(parts[0]?.shape ?? [])).toBeCloseTo(3900, 6);
  });

  it("keep an island as a hole in the zone around it", () => {
    const {field, grid} = fieldFrom(box(0, 0, 200, 200));
    const disc = labelsOf(grid, (col, row) => (Math.hypot(col - 19.5, row - 19.5) < 10 ? 2 : 1));
    const {parts} = drawZones(field.outline, grid, disc, 0);
    expect(parts[0]?.shape[0]).toHaveLength(2);
    // A disc of radius 50 m; drawing it in cells and rounding its corners may cost 2 %.
    expect(areaM2(parts[1]?.shape ?? []) / (Math.PI * 2500)).toBeCloseTo(1, 1.4);
  });

  it("follow a neck narrower than a cell from one zone into the next", () => {
    // Two blocks 60 m apart, joined by a lane 2 m wide that holds no centre.
    const outline: MultiPolygon = [
      [
        ring(
          [0, 0],
          [100, 0],
          [100, 51],
          [160, 51],
          [160, 0],
          [260, 0],
          [260, 100],
          [160, 100],
          [160, 53],
          [100, 53],
          [100, 100],
          [0, 100],
        ),
      ],
    ];
    const {field, grid} = fieldFrom(outline, 10);
    const labels = labelsOf(grid, (col) => (col < 10 ? 1 : col < 16 ? 0 : 2));
    const {parts} = drawZones(field.outline, grid, labels, 0);
    // The lane is shared half and half, as each piece is nearer to its own block.
    expect(parts.map(({shape}) => areaM2(shape))).toEqual([10_060, 10_060].map((v) => expect.closeTo(v, 6)));
  });

  it("give a piece cut off by the boundary to its neighbour when it is too small", () => {
    // A notch in the west leaves zone 1 in two pieces of 15 m by 20 to 42.5 m, 469 m² each.
    const outline: MultiPolygon = [[ring([0, 0], [100, 0], [100, 100], [0, 100], [0, 80], [20, 50], [0, 20])]];
    const {field, grid} = fieldFrom(outline);
    const labels = labelsOf(grid, (col) => (col < 3 ? 1 : 2));
    expect(drawZones(field.outline, grid, labels, 0).parts[0]?.shape).toHaveLength(2);
    expect(drawZones(field.outline, grid, labels, 460).parts[0]?.shape).toHaveLength(2);
    const {parts} = drawZones(field.outline, grid, labels, 480);
    expect(parts.map(({label}) => label)).toEqual([2]);
    expect(areaM2(parts[0]?.shape ?? [])).toBeCloseTo(areaM2(outline), 6);
  });

  it("leave holes and gaps between parts of the field alone", () => {
    const outline: MultiPolygon = [
      [ring([0, 0], [100, 0], [100, 100], [0, 100]), ring([30, 30], [30, 70], [70, 70], [70, 30])],
      ...box(120, 0, 180, 60),
    ];
    const {field, grid} = fieldFrom(outline);
    const {parts} = drawZones(
      field.outline,
      grid,
      labelsOf(grid, (col, row) => 1 + ((col + row) % 26 < 13 ? 0 : 1)),
      0,
    );
    const shapes = parts.map(({shape}) => shape);
    expect(shapes.reduce((sum, shape) => sum + areaM2(shape), 0)).toBeCloseTo(100 * 100 - 40 * 40 + 60 * 60, 6);
    for (const shape of shapes) expect(invalidReason(shape)).toBeUndefined();
    expect(coverageIsValid(shapes.flat(), 0.1)).toBe(true);
  });
});

const shared = new URL("../../../shared/data/reference/zones/zones161_raw_labels.csv", import.meta.url);

describe.skipIf(!existsSync(shared))("a reference raster, drawn (skipped: no shared data)", () => {
  it("is a valid coverage with the raster's area, nearly its patches and cells", () => {
    const {field, grid} = fieldFrom(box(0, 0, 805, 805));
    const rows = readFileSync(shared, "utf8").trim().split("\n");
    const labels = Uint8Array.from(rows.join(",").split(","), (v) => Number(v) + 1);
    const {parts, cells} = drawZones(field.outline, grid, labels, 0);
    const faces = parts.flatMap(({shape}) => shape);
    expect(areaM2(faces)).toBeCloseTo(648_025, 6);
    expect(coverageIsValid(faces, 0.1)).toBe(true);
    for (const {shape} of parts) expect(invalidReason(shape)).toBeUndefined();
    // 180 patches, many of a cell or two: a spike one cell wide at the edge may be smoothed out of the field.
    expect(Math.abs(faces.length - 180)).toBeLessThanOrEqual(3);
    const moved = cells.reduce((sum, label, i) => sum + (label === labels[i] ? 0 : 1), 0);
    expect(moved / cells.length).toBeLessThan(0.02);
  });
});
