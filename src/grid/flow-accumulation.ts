import type {Flooded} from "./fill.ts";
import {alongSteepest} from "./flow-facets.ts";
import {NEIGHBOUR_STEPS, neighbourOf, rimOf} from "./flow-neighbours.ts";

export type FlowMethod = "fd8" | "quinn" | "dinf" | "d8";

export interface FlowOptions {
  /**
   * "fd8" (default): shared out among all lower neighbours by slope. "quinn": by slope times the length of contour
   * towards each, 0.5 and 0.354 cells. "dinf": between the two that the steepest direction lies between. "d8": all of
   * it to the steepest.
   */
  readonly method?: FlowMethod;
  /** Shares of "fd8" go with the slope to this power. Default 1.1; higher draws flow together. */
  readonly exponent?: number;
  /**
   * What happens at the raster's edge and beside no-data. "leaves" (default): ground goes on at the slope it has, and
   * water that it falls to is gone. "ends": water that comes there is gone.
   */
  readonly edges?: "leaves" | "ends";
}

export interface Flow {
  /** Cells whose water passes through each cell, itself counted. NaN without a height. */
  readonly cells: Float64Array;
  /** 1 where some of that water comes from a cell at the edge: what lies beyond may add to it. */
  readonly fromEdge: Uint8Array;
  /** Cells whose water left the raster, and whose water stayed in a depression. Together all cells with a height. */
  readonly left: number;
  readonly held: number;
}

/**
 * How much ground drains through each cell.
 *
 * On bare heights water stays in depressions. On flooded ones nothing stays: where no neighbour is lower, water goes the
 * way the flood came. Of equally steep ways "d8" takes the first from east against the clock.
 *
 * Sources, from memory: O'Callaghan and Mark (1984) for "d8"; Freeman (1991), Computers & Geosciences 17:413-422, for
 * "fd8" and its exponent; Quinn and others (1991); Tarboton (1997) for "dinf". Checked by closed forms on planes, by mass balance, and against SAGA 8.5.0 cell by cell.
 */
export function flowAccumulation(
  ground: Float64Array | Flooded,
  cols: number,
  {method = "fd8", exponent = 1.1, edges = "leaves"}: FlowOptions = {},
): Flow {
  const flooded = "levels" in ground ? ground : undefined;
  const heights = flooded?.levels ?? (ground as Float64Array);
  const order = flooded ? flooded.order.slice().reverse() : fromTheTop(heights);
  const rim = rimOf(heights, cols);
  const cells = heights.map((z) => (Number.isNaN(z) ? Number.NaN : 1));
  const fromEdge = rim.slice();
  let left = 0;
  let held = 0;
  const shares = new Float64Array(8);
  for (const cell of order) {
    const amount = cells[cell] as number;
    if (edges === "ends" && rim[cell]) {
      left += amount;
      continue;
    }
    const total = share(heights, cols, cell, method, exponent, shares);
    if (total === 0) {
      const way = flooded?.from[cell] ?? -1;
      if (way === -1) {
        if (rim[cell]) left += amount;
        else held += amount;
      } else {
        cells[way] = (cells[way] as number) + amount;
        if (fromEdge[cell]) fromEdge[way] = 1;
      }
      continue;
    }
    for (let k = 0; k < 8; k++) {
      const share = shares[k] as number;
      if (share === 0) continue;
      const part = amount * (share / total);
      const next = neighbourOf(heights, cols, cell, k);
      if (next === -1) {
        left += part;
      } else {
        cells[next] = (cells[next] as number) + part;
        if (fromEdge[cell]) fromEdge[next] = 1;
      }
    }
  }
  return {cells, fromEdge, left, held};
}

/** What each neighbour gets, in any unit, and the sum of it; 0 where nothing is lower. */
function share(
  heights: Float64Array,
  cols: number,
  cell: number,
  method: FlowMethod,
  exponent: number,
  out: Float64Array,
): number {
  if (method === "dinf") return alongSteepest(heights, cols, cell, out);
  falls(heights, cols, cell, out);
  if (method === "d8") return steepestAlone(out);
  if (method === "fd8") return inShares(out, exponent);
  for (let k = 0; k < 8; k++) out[k] = (out[k] as number) * (CONTOUR[k % 2] as number);
  return inShares(out, 1);
}

/** Length of contour towards a neighbour along a row or column, and across, in cells. */
const CONTOUR = [0.5, 0.354];

function fromTheTop(heights: Float64Array): Int32Array {
  const known = Int32Array.from(heights.keys()).filter((cell) => !Number.isNaN(heights[cell] as number));
  return known.sort((a, b) => (heights[b] as number) - (heights[a] as number) || a - b);
}

/** Fall per cell of distance to each neighbour, 0 where it does not fall; beyond the edge the slope towards it goes on. */
function falls(heights: Float64Array, cols: number, cell: number, out: Float64Array): void {
  const height = heights[cell] as number;
  for (let k = 0; k < 8; k++) {
    const next = neighbourOf(heights, cols, cell, k);
    const behind = next === -1 ? neighbourOf(heights, cols, cell, (k + 4) % 8) : -1;
    const fall =
      next !== -1 ? height - (heights[next] as number) : behind !== -1 ? (heights[behind] as number) - height : 0;
    out[k] = fall > 0 ? fall / (NEIGHBOUR_STEPS[k] as number) : 0;
  }
}

function steepestAlone(falls: Float64Array): number {
  let best = 0;
  for (let k = 1; k < 8; k++) if ((falls[k] as number) > (falls[best] as number)) best = k;
  const steepest = falls[best] as number;
  falls.fill(0);
  falls[best] = steepest;
  return steepest;
}

function inShares(falls: Float64Array, exponent: number): number {
  let total = 0;
  for (let k = 0; k < 8; k++) {
    const fall = falls[k] as number;
    if (fall === 0) continue;
    falls[k] = exponent === 1 ? fall : fall ** exponent;
    total += falls[k] as number;
  }
  return total;
}
