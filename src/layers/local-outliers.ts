import {pick} from "../stats/pick.ts";
import {forEachWithin, indexPoints} from "../stats/point-index.ts";
import {MAD_TO_SD, medianInPlace, typicalOf} from "../stats/robust.ts";

/** Blocks are three cells wide; a cell is at least this wide, and at least one swath. Metres. */
const LEAST_CELL_M = 10;
/** Fewer records than this make no neighbourhood. */
const LEAST_NEIGHBOURS = 5;
/** Spread below this share of the field's median is calm, not certainty. */
const LEAST_SPREAD = 0.03;
/** An odd record stays when this many odd records of other passes beside it say the same. */
const WITNESSES = 3;
const ROUNDS = 2;

/**
 * Records far from the median of the block of ground around them (3 × 3 cells), in robust standard deviations
 * (1.4826 MAD, at least 3 % of the field's median).
 *
 * An odd record stays when three odd records of other passes within 1.5 cells differ the same way: the ground is
 * odd there (a wet hole, a waterway), because a machine's error seldom crosses passes. Two rounds.
 *
 * @param kept - Indexes to judge, rising.
 * @param pass - Pass per record; records with −1 are passes of their own.
 * @param swathM - Usual swath; the cells grow with it.
 * @param doubtful - 1 for records to count as odd however wide their neighbourhood spreads: those without grain.
 * @returns Indexes found odd, rising.
 */
export function localOutliers(
  x: Float64Array,
  y: Float64Array,
  values: Float64Array,
  pass: Int32Array,
  kept: Int32Array,
  swathM: number,
  deviations: number,
  doubtful: Uint8Array,
): number[] {
  const cell = Math.max(LEAST_CELL_M, swathM || 0);
  const floor = LEAST_SPREAD * typicalOf(pick(values, kept));
  const removed: number[] = [];
  let rest = kept;
  for (let round = 0; round < ROUNDS; round++) {
    const odd = oddRecords(x, y, values, rest, cell, floor, deviations);
    for (const i of rest) if (doubtful[i]) odd.set(i, -1);
    const alone = withoutWitnesses(x, y, pass, odd, 1.5 * cell);
    if (alone.length === 0) break;
    removed.push(...alone);
    const gone = new Set(alone);
    rest = rest.filter((i) => !gone.has(i));
  }
  return removed.sort((a, b) => a - b);
}

/** Indexes of odd records, with +1 where above and −1 where below their neighbourhood. */
function oddRecords(
  x: Float64Array,
  y: Float64Array,
  values: Float64Array,
  kept: Int32Array,
  cell: number,
  floor: number,
  deviations: number,
): Map<number, 1 | -1> {
  const {cols, rows, start, order} = sortIntoCells(x, y, kept, cell);
  const odd = new Map<number, 1 | -1>();
  const scratch = new Float64Array(kept.length);
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const own = row * cols + col;
      if (start[own] === start[own + 1]) continue;
      let count = 0;
      for (let r = Math.max(0, row - 1); r <= Math.min(rows - 1, row + 1); r++) {
        const from = start[r * cols + Math.max(0, col - 1)] as number;
        const to = start[r * cols + Math.min(cols - 1, col + 1) + 1] as number;
        for (let k = from; k < to; k++) scratch[count++] = values[order[k] as number] as number;
      }
      if (count <= LEAST_NEIGHBOURS) continue;
      const middle = medianInPlace(scratch, count);
      for (let k = 0; k < count; k++) scratch[k] = Math.abs((scratch[k] as number) - middle);
      const limit = deviations * Math.max(MAD_TO_SD * medianInPlace(scratch, count), floor);
      for (let k = start[own] as number; k < (start[own + 1] as number); k++) {
        const i = order[k] as number;
        const difference = (values[i] as number) - middle;
        if (Math.abs(difference) > limit) odd.set(i, difference > 0 ? 1 : -1);
      }
    }
  }
  return odd;
}

function withoutWitnesses(
  x: Float64Array,
  y: Float64Array,
  pass: Int32Array,
  odd: ReadonlyMap<number, 1 | -1>,
  reach: number,
): number[] {
  const candidates = Int32Array.from(odd.keys()).sort();
  const index = indexPoints(x, y, candidates);
  const alone: number[] = [];
  for (const i of candidates) {
    let witnesses = 0;
    forEachWithin(index, x[i] as number, y[i] as number, reach, (j) => {
      const elsewhere = j !== i && (pass[j] !== pass[i] || pass[i] === -1);
      if (elsewhere && odd.get(j) === odd.get(i)) witnesses++;
    });
    if (witnesses < WITNESSES) alone.push(i);
  }
  return alone;
}

/** Records by square cell; those of cell c are `order[start[c] … start[c + 1])`. */
function sortIntoCells(
  x: Float64Array,
  y: Float64Array,
  kept: Int32Array,
  cell: number,
): {cols: number; rows: number; start: Int32Array; order: Int32Array} {
  let west = Infinity;
  let south = Infinity;
  let east = -Infinity;
  let north = -Infinity;
  for (const i of kept) {
    west = Math.min(west, x[i] as number);
    east = Math.max(east, x[i] as number);
    south = Math.min(south, y[i] as number);
    north = Math.max(north, y[i] as number);
  }
  const cols = kept.length === 0 ? 0 : Math.floor((east - west) / cell) + 1;
  const rows = kept.length === 0 ? 0 : Math.floor((north - south) / cell) + 1;
  const start = new Int32Array(cols * rows + 1);
  const cellOf = (i: number): number =>
    Math.floor(((y[i] as number) - south) / cell) * cols + Math.floor(((x[i] as number) - west) / cell);
  for (const i of kept) start[cellOf(i) + 1] = (start[cellOf(i) + 1] as number) + 1;
  for (let c = 0; c < cols * rows; c++) start[c + 1] = (start[c + 1] as number) + (start[c] as number);
  const next = start.slice();
  const order = new Int32Array(kept.length);
  for (const i of kept) {
    const c = cellOf(i);
    order[next[c] as number] = i;
    next[c] = (next[c] as number) + 1;
  }
  return {cols, rows, start, order};
}
