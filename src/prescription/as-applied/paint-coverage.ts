import type {Field} from "../../geo/field.ts";
import {boxOf} from "../../geo/measure.ts";
import type {MultiPolygon} from "../../geo/shapes.ts";
import {cellCount, type Grid, gridOver} from "../../grid/grid.ts";
import type {Drive} from "./follow-passes.ts";

/** What fell where, cell by cell. */
export interface Coverage {
  readonly grid: Grid;
  /** lb/ac of everything that fell on a cell. */
  readonly rate: Float64Array;
  /** The part of it that fell on ground covered already. */
  readonly again: Float64Array;
  /** How many times a cell was covered; at most 255. */
  readonly visits: Uint8Array;
  /** Ground beyond the picture's edge. */
  readonly beyondM2: number;
  /** lb/ac × m² there. */
  readonly beyondAmount: number;
}

const MOST_PIXELS = 5_000_000;
/** Ground the same pass covered this many swaths of way ago is the inside of its own bend, no overlap. */
const OWN_BEND_SWATHS = 1.5;

/** An empty picture of a field and the plan's units, with room for a swath around them. */
export function pictureOver(field: Field, shapes: readonly MultiPolygon[], cellM: number, marginM: number): Grid {
  const box = boxOf([field.outline, ...shapes].flat());
  const [width, height] = [box.east - box.west + 2 * marginM, box.north - box.south + 2 * marginM];
  const cell = Math.max(cellM, Math.sqrt((width * height) / MOST_PIXELS));
  return gridOver(field.frame, box, cell, marginM, 2 * MOST_PIXELS);
}

export function blankCoverage(grid: Grid): Coverage {
  const count = cellCount(grid);
  return {
    grid,
    rate: new Float64Array(count),
    again: new Float64Array(count),
    visits: new Uint8Array(count),
    beyondM2: 0,
    beyondAmount: 0,
  };
}

/**
 * Paints every record's strip of ground: from the place before to its own, a swath wide, its ends square to the way.
 *
 * Strips of one pass share their ends, so that bends leave neither gaps nor double ground on the middle line. A cell is
 * painted when its centre is inside; a centre on an edge belongs to one strip only.
 *
 * @param rate - lb/ac by place along the drive; places of zero or NaN paint nothing.
 * @param swathM - By place.
 */
export function paintCoverage(grid: Grid, drive: Drive, rate: Float64Array, swathM: Float64Array): Coverage {
  const picture = blankCoverage(grid);
  const by = new Int32Array(cellCount(grid));
  const corners = new Float64Array(8);
  const cellM2 = grid.cellSize * grid.cellSize;
  let beyond = 0;
  let beyondAmount = 0;
  for (let k = 0; k < rate.length; k++) {
    const lbPerAcre = rate[k] as number;
    if (!(lbPerAcre > 0) || !stripOf(drive, k, swathM[k] as number, corners)) continue;
    const missed = fillStrip(picture, by, corners, drive, k, lbPerAcre, OWN_BEND_SWATHS * (swathM[k] as number));
    beyond += missed * cellM2;
    beyondAmount += missed * cellM2 * lbPerAcre;
  }
  return {...picture, beyondM2: beyond, beyondAmount};
}

/** Corners left behind, right behind, right, left. False where there is no strip. */
function stripOf(drive: Drive, k: number, width: number, corners: Float64Array): boolean {
  const {x, y, stepM, joined, pass} = drive;
  const own = pass[k];
  if (own === -1 || !(width > 0) || !((stepM[k] as number) > 0)) return false;
  const [atX, atY] = [x[k] as number, y[k] as number];
  let [ex, ny] = [drive.east[k] as number, drive.north[k] as number];
  let [backX, backY] = [atX - (stepM[k] as number) * ex, atY - (stepM[k] as number) * ny];
  let [backEx, backNy] = [ex, ny];
  if (joined[k]) {
    [backX, backY] = [x[k - 1] as number, y[k - 1] as number];
    if (pass[k - 1] === own) {
      [backEx, backNy] = [drive.east[k - 1] as number, drive.north[k - 1] as number];
    } else {
      [ex, ny] = [(atX - backX) / (stepM[k] as number), (atY - backY) / (stepM[k] as number)];
      [backEx, backNy] = [ex, ny];
    }
  }
  const half = width / 2;
  corners[0] = backX - half * backNy;
  corners[1] = backY + half * backEx;
  corners[2] = backX + half * backNy;
  corners[3] = backY - half * backEx;
  corners[4] = atX + half * ny;
  corners[5] = atY - half * ex;
  corners[6] = atX - half * ny;
  corners[7] = atY + half * ex;
  return !Number.isNaN((corners[0] as number) + (corners[4] as number));
}

const crossings = new Float64Array(4);

/** Scan lines through the cells' centres. Returns how many cells lie beyond the picture. */
function fillStrip(
  picture: Coverage,
  by: Int32Array,
  corners: Float64Array,
  drive: Drive,
  k: number,
  lbPerAcre: number,
  ownM: number,
): number {
  const {west, north, cellSize, cols, rows} = picture.grid;
  let high = Math.max(corners[1] as number, corners[3] as number, corners[5] as number, corners[7] as number);
  let low = Math.min(corners[1] as number, corners[3] as number, corners[5] as number, corners[7] as number);
  high = (north - high) / cellSize - 0.5;
  low = (north - low) / cellSize - 0.5;
  let missed = 0;
  for (let row = Math.ceil(high - 1e-9); row <= low + 1e-9; row++) {
    const found = crossingsAt(corners, north - (row + 0.5) * cellSize);
    for (let c = 0; c + 1 < found; c += 2) {
      const from = Math.ceil(((crossings[c] as number) - west) / cellSize - 0.5);
      const to = Math.ceil(((crossings[c + 1] as number) - west) / cellSize - 0.5);
      if (row < 0 || row >= rows) {
        missed += to - from;
        continue;
      }
      const first = Math.max(0, Math.min(cols, from));
      const last = Math.max(first, Math.min(cols, to));
      missed += to - from - (last - first);
      paintRow(picture, by, row * cols + first, row * cols + last, drive, k, lbPerAcre, ownM);
    }
  }
  return missed;
}

/** Where a scan line crosses the edges of a strip, rising: none, two, or four of a strip that bends into itself. */
function crossingsAt(corners: Float64Array, y: number): number {
  let found = 0;
  for (let a = 0, b = 6; a < 8; b = a, a += 2) {
    const ay = corners[a + 1] as number;
    const by = corners[b + 1] as number;
    if (ay > y === by > y) continue;
    // Always from the lower end, so that strips that share an edge cross it at the same place to the last bit.
    const [p, q] = ay < by ? [a, b] : [b, a];
    const py = corners[p + 1] as number;
    const px = corners[p] as number;
    const x = px + ((y - py) * ((corners[q] as number) - px)) / ((corners[q + 1] as number) - py);
    let at = found++;
    while (at > 0 && (crossings[at - 1] as number) > x) {
      crossings[at] = crossings[at - 1] as number;
      at--;
    }
    crossings[at] = x;
  }
  return found;
}

function paintRow(
  {rate, again, visits}: Coverage,
  by: Int32Array,
  from: number,
  to: number,
  {pass, alongM}: Drive,
  k: number,
  lbPerAcre: number,
  ownM: number,
): void {
  for (let at = from; at < to; at++) {
    const before = (by[at] as number) - 1;
    by[at] = k + 1;
    rate[at] = (rate[at] as number) + lbPerAcre;
    if (before < 0) {
      visits[at] = 1;
      continue;
    }
    const own = pass[before] === pass[k] && (alongM[k] as number) - (alongM[before] as number) <= ownM;
    if (!own) visits[at] = Math.min(255, (visits[at] as number) + 1);
    if ((visits[at] as number) > 1) again[at] = (again[at] as number) + lbPerAcre;
  }
}
