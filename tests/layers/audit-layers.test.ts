import {describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import type {Grid} from "../../src/grid/grid.ts";
import type {ClassLayer, Layer} from "../../src/grid/layer.ts";
import {auditLayers} from "../../src/layers/audit-layers.ts";
import {metres} from "../../src/units/quantity.ts";

const grid: Grid = {
  frame: frameAt(-86.4, 40.55),
  west: metres(0),
  north: metres(80),
  cellSize: metres(10),
  cols: 8,
  rows: 8,
};
const madeFrom = {step: "t", inputs: [], options: {}};
const everywhere = new Uint8Array(64).fill(1);
const layer = (id: string, valueAt: (col: number, row: number) => number): Layer => ({
  id,
  label: id.toUpperCase(),
  unit: "1",
  grid,
  values: Float64Array.from({length: 64}, (_, i) => valueAt(i % 8, Math.floor(i / 8))),
  madeFrom,
});

describe("the audit of layers", () => {
  it("counts and describes only cells of the field", () => {
    const mask = Uint8Array.from({length: 64}, (_, i) => (i < 4 ? 1 : 0));
    const [found] = auditLayers([layer("a", (col) => [1, 2, Number.NaN, 4][col] ?? 100)], mask).layers;
    expect(found).toMatchObject({id: "a", label: "A", coveragePct: 75});
    expect(found?.spread).toMatchObject({count: 3, max: 4, median: 2, mean: 7 / 3});
  });

  it("finds a chessboard's Moran's I of -1 and a row gradient's 15/16", () => {
    // Closed form for the chessboard; 0.9375 is spdep's row-standardised rook value for an 8 by 8 gradient.
    const {layers} = auditLayers([layer("a", (c, r) => (c + r) % 2), layer("b", (_, r) => r)], everywhere);
    expect(layers[0]?.moransI).toBeCloseTo(-1, 12);
    expect(layers[1]?.moransI).toBeCloseTo(0.9375, 12);
  });

  it("says how far every two layers rank the ground alike", () => {
    const {correlation} = auditLayers(
      [layer("up", (c) => c), layer("squared", (c) => c * c), layer("down", (c) => -c)],
      everywhere,
    );
    expect(correlation.ids).toEqual(["up", "squared", "down"]);
    expect(correlation.rows.map((row) => row.map((r) => Math.round(r * 1e9) / 1e9))).toEqual([
      [1, 1, -1],
      [1, 1, -1],
      [-1, -1, 1],
    ]);
  });

  it("gives classes their shares, largest first, and no mean", () => {
    const soil: ClassLayer = {
      ...layer("soil", (c) => (c < 6 ? 1 : 0)),
      unit: "class",
      classes: ["Loam", "Clay", "Sand"],
    };
    const {layers, correlation} = auditLayers([soil], everywhere);
    expect(layers[0]?.classes).toEqual([
      {name: "Clay", pct: 75},
      {name: "Loam", pct: 25},
    ]);
    expect(layers[0]).not.toHaveProperty("spread");
    expect(correlation.ids).toEqual([]);
  });

  it("of a layer without data says so instead of failing", () => {
    const [found] = auditLayers([layer("a", () => Number.NaN)], everywhere).layers;
    expect(found?.coveragePct).toBe(0);
    expect(found?.spread?.count).toBe(0);
    expect(found?.moransI).toBeNaN();
  });
});
