import {MAD_TO_SD, mad, median} from "../stats/robust.ts";
import type {Track} from "./track.ts";

/** Shifts of work are compared on ground of this size that both harvested, metres. */
const CELL_M = 40;
const LEAST_RECORDS = 5;
const LEAST_CELLS = 5;
/** Differences below this are left alone. */
const LEAST_DIFFERENCE = 0.03;
/** And those within twice the standard error of the median ratio, which chance alone may make. */
const STANDARD_ERRORS = 2;
/** A machine that stood longer than this begins a new day of work: it may have been calibrated anew. */
const NIGHT_S = 5 * 3600;

export interface MachineFactor {
  readonly machine: number;
  /** Day of that machine's work, from 1; only where it worked more than one. */
  readonly day?: number;
  /** What the yields are multiplied by. */
  readonly factor: number;
  /** Squares of ground the factor was found on. */
  readonly cells: number;
}

/** One machine's work on one day. */
export interface Shift {
  readonly machine: number;
  readonly day?: number;
}

/** Splits a track into shifts: a new one with each machine and, if days count, after each night of one machine. */
export function shiftsOf(
  track: Track,
  byDay: boolean,
): {readonly shift: Int32Array; readonly shifts: readonly Shift[]} {
  const {machine, timeS, timeIs} = track;
  const shift = new Int32Array(machine.length);
  const found: {machine: number; day: number}[] = [];
  for (let k = 0; k < shift.length; k++) {
    const own = machine[k] as number;
    const last = found.at(-1);
    const night = byDay && timeIs === "logged" && k > 0 && (timeS[k] as number) - (timeS[k - 1] as number) > NIGHT_S;
    if (last?.machine !== own) found.push({machine: own, day: 1});
    else if (night) found.push({machine: own, day: last.day + 1});
    shift[k] = found.length - 1;
  }
  const several = new Set(found.filter(({day}) => day > 1).map((s) => s.machine));
  return {shift, shifts: found.map(({machine: own, day}) => ({machine: own, ...(several.has(own) && {day})}))};
}

/**
 * Factors that level shifts of work with one another: the median ratio of their median yields over ground they share.
 *
 * The shift with the most records is the reference. The others are levelled one by one, the one that shares most
 * ground with what is levelled already first, so that days that never met are levelled through those between them. A
 * shift that shares fewer than five squares, differs by less than 3 %, or by less than twice the standard error of the
 * ratio, keeps its yields.
 *
 * @param shift - Shift per record, an index into `shifts`.
 * @param kept - Records to compare.
 */
export function matchMachines(
  x: Float64Array,
  y: Float64Array,
  values: Float64Array,
  {shift, shifts}: ReturnType<typeof shiftsOf>,
  kept: Int32Array,
): {readonly factors: readonly MachineFactor[]; readonly byShift: Float64Array} {
  const byShift = new Float64Array(shifts.length).fill(1);
  if (shifts.length < 2) return {factors: [], byShift};
  const sizes = new Int32Array(shifts.length);
  for (const i of kept) sizes[shift[i] as number] = (sizes[shift[i] as number] as number) + 1;
  const squares = sharedSquares(x, y, values, shift, kept);
  const levelled = new Set([sizes.indexOf(Math.max(...sizes))]);
  const factors: MachineFactor[] = [];
  while (levelled.size < shifts.length) {
    let best = -1;
    let ratios: number[] = [];
    for (let s = 0; s < shifts.length; s++) {
      if (levelled.has(s)) continue;
      const own = ratiosOf(squares, s, levelled, byShift);
      if (best >= 0 && own.length <= ratios.length) continue;
      best = s;
      ratios = own;
    }
    levelled.add(best);
    const factor = median(ratios);
    const error = (MAD_TO_SD * mad(ratios)) / Math.sqrt(ratios.length);
    const difference = Math.abs(factor - 1);
    if (ratios.length < LEAST_CELLS || difference <= LEAST_DIFFERENCE || difference <= STANDARD_ERRORS * error)
      continue;
    byShift[best] = factor;
    factors.push({...(shifts[best] as Shift), factor, cells: ratios.length});
  }
  return {factors, byShift};
}

/** Squares that more than one shift worked in: the median yield of each shift with enough records there. */
function sharedSquares(
  x: Float64Array,
  y: Float64Array,
  values: Float64Array,
  shift: Int32Array,
  kept: Int32Array,
): Map<number, number>[] {
  const squares = new Map<string, Map<number, number[]>>();
  // A straight seam between two days may run along the edges of one set of squares; the other set, half a square off
  // both ways, then lies across it.
  for (const set of [0, 0.5]) {
    for (const i of kept) {
      const key = `${set} ${Math.floor((x[i] as number) / CELL_M + set)} ${Math.floor((y[i] as number) / CELL_M + set)}`;
      const square = squares.get(key) ?? new Map<number, number[]>();
      squares.set(key, square);
      const own = square.get(shift[i] as number);
      if (own) own.push(values[i] as number);
      else square.set(shift[i] as number, [values[i] as number]);
    }
  }
  return [...squares.values()]
    .map((square) => new Map([...square].filter(([, v]) => v.length >= LEAST_RECORDS).map(([s, v]) => [s, median(v)])))
    .filter((square) => square.size > 1);
}

/** Levelled work over one shift's, square by square. */
function ratiosOf(
  squares: readonly Map<number, number>[],
  own: number,
  levelled: ReadonlySet<number>,
  byShift: Float64Array,
): number[] {
  return squares.flatMap((square) => {
    const mine = square.get(own);
    const theirs = [...square].filter(([s]) => levelled.has(s)).map(([s, yields]) => yields * (byShift[s] as number));
    if (mine === undefined || theirs.length === 0) return [];
    const ratio = median(theirs) / mine;
    return Number.isFinite(ratio) && ratio > 0 ? [ratio] : [];
  });
}
