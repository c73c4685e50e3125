import {describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import type {Grid} from "../../src/grid/grid.ts";
import {labelRegions} from "../../src/grid/label-regions.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {varianceExplained} from "../../src/stats/variance-explained.ts";
import {METRES_PER_FOOT} from "../../src/units/factors.ts";
import {metres} from "../../src/units/quantity.ts";
import {calmLabels} from "../../src/zones/calm-labels.ts";
import {minimumWidth, narrowGround} from "../../src/zones/minimum-width.ts";
import {narrowIssues, tidyingCost, tidyLabels} from "../../src/zones/tidy-labels.ts";
import {widenLabels} from "../../src/zones/widen-labels.ts";
import {randomLayer} from "./fields.ts";

const gridOf = (cols: number, rows: number, cellSize = 5): Grid => ({
  frame: frameAt(-86.4, 40.55),
  west: metres(0),
  north: metres(rows * cellSize),
  cellSize: metres(cellSize),
  cols,
  rows,
});

const map = ({cols, rows}: Grid, label: (col: number, row: number) => number): Uint8Array =>
  Uint8Array.from({length: cols * rows}, (_, i) => label(i % cols, Math.floor(i / cols)));

/** One column of values, a row for every cell. */
const points = (values: Float64Array) => ({cells: Int32Array.from(values.keys()), values, dims: 1});

describe("the least width a machine can follow", () => {
  it("is its swath, or the way it drives while the rate changes when that is longer", () => {
    expect(minimumWidth() / METRES_PER_FOOT).toBeCloseTo(100, 9);
    // 15 mph is 22 ft a second: 110 ft in 5 s, the printed figure.
    expect(minimumWidth({rateChange: 5}) / METRES_PER_FOOT).toBeCloseTo(110, 9);
    expect(minimumWidth({swath: metres(36), rateChange: 5})).toBe(36);
    expect(minimumWidth({swath: metres(9), speed: 3, rateChange: 4})).toBe(12);
  });
});

describe("narrow ground", () => {
  const grid = gridOf(40, 30);

  it("is a strip between two zones, with its area", () => {
    const strip = map(grid, (col) => (col < 18 ? 1 : col < 21 ? 2 : 3));
    // 15 m by 150 m; corners at the edge of the field are where the field itself has no room.
    const {areaM2, patches} = narrowGround(grid, strip, 20);
    expect([...patches.labels]).toEqual([2]);
    expect(areaM2).toBeCloseTo(15 * 150, 6);
    expect(narrowGround(grid, strip, 15).areaM2).toBe(0);
  });

  it("is a neck however short, but no dent or corner under a square of half the width", () => {
    // Two blocks of zone 2 joined by a neck of one cell by two: 50 m².
    const neck = map(grid, (col, row) =>
      row >= 10 && row < 20 && ((col >= 8 && col < 18) || (col >= 20 && col < 30)) ? 2 : 1,
    );
    neck[15 * 40 + 18] = 2;
    neck[15 * 40 + 19] = 2;
    const found = narrowGround(grid, neck, 20);
    expect(found.patches.owner[15 * 40 + 18]).toBeGreaterThanOrEqual(0);
    const bump = neck.slice();
    bump[15 * 40 + 19] = 1;
    expect(narrowGround(grid, bump, 20).patches.owner[15 * 40 + 18]).toBe(-1);
  });

  it("is none where the field itself is narrow", () => {
    const lane = map(grid, (col, row) => (col < 20 ? 1 : row === 15 ? 2 : 0));
    expect(narrowGround(grid, lane, 20).areaM2).toBe(0);
  });
});

describe("labels made wide enough", () => {
  const grid = gridOf(40, 30);

  it("give a strip to the neighbour it is more like", () => {
    const strip = map(grid, (col) => (col < 18 ? 1 : col < 21 ? 2 : 3));
    const like = (label: number): Uint8Array => map(grid, (col) => (col < 18 || (col < 21 && label === 1) ? 1 : 3));
    for (const label of [1, 3]) {
      const values = new Float64Array(3 * strip.length);
      strip.forEach((own, cell) => {
        values.set(own === 2 ? [label === 1 ? 0.5 : 1, 0, label === 3 ? 0.5 : 1] : [0, 0, 0], 3 * cell);
      });
      const misfit = {cells: Int32Array.from(strip.keys()), values};
      expect(widenLabels(grid, strip, 20, misfit)).toEqual(like(label));
    }
    expect(widenLabels(grid, strip, 15)).toEqual(strip);
    expect(widenLabels(grid, strip, 0)).toEqual(strip);
  });

  it("cut a neck, so that its ends are pieces of their own", () => {
    const neck = map(grid, (col, row) =>
      row >= 8 && row < 22 && (col < 14 || col >= 26 || (row >= 14 && row < 16)) ? 2 : 1,
    );
    const wide = widenLabels(grid, neck, 30);
    expect(labelRegions(grid, neck).labels.filter((label) => label === 2)).toHaveLength(1);
    expect(labelRegions(grid, wide).labels.filter((label) => label === 2)).toHaveLength(2);
    expect(narrowGround(grid, wide, 30).areaM2).toBe(0);
  });

  it("give a lane of the field the zone it leads from, and leave a part without room alone", () => {
    const lane = map(grid, (col, row) => (col < 20 ? 1 : row === 15 && col < 30 ? 2 : col > 35 && row < 3 ? 3 : 0));
    expect(widenLabels(grid, lane, 30)).toEqual(lane.map((label) => (label === 2 ? 1 : label)));
  });

  it("end on any map, and leave nothing narrow that a neighbour could take", () => {
    const random = seededRandom(11, "maps");
    for (let trial = 0; trial < 25; trial++) {
      const layer = randomLayer(grid, "layer", random, 20 + 60 * random.next(), 0.2);
      const labels = layer.values.map((v) => 1 + Math.max(0, Math.min(3, Math.floor((v - 6) / 2))));
      const before = Uint8Array.from(labels);
      const width = 10 + 25 * random.next();
      const after = widenLabels(grid, before, width);
      expect(after.every((label) => label >= 1 && label <= 4)).toBe(true);
      expect(narrowGround(grid, after, width).areaM2).toBeLessThanOrEqual(narrowGround(grid, before, width).areaM2);
      expect(before).toEqual(Uint8Array.from(labels));
    }
  });
});

describe("a calmer map", () => {
  const grid = gridOf(30, 20);

  it("merges the piece that costs no more than allowed, by the exact loss", () => {
    // Zone 2 in two pieces; the eastern one, 3 by 3 cells, has values of 6 between zones of 5 and 10.
    const labels = map(grid, (col, row) => (col < 10 ? 2 : col > 24 && col < 28 && row > 8 && row < 12 ? 2 : 1));
    const values = Float64Array.from(labels, (label, cell) => (label === 1 ? 5 : cell % 30 < 10 ? 10 : 6));
    const merged = map(grid, (col) => (col < 10 ? 2 : 1));
    const of = (m: Uint8Array): number => varianceExplained(points(values), m);
    const loss = of(labels) - of(merged);
    // 9 cells of 6 lie nearer to zone 1: merging gains, so any allowance does it.
    expect(loss).toBeLessThan(0);
    expect(calmLabels(grid, labels, points(values), 1e-6)).toEqual(merged);
    expect(calmLabels(grid, labels, points(values), 0)).toEqual(labels);
    const dear = Float64Array.from(labels, (label) => (label === 1 ? 5 : 10));
    const cost = varianceExplained(points(dear), labels) - varianceExplained(points(dear), merged);
    expect(calmLabels(grid, labels, points(dear), cost * 0.999)).toEqual(labels);
    expect(calmLabels(grid, labels, points(dear), cost * 1.001)).toEqual(merged);
  });

  it("keeps the last piece of every zone", () => {
    const labels = map(grid, (col) => (col < 10 ? 1 : 2));
    expect(calmLabels(grid, labels, points(Float64Array.from(labels, () => Math.SQRT2)), 1)).toEqual(labels);
    expect(calmLabels(grid, labels, points(Float64Array.from(labels)), 1)).toEqual(labels);
  });
});

describe("labels tidied for the machine", () => {
  const grid = gridOf(60, 60);

  it("keep area and width, or the cost says what is left", () => {
    const random = seededRandom(21, "maps");
    for (let trial = 0; trial < 15; trial++) {
      const {values} = randomLayer(grid, "layer", random, 30 + 100 * random.next(), 0.3);
      const labels = Uint8Array.from(values, (v) => 1 + Math.max(0, Math.min(3, Math.floor((v - 6) / 2))));
      const settings = {minAreaM2: 2500, minWidthM: 25, calm: 0.005};
      const tidy = tidyLabels(grid, labels, points(values), undefined, settings);
      const cost = tidyingCost(grid, labels, tidy, points(values), settings.minWidthM);
      expect(Math.min(...labelRegions(grid, tidy).cells) * 25).toBeGreaterThanOrEqual(2500);
      expect(cost.narrowM2.after).toBe(narrowGround(grid, tidy, 20, 12.5 ** 2).areaM2);
      expect(cost.narrowM2.after).toBeLessThan(0.03 * 300 * 300);
      expect(cost.explained.after).toBeCloseTo(varianceExplained(points(values), tidy), 12);
      expect(cost.pieces).toEqual({
        before: labelRegions(grid, labels).labels.length,
        after: labelRegions(grid, tidy).labels.length,
      });
      expect(cost.cellsMoved).toBe(tidy.filter((label, cell) => label !== labels[cell]).length);
      expect(cost.areaMovedM2).toBe(25 * cost.cellsMoved);
      expect(narrowIssues(metres(25), cost)).toHaveLength(cost.narrowM2.after > 0 ? 1 : 0);
    }
  });

  it("are the sieved labels when neither width nor calm is asked for", () => {
    const labels = map(grid, (col, row) => (col < 30 ? 1 : row < 30 ? 2 : 3));
    labels[5] = 3;
    const tidy = tidyLabels(grid, labels, points(Float64Array.from(labels)), undefined, {
      minAreaM2: 100,
      minWidthM: 0,
      calm: 0,
    });
    expect(tidyingCost(grid, labels, tidy, points(Float64Array.from(labels)), 0)).toMatchObject({
      cellsMoved: 1,
      areaMovedM2: 25,
      narrowM2: {before: 0, after: 0},
    });
  });
});
