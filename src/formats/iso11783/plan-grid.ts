import {FieldError} from "../../errors.ts";
import {type LocalFrame, multiPolygonToLonLat, toLonLat} from "../../geo/frame.ts";
import {boxOf} from "../../geo/measure.ts";
import type {LonLat, MultiPolygon, Polygon, XY} from "../../geo/shapes.ts";
import {burn} from "../../grid/rasterize.ts";
import {formatNumber} from "../../units/format.ts";
import {metres} from "../../units/quantity.ts";
import type {TaskGrid} from "./task-data.ts";

/** Points along each side of a cell that are asked where they lie. Odd, so that the centre is one of them. */
const POINTS = 5;
const MOST_CELLS = 1_000_000;

/**
 * Polygons with rates as cells: each cell takes the rates of the polygon that has most of its ground, of 25 points.
 *
 * A cell with any of its points in a polygon gets a rate, so that no strip along the border goes without; the others
 * are NaN. Cells are as high and wide as asked at the frame's centre, in degrees, from the south-west corner of all.
 *
 * @param rates - For each product one rate for each polygon.
 * @param cellM - Side of a cell, metres.
 * @throws {FieldError} `iso11783/too-many-cells`, `iso11783/cell-size`.
 */
export function taskGrid(
  frame: LocalFrame,
  polygons: readonly Polygon[],
  rates: readonly (readonly number[])[],
  cellM: number,
  type: 1 | 2,
): TaskGrid {
  if (!(cellM > 0)) {
    throw new FieldError("iso11783/cell-size", `Cells of ${cellM} m make no grid.`, {hint: "Choose about 10 m."});
  }
  const [lon, lat] = toLonLat(frame, {x: 0, y: 0});
  const cellWidth = toLonLat(frame, {x: cellM, y: 0})[0] - lon;
  const cellHeight = toLonLat(frame, {x: 0, y: cellM})[1] - lat;
  const shapes = polygons.map((polygon) => multiPolygonToLonLat(frame, [polygon]));
  const box = boxOf(shapes.flat().map((polygon) => polygon.map((ring) => ring.map(asXY))));
  // Nine decimals, as they are written, and never inside the field.
  const west = Math.floor(box.west * 1e9) / 1e9;
  const south = Math.floor(box.south * 1e9) / 1e9;
  const cols = Math.max(1, Math.ceil((box.east - west) / cellWidth));
  const rows = Math.max(1, Math.ceil((box.north - south) / cellHeight));
  if (cols * rows > MOST_CELLS) {
    throw new FieldError(
      "iso11783/too-many-cells",
      `Cells of ${cellM} m make a grid of ${formatNumber(cols * rows)} cells.`,
      {hint: `Choose larger cells: up to ${formatNumber(MOST_CELLS)} are written.`},
    );
  }
  const inPoints = ([x, y]: LonLat): XY => ({
    x: ((x - west) / cellWidth) * POINTS,
    y: ((y - south) / cellHeight) * POINTS,
  });
  const {owner} = burn(
    {
      frame,
      west: metres(0),
      north: metres(rows * POINTS),
      cellSize: metres(1),
      cols: cols * POINTS,
      rows: rows * POINTS,
    },
    shapes.map((shape): MultiPolygon => shape.map((polygon) => polygon.map((ring) => ring.map(inPoints)))),
  );
  const owners = mostIn(owner, cols, rows);
  return {
    west,
    north: south + rows * cellHeight,
    cellWidth,
    cellHeight,
    cols,
    rows,
    type,
    rates: rates.map((ofProduct) => Float64Array.from(owners, (i) => (i < 0 ? Number.NaN : (ofProduct[i] as number)))),
  };
}

const asXY = ([x, y]: LonLat): XY => ({x, y});

/** The polygon that has most of each cell's points, the first of equals; -1 where none has any. */
function mostIn(owner: Int32Array, cols: number, rows: number): Int32Array {
  const owners = new Int32Array(cols * rows).fill(-1);
  const counts = new Map<number, number>();
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      counts.clear();
      for (let j = 0; j < POINTS; j++) {
        const from = ((row * POINTS + j) * cols + col) * POINTS;
        for (let i = from; i < from + POINTS; i++) {
          const found = owner[i] as number;
          if (found >= 0) counts.set(found, (counts.get(found) ?? 0) + 1);
        }
      }
      let most = 0;
      for (const [index, count] of counts) {
        const best = owners[row * cols + col] as number;
        if (count < most || (count === most && index > best)) continue;
        most = count;
        owners[row * cols + col] = index;
      }
    }
  }
  return owners;
}
