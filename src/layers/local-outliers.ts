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
  const cells = sortIntoCells(x, y, kept, cell);
  const gone = new Uint8Array(x.length);
  const side = new Int8Array(x.length);
  const removed: number[] = [];
  let changed: Uint8Array | undefined;
  for (let round = 0; round < ROUNDS; round++) {
    judgeCells(values, cells, gone, changed, {floor, deviations}, side);
    const odd = indexesAmong(kept, (i) => {
      if (doubtful[i] && !gone[i]) side[i] = -1;
      return side[i] !== 0;
    });
    const alone = withoutWitnesses(x, y, pass, odd, side, 1.5 * cell);
    if (alone.length === 0) break;
    for (const i of alone) {
      gone[i] = 1;
      side[i] = 0;
      removed.push(i);
    }
    changed = cellsAround(cells, x, y, alone);
  }
  return removed.sort((a, b) => a - b);
}

/**
 * Writes into `side` +1 where a record is odd above its neighbourhood, −1 where odd below, 0 where it fits.
 *
 * @param changed - 1 for cells whose neighbourhood lost a record since the last round; the others stay as judged.
 */
function judgeCells(
  values: Float64Array,
  {cols, rows, start, order}: Cells,
  gone: Uint8Array,
  changed: Uint8Array | undefined,
  {floor, deviations}: {readonly floor: number; readonly deviations: number},
  side: Int8Array,
): void {
  const scratch = new Float64Array(order.length);
  for (let row = 0; row < rows; row++) {
    for (let col = 0; col < cols; col++) {
      const own = row * cols + col;
      if (start[own] === start[own + 1] || changed?.[own] === 0) continue;
      let count = 0;
      for (let r = Math.max(0, row - 1); r <= Math.min(rows - 1, row + 1); r++) {
        const from = start[r * cols + Math.max(0, col - 1)] as number;
        const to = start[r * cols + Math.min(cols - 1, col + 1) + 1] as number;
        for (let k = from; k < to; k++) {
          const i = order[k] as number;
          if (!gone[i]) scratch[count++] = values[i] as number;
        }
      }
      const judged = count > LEAST_NEIGHBOURS;
      const middle = judged ? medianInPlace(scratch, count) : Number.NaN;
      for (let k = 0; k < count; k++) scratch[k] = Math.abs((scratch[k] as number) - middle);
      const limit = judged ? deviations * Math.max(MAD_TO_SD * medianInPlace(scratch, count), floor) : Infinity;
      for (let k = start[own] as number; k < (start[own + 1] as number); k++) {
        const i = order[k] as number;
        const difference = (values[i] as number) - middle;
        side[i] = !gone[i] && Math.abs(difference) > limit ? Math.sign(difference) : 0;
      }
    }
  }
}

function withoutWitnesses(
  x: Float64Array,
  y: Float64Array,
  pass: Int32Array,
  odd: Int32Array,
  side: Int8Array,
  reach: number,
): number[] {
  const index = indexPoints(x, y, odd);
  const alone: number[] = [];
  for (const i of odd) {
    let witnesses = 0;
    forEachWithin(index, x[i] as number, y[i] as number, reach, (j) => {
      const elsewhere = j !== i && (pass[j] !== pass[i] || pass[i] === -1);
      if (elsewhere && side[j] === side[i]) witnesses++;
    });
    if (witnesses < WITNESSES) alone.push(i);
  }
  return alone;
}

/** Records by square cell; those of cell c are `order[start[c] … start[c + 1])`. */
interface Cells {
  readonly west: number;
  readonly south: number;
  readonly size: number;
  readonly cols: number;
  readonly rows: number;
  readonly start: Int32Array;
  readonly order: Int32Array;
}

function sortIntoCells(x: Float64Array, y: Float64Array, kept: Int32Array, size: number): Cells {
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
  const cols = kept.length === 0 ? 0 : Math.floor((east - west) / size) + 1;
  const rows = kept.length === 0 ? 0 : Math.floor((north - south) / size) + 1;
  const start = new Int32Array(cols * rows + 1);
  const cell = Int32Array.from(kept);
  for (let k = 0; k < cell.length; k++) {
    const i = kept[k] as number;
    const c = Math.floor(((y[i] as number) - south) / size) * cols + Math.floor(((x[i] as number) - west) / size);
    cell[k] = c;
    start[c + 1] = (start[c + 1] as number) + 1;
  }
  for (let c = 0; c < cols * rows; c++) start[c + 1] = (start[c + 1] as number) + (start[c] as number);
  const next = start.slice();
  const order = new Int32Array(kept.length);
  for (let k = 0; k < cell.length; k++) {
    const c = cell[k] as number;
    order[next[c] as number] = kept[k] as number;
    next[c] = (next[c] as number) + 1;
  }
  return {west, south, size, cols, rows, start, order};
}

/** 1 for the cells of some records and the cells about them. */
function cellsAround(cells: Cells, x: Float64Array, y: Float64Array, records: readonly number[]): Uint8Array {
  const {west, south, size, cols, rows} = cells;
  const around = new Uint8Array(cols * rows);
  for (const i of records) {
    const col = Math.floor(((x[i] as number) - west) / size);
    const row = Math.floor(((y[i] as number) - south) / size);
    for (let r = Math.max(0, row - 1); r <= Math.min(rows - 1, row + 1); r++) {
      around.fill(1, r * cols + Math.max(0, col - 1), r * cols + Math.min(cols - 1, col + 1) + 1);
    }
  }
  return around;
}

function indexesAmong(indexes: Int32Array, isSo: (i: number) => boolean): Int32Array {
  const found = new Int32Array(indexes.length);
  let count = 0;
  for (const i of indexes) if (isSo(i)) found[count++] = i;
  return found.slice(0, count);
}
