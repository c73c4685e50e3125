import {pick} from "../stats/pick.ts";
import {typicalOf} from "../stats/robust.ts";
import {headings, rebuildPasses, turns} from "./rebuild-passes.ts";
import type {YieldLog} from "./yield-log.ts";

/**
 * A yield log put in harvest order, with passes rebuilt and what the log left out worked out. Index k is a place
 * along the track; `record[k]` is the row of the log that stands there.
 */
export interface Track {
  readonly record: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  /** Logged seconds, or reconstructed from intervals and distances. Rises along each machine's track. */
  readonly timeS: Float64Array;
  readonly intervalS: Float64Array;
  readonly distanceM: Float64Array;
  readonly speedMPerS: Float64Array;
  /** Direction of travel, a unit vector; NaN where unknown. */
  readonly east: Float64Array;
  readonly north: Float64Array;
  readonly machine: Int32Array;
  /** 1 in a turn with the header down: the width cut is unknown. */
  readonly turning: Uint8Array;
  /** Index into `passes`, −1 where nothing was cut (header up, turning, no position). */
  readonly pass: Int32Array;
  readonly passes: readonly Pass[];
  readonly typical: {readonly intervalS: number; readonly speedMPerS: number};
  /** What had to be assumed. */
  readonly timeIs: "logged" | "from intervals" | "one second a record";
  /** False when the records do not follow one another: then there are no passes, delays or ramps. */
  readonly ordered: boolean;
  /** Share of records that stand further from the one before than the distance they logged: rows are missing there. */
  readonly missing: number;
  /** Usual ratio of the distance logged to the step between positions: far from 1 where its unit is wrong. */
  readonly distancePerStep: number;
}

/** Places along the track from `from` up to, not including, `to`. */
export interface Pass {
  readonly from: number;
  readonly to: number;
}

/** A log with more rows missing than this is not whole. */
export const THINNED = 0.1;
/** Slower than this a machine stands. */
const STANDING_M_PER_S = 0.3;
/** A gap in time longer than this (or three records) begins a new pass. */
export const GAP_S = 10;
/** More steps than this share that no machine could drive: the rows are not in order. */
const MOST_JUMPS = 0.3;

/**
 * Orders the records (by machine, then time; by row where there is no time), works out distance, speed, interval
 * and heading where they were not logged, and rebuilds passes.
 *
 */
export function followTrack(log: YieldLog): Track {
  const count = log.x.length;
  const record = harvestOrder(log);
  const take = (column: Float64Array | undefined): Float64Array | undefined => column && alongTrack(column, record);
  const x = take(log.x) as Float64Array;
  const y = take(log.y) as Float64Array;
  const machine = Int32Array.from(take(log.machine) ?? new Float64Array(count));
  const logged = take(log.timeS);
  const step = steps(x, y);

  const intervalS = intervals(take(log.intervalS), logged, machine);
  const speedColumn = take(log.speedMPerS);
  const distanceM = take(log.distanceM)?.slice() ?? new Float64Array(count).fill(Number.NaN);
  fillDistances(distanceM, speedColumn, intervalS, step);
  const speedMPerS = new Float64Array(count);
  for (let k = 0; k < count; k++) speedMPerS[k] = (distanceM[k] as number) / (intervalS[k] as number);
  const moving = speedMPerS.map((v) => (v > STANDING_M_PER_S ? v : Number.NaN));
  const typical = {intervalS: typicalOf(intervalS), speedMPerS: typicalOf(moving)};

  const timeS = logged ? fillTimes(logged, intervalS) : reckonTimes(intervalS, distanceM, step, typical.speedMPerS);
  const down = take(log.headerDown);
  const missing = log.distanceM ? share(step, (d, k) => d > jumpAt(distanceM[k] as number)) : 0;
  const distancePerStep = log.distanceM ? typicalOf(distanceM.map((d, k) => d / (step[k] as number))) : Number.NaN;
  const track = {
    ...{record, x, y, timeS, intervalS, distanceM, speedMPerS, machine},
    ...{typical, missing, distancePerStep},
  };
  const {east, north} = headings(track);
  const turning = turns({...track, east, north}, down);
  const ordered = followsOn(log, track, step);
  const passNumber = take(log.pass);
  const {pass, passes} = ordered
    ? rebuildPasses({...track, east, north, turning}, down, passNumber)
    : {pass: new Int32Array(count).fill(-1), passes: []};
  const timeIs = logged ? "logged" : log.intervalS ? "from intervals" : "one second a record";
  return {...track, east, north, turning, pass, passes, timeIs, ordered};
}

/**
 * A column of the log along the track. Where the log stands in harvest order that is the column itself, so it must not
 * be written to.
 */
export function alongTrack(column: Float64Array, record: Int32Array): Float64Array {
  return isInOrder(record) ? column : pick(column, record);
}

/** A column along the track in the order of the log. */
export function toLogOrder<T extends Float64Array | Int32Array | Uint8Array>(column: T, record: Int32Array): T {
  if (isInOrder(record)) return column;
  const out = column.slice() as T;
  for (let k = 0; k < record.length; k++) out[record[k] as number] = column[k] as number;
  return out;
}

function isInOrder(record: Int32Array): boolean {
  for (let k = 0; k < record.length; k++) if (record[k] !== k) return false;
  return true;
}

/** A track before its passes are known. */
export type Course = Omit<Track, "pass" | "passes" | "timeIs" | "ordered" | "turning" | "east" | "north">;
export type HeadedCourse = Course & Pick<Track, "east" | "north">;

function harvestOrder(log: YieldLog): Int32Array {
  const order = new Int32Array(log.x.length);
  for (let i = 0; i < order.length; i++) order[i] = i;
  const time = log.timeS;
  const machine = log.machine;
  const before = (a: number, b: number): number => {
    const byMachine = machine ? (machine[a] as number) - (machine[b] as number) : 0;
    return byMachine || (time ? (time[a] as number) - (time[b] as number) : 0) || a - b;
  };
  for (let i = 1; i < order.length; i++) {
    if (before(i - 1, i) > 0) return order.sort(before);
  }
  return order;
}

/** Straight distance from the last position known; NaN for the first, and where there is no position. */
function steps(x: Float64Array, y: Float64Array): Float64Array {
  const step = new Float64Array(x.length).fill(Number.NaN);
  let last = -1;
  for (let k = 0; k < x.length; k++) {
    if (!Number.isFinite((x[k] as number) + (y[k] as number))) continue;
    if (last >= 0) step[k] = Math.hypot((x[k] as number) - (x[last] as number), (y[k] as number) - (y[last] as number));
    last = k;
  }
  return step;
}

function intervals(
  logged: Float64Array | undefined,
  time: Float64Array | undefined,
  machine: Int32Array,
): Float64Array {
  const interval = logged ?? new Float64Array(machine.length).fill(Number.NaN);
  if (!logged && time) {
    for (let k = 1; k < time.length; k++) {
      const elapsed = (time[k] as number) - (time[k - 1] as number);
      if (machine[k] === machine[k - 1] && elapsed > 0 && elapsed <= GAP_S) interval[k] = elapsed;
    }
  }
  const typical = typicalOf(interval) || 1;
  return interval.map((s) => (s > 0 ? s : typical));
}

/** Where distance was not logged: speed times interval, else the step between positions. */
function fillDistances(
  distance: Float64Array,
  speed: Float64Array | undefined,
  interval: Float64Array,
  step: Float64Array,
): void {
  const usual = typicalOf(step);
  for (let k = 0; k < distance.length; k++) {
    if (Number.isFinite(distance[k] as number)) continue;
    const driven = speed ? (speed[k] as number) * (interval[k] as number) : (step[k] as number);
    // A step over a gap is not the length cut by one record.
    distance[k] = speed || driven <= 5 * usual ? driven : usual;
    if (Number.isNaN(distance[k] as number)) distance[k] = usual;
  }
}

function fillTimes(logged: Float64Array, interval: Float64Array): Float64Array {
  const time = logged.slice();
  for (let k = 1; k < time.length; k++) {
    if (Number.isNaN(time[k] as number)) time[k] = (time[k - 1] as number) + (interval[k] as number);
  }
  return time;
}

/** Without a clock: intervals add up, and a step longer than the record's own distance was driven at working speed. */
function reckonTimes(interval: Float64Array, distance: Float64Array, step: Float64Array, speed: number): Float64Array {
  const time = new Float64Array(interval.length);
  for (let k = 1; k < time.length; k++) {
    const own = interval[k] as number;
    const jumped = (step[k] as number) > jumpAt(distance[k] as number);
    time[k] = (time[k - 1] as number) + (jumped ? Math.max(own, (step[k] as number) / speed) : own);
  }
  return time;
}

/** A step longer than this was not driven within the record's own distance. */
function jumpAt(distanceM: number): number {
  return 1.5 * distanceM + 0.5;
}

/** Share of the known values for which something is so. */
function share(values: Float64Array, isSo: (value: number, k: number) => boolean): number {
  let known = 0;
  let so = 0;
  for (let k = 0; k < values.length; k++) {
    const value = values[k] as number;
    if (Number.isNaN(value)) continue;
    known++;
    if (isSo(value, k)) so++;
  }
  return known === 0 ? 0 : so / known;
}

/** False for loose points, shuffled rows, or two machines mixed in one log. */
function followsOn(log: YieldLog, track: Course, step: Float64Array): boolean {
  if (!log.timeS && !log.intervalS && !log.distanceM && !log.speedMPerS && !log.pass) return false;
  const jumps = share(step, (d, k) => {
    const elapsed = log.timeS ? (track.timeS[k] as number) - (track.timeS[k - 1] as number) : 0;
    const possible = 3 * track.typical.speedMPerS * Math.max(elapsed, track.typical.intervalS);
    return d > Math.max(possible, 10 * (track.distanceM[k] as number)) + 5;
  });
  return jumps <= MOST_JUMPS;
}
