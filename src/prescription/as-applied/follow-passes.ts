import {typicalOf} from "../../stats/robust.ts";
import type {AppliedLog} from "./applied-log.ts";
import {reasonNumber} from "./screen-records.ts";

/** A log in the order it was driven, cut into passes. Index k is a place along the way; `record[k]` is its row. */
export interface Drive {
  readonly record: Int32Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly timeS?: Float64Array;
  /** Index into `passes`, −1 where the machine was off or its place is not known. */
  readonly pass: Int32Array;
  readonly passes: readonly {readonly from: number; readonly to: number}[];
  /** Length of the ground a place stands for: the way behind it, metres. */
  readonly stepM: Float64Array;
  /** Way since the begin of the pass, metres. */
  readonly alongM: Float64Array;
  /** Direction of travel, a unit vector; NaN where unknown. */
  readonly east: Float64Array;
  readonly north: Float64Array;
  /** 1 where the strip of ground goes on from the place before. */
  readonly joined: Uint8Array;
  readonly typical: {readonly stepM: number; readonly intervalS: number};
  /** False when records do not follow one another: then there are no passes. */
  readonly ordered: boolean;
}

/** A gap in time longer than this, or than three records, ends a pass. */
const GAP_S = 10;
/** More steps than this share that jump or turn back: the rows are not in order. */
const MOST_DISORDER = 0.25;
/** A corner sharper than 60 degrees ends a pass: no strip of ground bends like that. */
const CORNER_COSINE = 0.5;
/** Heading is read over at least this distance to either side, so that the receiver's jitter does not turn it. */
const HEADING_BASE_M = 1.5;
const HEADING_BASE_RECORDS = 12;
/** Steps shorter than this are a standing machine. */
const STANDING_M = 0.02;

/**
 * Orders the records (by machine and time; as they stand where there is no time) and cuts them into passes.
 *
 * A pass ends where the machine is switched off or its position is lost, at a gap in time, a jump, a sharp corner,
 * another machine or another logged pass. Marks duplicates, lone jumps of the receiver and standing records.
 *
 * @param reason - From `screenRecords`; marks are added in place to this copy of the caller.
 */
export function followPasses(log: AppliedLog, reason: Uint8Array): Drive {
  const placed = drivenOrder(log);
  markDuplicates(log, placed, reason);
  const known = placed.filter((i) => reason[i] !== NO_POSITION && reason[i] !== DUPLICATE);
  const rough = typicals(log, known);
  const record = markJumps(log, known, rough, reason);
  const count = record.length;
  const x = Float64Array.from(record, (i) => log.x[i] as number);
  const y = Float64Array.from(record, (i) => log.y[i] as number);
  const timeS = log.timeS && Float64Array.from(record, (i) => log.timeS?.[i] as number);
  const typical = typicals(log, record);
  const off = (k: number): boolean => reason[record[k] as number] === SWITCHED_OFF;
  const empty = {east: nans(count), north: nans(count), joined: new Uint8Array(count)};
  const base = {record, x, y, ...(timeS && {timeS}), typical};
  const stepM = new Float64Array(count);
  const alongM = new Float64Array(count);
  const pass = new Int32Array(count).fill(-1);
  if (disorder(log, record, typical) > MOST_DISORDER) {
    return {...base, ...empty, pass, passes: [], stepM, alongM, ordered: false};
  }
  const passes: {from: number; to: number}[] = [];
  const joined = empty.joined;
  let from = -1;
  let last = -1;
  const close = (): void => {
    if (from >= 0) passes.push({from, to: last + 1});
    from = -1;
  };
  for (let k = 0; k < count; k++) {
    if (off(k)) {
      close();
      last = -1;
      continue;
    }
    const follows = last === k - 1 && k > 0 && from >= 0 && goesOn(log, record, k, typical);
    if (!follows || turnsSharply(x, y, k, from)) close();
    if (follows) {
      joined[k] = 1;
      stepM[k] = Math.hypot((x[k] as number) - (x[k - 1] as number), (y[k] as number) - (y[k - 1] as number));
    }
    if (from < 0) from = k;
    else alongM[k] = (alongM[k - 1] as number) + (stepM[k] as number);
    pass[k] = passes.length;
    last = k;
  }
  close();
  for (const {from: a, to: b} of passes) {
    headingsOf(a, b, x, y, empty.east, empty.north);
    if (!joined[a]) stepM[a] = firstStep(log, record, a, b, stepM, typical.stepM);
  }
  for (let k = 0; k < count; k++) {
    const i = record[k] as number;
    if (reason[i] === 0 && !((stepM[k] as number) >= STANDING_M)) reason[i] = STANDING;
  }
  return {...base, pass, passes, stepM, alongM, east: empty.east, north: empty.north, joined, ordered: true};
}

const NO_POSITION = reasonNumber("no position");
const DUPLICATE = reasonNumber("duplicate");
const JUMP = reasonNumber("position jump");
const SWITCHED_OFF = reasonNumber("switched off");
const STANDING = reasonNumber("standing");

const nans = (count: number): Float64Array => new Float64Array(count).fill(Number.NaN);

/** By machine, then time, then row; rows without a time stay where they stand. */
function drivenOrder({x, timeS, machine}: AppliedLog): Int32Array {
  const order = Int32Array.from(x, (_, i) => i);
  const moment = timeS && heldTimes(timeS);
  const before = (a: number, b: number): number =>
    (machine ? (machine[a] as number) - (machine[b] as number) : 0) ||
    (moment ? (moment[a] as number) - (moment[b] as number) : 0) ||
    a - b;
  for (let k = 1; k < order.length; k++) if (before(k - 1, k) > 0) return order.sort(before);
  return order;
}

/** A time that is missing is that of the row before. */
function heldTimes(timeS: Float64Array): Float64Array {
  const held = timeS.slice();
  let last = 0;
  for (let i = 0; i < held.length; i++) {
    if (Number.isFinite(held[i] as number)) last = held[i] as number;
    else held[i] = last;
  }
  return held;
}

/** The same place at the same moment (where there is no time: in the very next row with the same rate) counts once. */
function markDuplicates(log: AppliedLog, order: Int32Array, reason: Uint8Array): void {
  const {x, y, timeS, machine} = log;
  const rate = log.rateLbPerAcre ?? log.massLb;
  for (let k = 1; k < order.length; k++) {
    const i = order[k] as number;
    if (reason[i] === NO_POSITION) continue;
    for (let back = k - 1; back >= 0 && back >= k - 4; back--) {
      const j = order[back] as number;
      if (machine?.[i] !== machine?.[j] || (timeS && timeS[i] !== timeS[j])) break;
      if (x[i] !== x[j] || y[i] !== y[j] || (!timeS && rate?.[i] !== rate?.[j])) {
        if (timeS) continue;
        break;
      }
      reason[i] = DUPLICATE;
      break;
    }
  }
}

function typicals({x, y, timeS}: AppliedLog, order: Int32Array): {stepM: number; intervalS: number} {
  const step = nans(order.length);
  const interval = nans(order.length);
  for (let k = 1; k < order.length; k++) {
    const [a, b] = [order[k - 1] as number, order[k] as number];
    step[k] = Math.hypot((x[b] as number) - (x[a] as number), (y[b] as number) - (y[a] as number));
    if (timeS) interval[k] = (timeS[b] as number) - (timeS[a] as number);
  }
  return {stepM: typicalOf(step) || 0, intervalS: timeS ? typicalOf(interval) || 0 : Number.NaN};
}

/** Further than a machine drives from one record to the other. */
function isFar(log: AppliedLog, a: number, b: number, typical: Drive["typical"]): boolean {
  const {x, y, timeS, machine} = log;
  if (machine && machine[a] !== machine[b]) return true;
  const step = Math.hypot((x[b] as number) - (x[a] as number), (y[b] as number) - (y[a] as number));
  const elapsed = timeS ? Math.abs((timeS[b] as number) - (timeS[a] as number)) : Number.NaN;
  const records = elapsed > 0 && typical.intervalS > 0 ? Math.max(1, elapsed / typical.intervalS) : 1;
  return step > (timeS ? 3 : 5) * typical.stepM * records + 5;
}

/** Marks single records far from both neighbours; returns the others. */
function markJumps(log: AppliedLog, order: Int32Array, typical: Drive["typical"], reason: Uint8Array): Int32Array {
  const kept = new Int32Array(order.length);
  let count = 0;
  for (let k = 0; k < order.length; k++) {
    const i = order[k] as number;
    const before = count > 0 ? (kept[count - 1] as number) : -1;
    const after = k + 1 < order.length ? (order[k + 1] as number) : -1;
    const lone =
      before >= 0 &&
      after >= 0 &&
      isFar(log, before, i, typical) &&
      isFar(log, i, after, typical) &&
      !isFar(log, before, after, typical);
    if (lone) reason[i] = JUMP;
    else kept[count++] = i;
  }
  return kept.slice(0, count);
}

/** Share of steps that jump or turn back on the one before. */
function disorder(log: AppliedLog, order: Int32Array, typical: Drive["typical"]): number {
  const {x, y} = log;
  let odd = 0;
  let steps = 0;
  let [beforeX, beforeY] = [0, 0];
  for (let k = 1; k < order.length; k++) {
    const [a, b] = [order[k - 1] as number, order[k] as number];
    const dx = (x[b] as number) - (x[a] as number);
    const dy = (y[b] as number) - (y[a] as number);
    if (Math.abs(dx) + Math.abs(dy) < STANDING_M) continue;
    steps++;
    if (isFar(log, a, b, typical) || dx * beforeX + dy * beforeY < 0) odd++;
    [beforeX, beforeY] = [dx, dy];
  }
  return steps === 0 ? 0 : odd / steps;
}

/** Whether place k belongs to the pass of the place before. */
function goesOn(log: AppliedLog, record: Int32Array, k: number, typical: Drive["typical"]): boolean {
  const [a, b] = [record[k - 1] as number, record[k] as number];
  if (log.pass && log.pass[a] !== log.pass[b]) return false;
  if (log.timeS) {
    const elapsed = (log.timeS[b] as number) - (log.timeS[a] as number);
    if (elapsed > Math.max(GAP_S, 3 * typical.intervalS)) return false;
  }
  return !isFar(log, a, b, typical);
}

function turnsSharply(x: Float64Array, y: Float64Array, k: number, from: number): boolean {
  let behind = k - 1;
  const [px, py] = [x[k - 1] as number, y[k - 1] as number];
  while (behind > from && Math.hypot(px - (x[behind] as number), py - (y[behind] as number)) < HEADING_BASE_M) behind--;
  if (from < 0 || behind < from || k - 1 <= from) return false;
  const [ax, ay] = [px - (x[behind] as number), py - (y[behind] as number)];
  const [bx, by] = [(x[k] as number) - px, (y[k] as number) - py];
  const lengths = Math.hypot(ax, ay) * Math.hypot(bx, by);
  return Math.hypot(bx, by) > 0.5 && lengths > 0 && ax * bx + ay * by < CORNER_COSINE * lengths;
}

/** From a place behind to one ahead, so that strips of ground meet edge to edge at every record. */
function headingsOf(
  from: number,
  to: number,
  x: Float64Array,
  y: Float64Array,
  east: Float64Array,
  north: Float64Array,
): void {
  for (let k = from; k < to; k++) {
    const a = farEnough(x, y, k, -1, from, to);
    const b = farEnough(x, y, k, 1, from, to);
    const dx = (x[b] as number) - (x[a] as number);
    const dy = (y[b] as number) - (y[a] as number);
    const length = Math.hypot(dx, dy);
    const known = length >= STANDING_M;
    east[k] = known ? dx / length : k > from ? (east[k - 1] as number) : Number.NaN;
    north[k] = known ? dy / length : k > from ? (north[k - 1] as number) : Number.NaN;
  }
}

function farEnough(x: Float64Array, y: Float64Array, k: number, by: 1 | -1, from: number, to: number): number {
  let j = k;
  for (let n = 0; n < HEADING_BASE_RECORDS && j + by >= from && j + by < to; n++) {
    j += by;
    if (Math.hypot((x[j] as number) - (x[k] as number), (y[j] as number) - (y[k] as number)) >= HEADING_BASE_M) break;
  }
  return j;
}

/** What the first record of a pass covers: as logged, else as much as the next one. */
function firstStep(
  log: AppliedLog,
  record: Int32Array,
  from: number,
  to: number,
  stepM: Float64Array,
  typicalM: number,
): number {
  const next = from + 1 < to ? (stepM[from + 1] as number) : typicalM;
  const logged = log.distanceM?.[record[from] as number] ?? Number.NaN;
  // A distance since the pass before is no ground covered by this one.
  return logged > 0 && logged <= 3 * Math.max(next, typicalM) ? logged : next;
}
