import type {Issue} from "../errors.ts";
import {type LocalFrame, multiPolygonToLonLat} from "../geo/frame.ts";
import {insideTest} from "../geo/inside.ts";
import {boxOf, perimeterM} from "../geo/measure.ts";
import type {Box, MultiPolygon, Polygon, XY} from "../geo/shapes.ts";
import {type DegreeCells, rowCellAreasM2} from "../grid/degree-cells.ts";
import {SQUARE_METRES_PER_ACRE} from "../units/factors.ts";
import {formatNumber, formatShort} from "../units/format.ts";
import type {Prescription} from "./prescription.ts";
import type {Receipt, ReceiptCheck} from "./receipt.ts";

/** Rates in cells as read back: degrees, row 0 north, lb of product per acre; NaN where the file sets none. */
export interface RateCells extends DegreeCells {
  readonly values: Float64Array;
}

export interface GridCheckOptions {
  readonly frame: LocalFrame;
  readonly file?: string;
  /** How far a rate may move because the format stores it in whole numbers. */
  readonly rateToleranceLbPerAcre: number;
}

/** Points along a side of a cell. Others than those a grid is made with. */
const POINTS = 4;
const MOST_OFF = 0.01;
/** Of a cell: the grid's corner has nine decimals, a tenth of a millimetre. */
const ROUNDING = 1e-4;

/**
 * Compares the cells of a grid with the polygons they were made from.
 *
 * Every polygon must lie on the grid. Cells wholly in one polygon must hold its rate, cells wholly outside the rate for outside. Cells that a border
 * crosses carry one rate for ground of two: what that moves over the field is worked out and said, and must not be
 * more than the strips along the borders can hold.
 */
export function checkGrid(prescription: Prescription, cells: RateCells, options: GridCheckOptions): Receipt {
  const {polygons, limits, totals} = prescription;
  const {values, cols} = cells;
  const ours = new Uint8Array(values.length);
  let beyond = 0;
  let [whole, wrong, totalLb, acres, least, most] = [0, 0, 0, 0, Infinity, -Infinity];
  const rowAcres = rowCellAreasM2(cells).map((areaM2) => areaM2 / SQUARE_METRES_PER_ACRE);
  const near = (a: number, b: number): boolean => Math.abs(a - b) <= options.rateToleranceLbPerAcre;
  for (const {polygon, rateLbPerAcre} of polygons) {
    const shape = inCells(polygon, options.frame, cells);
    if (!isWithin(boxOf(shape), cells)) beyond++;
    for (const cell of borderCells(shape, cells)) ours[cell] = 1;
    for (const {cell, points} of pointsIn(shape, cells)) {
      const rate = values[cell] as number;
      const spread = Number.isNaN(rate) ? limits.outsideLbPerAcre : rate;
      const share = (points / POINTS ** 2) * (rowAcres[Math.floor(cell / cols)] as number);
      ours[cell] = 1;
      acres += share;
      totalLb += share * spread;
      least = Math.min(least, spread);
      most = Math.max(most, spread);
      if (points < POINTS ** 2) continue;
      whole++;
      if (!near(spread, rateLbPerAcre)) wrong++;
    }
  }
  let [outside, wrongOutside] = [0, 0];
  values.forEach((rate, cell) => {
    if (ours[cell] !== 0 || touches(cell, ours, cells)) return;
    outside++;
    if (!Number.isNaN(rate) && !near(rate, limits.outsideLbPerAcre)) wrongOutside++;
  });
  const offLb = totalLb - totals.productLb;
  const checks: ReceiptCheck[] = [
    line("polygons", polygons.length, beyond, "cells under all of it"),
    line("cells wholly in one polygon", whole, wrong, "its rate"),
    line("cells wholly outside", outside, wrongOutside, "the rate for outside"),
    {
      what: "product",
      planned: `${formatNumber(totals.productLb)} lb`,
      inFile: `${formatNumber(totalLb)} lb`,
      passed: Math.abs(offLb) <= mostLbAlongBorders(prescription, cells, rowAcres),
    },
  ];
  const passed = checks.every((check) => check.passed);
  return {
    ...(options.file !== undefined && {file: options.file}),
    product: prescription.product.analysis,
    polygons: polygons.length,
    acres,
    distinctRates: new Set(values.filter((rate) => !Number.isNaN(rate))).size,
    minLbPerAcre: least,
    meanLbPerAcre: totalLb / acres,
    maxLbPerAcre: most,
    totalLb,
    plannedLb: totals.productLb,
    checks,
    passed,
    issues: [...(passed ? [] : [failure(checks, options.file)]), ...coarse(prescription, offLb, options.file)],
  };
}

/** A polygon in cells from the grid's north-west corner, so that the whole numbers below a point are its cell. */
function inCells(polygon: Polygon, frame: LocalFrame, {west, north, cellWidth, cellHeight}: RateCells): MultiPolygon {
  return multiPolygonToLonLat(frame, [polygon]).map((degrees) =>
    degrees.map((ring) => ring.map(([lon, lat]) => ({x: (lon - west) / cellWidth, y: (north - lat) / cellHeight}))),
  );
}

function isWithin({west, south, east, north}: Box, {cols, rows}: RateCells): boolean {
  return west >= -ROUNDING && south >= -ROUNDING && east <= cols + ROUNDING && north <= rows + ROUNDING;
}

/** Cells along the border of a shape: a narrow one may lie between the points of all its cells. */
function* borderCells(shape: MultiPolygon, {cols, rows}: RateCells): Generator<number> {
  for (const ring of shape.flat()) {
    for (let i = 0; i + 1 < ring.length; i++) {
      const [a, b] = [ring[i], ring[i + 1]] as [XY, XY];
      const steps = Math.max(1, Math.ceil(2 * Math.max(Math.abs(b.x - a.x), Math.abs(b.y - a.y))));
      for (let k = 0; k <= steps; k++) {
        const col = Math.floor(a.x + ((b.x - a.x) * k) / steps);
        const row = Math.floor(a.y + ((b.y - a.y) * k) / steps);
        if (col >= 0 && row >= 0 && col < cols && row < rows) yield row * cols + col;
      }
    }
  }
}

/** How many of a cell's points lie in a shape, for every cell that has some. */
function* pointsIn(shape: MultiPolygon, {cols, rows}: RateCells): Generator<{cell: number; points: number}> {
  const box = boxOf(shape);
  const inside = insideTest(shape);
  for (let row = Math.max(0, Math.floor(box.south)); row < Math.min(rows, Math.ceil(box.north)); row++) {
    for (let col = Math.max(0, Math.floor(box.west)); col < Math.min(cols, Math.ceil(box.east)); col++) {
      let points = 0;
      for (let i = 0; i < POINTS ** 2; i++) {
        const x = col + ((i % POINTS) + 0.5) / POINTS;
        const y = row + (Math.floor(i / POINTS) + 0.5) / POINTS;
        if (inside(x, y)) points++;
      }
      if (points > 0) yield {cell: row * cols + col, points};
    }
  }
}

/** A cell beside one of the field's: a border may cross it. */
function touches(cell: number, ours: Uint8Array, {cols, rows}: RateCells): boolean {
  const [row, col] = [Math.floor(cell / cols), cell % cols];
  for (let r = Math.max(0, row - 1); r <= Math.min(rows - 1, row + 1); r++) {
    for (let c = Math.max(0, col - 1); c <= Math.min(cols - 1, col + 1); c++) if (ours[r * cols + c] !== 0) return true;
  }
  return false;
}

/** Every border with a cell's diagonal on its one side or the other, at the highest rate. */
function mostLbAlongBorders({polygons}: Prescription, {values}: RateCells, rowAcres: readonly number[]): number {
  const most = Math.max(
    ...polygons.map(({rateLbPerAcre}) => rateLbPerAcre),
    values.reduce((a, b) => (Number.isNaN(b) ? a : Math.max(a, b)), 0),
  );
  const diagonal = Math.sqrt(2 * Math.max(...rowAcres) * SQUARE_METRES_PER_ACRE);
  const borders = polygons.reduce((sum, {polygon}) => sum + perimeterM([polygon]), 0);
  return (borders * diagonal * most) / SQUARE_METRES_PER_ACRE;
}

function line(what: string, count: number, wrong: number, should: string): ReceiptCheck {
  return {
    what,
    planned: `${formatNumber(count)} with ${should}`,
    inFile: wrong === 0 ? "the same" : `${formatNumber(wrong)} differ`,
    passed: wrong === 0,
  };
}

function failure(checks: readonly ReceiptCheck[], file: string | undefined): Issue {
  const failed = checks.filter(({passed}) => !passed).map(({what, inFile}) => `${what}: ${inFile}`);
  return {
    code: "prescription/readback-cells",
    severity: "error",
    message: `Read back from the file, ${failed.join("; ")}.`,
    ...(file !== undefined && {place: {file}}),
    hint: "Do not spread from this file: write it again and compare.",
  };
}

/** Cells too coarse for the borders they cross. */
function coarse({totals, product}: Prescription, offLb: number, file: string | undefined): Issue[] {
  const share = Math.abs(offLb) / totals.productLb;
  if (!(share > MOST_OFF)) return [];
  return [
    {
      code: "prescription/coarse-cells",
      severity: "warning",
      message: `Cells spread ${formatNumber(Math.abs(offLb))} lb of ${product.analysis} ${offLb > 0 ? "more" : "less"} than the polygons they stand for (${formatShort(100 * share, 1)} %).`,
      ...(file !== undefined && {place: {file}}),
      hint: "Choose smaller cells, or write the map as zones.",
    },
  ];
}
