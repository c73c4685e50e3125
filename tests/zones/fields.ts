import type {Field} from "../../src/geo/field.ts";
import {frameAt, multiPolygonToLonLat} from "../../src/geo/frame.ts";
import {areaM2, boxOf} from "../../src/geo/measure.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import {centreX, centreY, type Grid, gridOver} from "../../src/grid/grid.ts";
import type {ClassLayer, Layer} from "../../src/grid/layer.ts";
import type {Random} from "../../src/stats/random.ts";
import {squareMetres} from "../../src/units/quantity.ts";

export const ring = (...points: [number, number][]): XY[] =>
  [...points, points[0] as [number, number]].map(([x, y]) => ({x, y}));

export const box = (west: number, south: number, east: number, north: number): MultiPolygon => [
  [ring([west, south], [east, south], [east, north], [west, north])],
];

/** A field whose frame is given, so that its metres are the ones drawn, with a grid that just covers it. */
export function fieldFrom(outline: MultiPolygon, cellSize = 5): {field: Field; grid: Grid} {
  const frame = frameAt(-86.4, 40.55);
  const boundary = multiPolygonToLonLat(frame, outline);
  const field = {id: "test", name: "Test field", boundary, frame, outline, area: squareMetres(areaM2(outline))};
  return {field, grid: gridOver(frame, boxOf(outline), cellSize)};
}

const madeFrom = {step: "test", inputs: [], options: {}};

/** A layer from a formula in metres from the grid's south-west corner. */
export function layerFrom(grid: Grid, id: string, value: (x: number, y: number) => number): Layer {
  const values = Float64Array.from({length: grid.cols * grid.rows}, (_, i) =>
    value(
      centreX(grid, i % grid.cols) - grid.west,
      centreY(grid, Math.floor(i / grid.cols)) - (grid.north - grid.rows * grid.cellSize),
    ),
  );
  return {id, label: id, unit: "t/ha", grid, values, madeFrom};
}

export function classLayerFrom(
  grid: Grid,
  id: string,
  classes: readonly string[],
  index: (x: number, y: number) => number,
): ClassLayer {
  return {...layerFrom(grid, id, index), unit: "class", classes};
}

/** Waves of random heading and length, with some noise on top. */
export function randomLayer(grid: Grid, id: string, random: Random, shortestM = 120, noise = 0.2): Layer {
  const waves = Array.from({length: 8}, () => {
    const heading = 2 * Math.PI * random.next();
    const rate = (2 * Math.PI) / (shortestM * (1 + 4 * random.next()));
    return {
      x: rate * Math.cos(heading),
      y: rate * Math.sin(heading),
      phase: 7 * random.next(),
      height: random.normal(),
    };
  });
  return layerFrom(
    grid,
    id,
    (x, y) =>
      10 + waves.reduce((sum, w) => sum + w.height * Math.sin(w.x * x + w.y * y + w.phase), noise * random.normal()),
  );
}
