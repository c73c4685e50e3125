import {typicalOf} from "../../stats/robust.ts";
import type {AppliedLog} from "./applied-log.ts";
import {reasonNumber} from "./screen-records.ts";

/** What is usual from one record to the next. */
export interface Typical {
  readonly stepM: number;
  /** NaN where the log has no time. */
  readonly intervalS: number;
}

/** Steps shorter than this are a standing machine. */
export const STANDING_M = 0.02;
/** More steps than this share that jump or turn back: the rows are not in order. */
const MOST_DISORDER = 0.25;

/**
 * Rows in the order they were driven, without those that have no position, stand there twice, or are lone jumps of the
 * receiver; those are marked.
 *
 * @param reason - Marks are added in place.
 */
export function drivenOrder(log: AppliedLog, reason: Uint8Array): Int32Array {
  const placed = sortedRows(log);
  markDuplicates(log, placed, reason);
  const known = placed.filter((i) => reason[i] !== NO_POSITION && reason[i] !== DUPLICATE);
  return markJumps(log, known, typicalsOf(log, known), reason);
}

const NO_POSITION = reasonNumber("no position");
const DUPLICATE = reasonNumber("duplicate");
const JUMP = reasonNumber("position jump");

/** By machine, then time, then row; rows without a time stay where they stand. */
function sortedRows({x, timeS, machine}: AppliedLog): Int32Array {
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

export function typicalsOf({x, y, timeS}: AppliedLog, order: Int32Array): Typical {
  const step = new Float64Array(order.length).fill(Number.NaN);
  const interval = step.slice();
  for (let k = 1; k < order.length; k++) {
    const [a, b] = [order[k - 1] as number, order[k] as number];
    step[k] = Math.hypot((x[b] as number) - (x[a] as number), (y[b] as number) - (y[a] as number));
    if (timeS) interval[k] = (timeS[b] as number) - (timeS[a] as number);
  }
  return {stepM: typicalOf(step) || 0, intervalS: timeS ? typicalOf(interval) || 0 : Number.NaN};
}

/** Further than a machine drives from one record to the other. */
export function isFar(log: AppliedLog, a: number, b: number, typical: Typical): boolean {
  const {x, y, timeS, machine} = log;
  if (machine && machine[a] !== machine[b]) return true;
  const step = Math.hypot((x[b] as number) - (x[a] as number), (y[b] as number) - (y[a] as number));
  const elapsed = timeS ? Math.abs((timeS[b] as number) - (timeS[a] as number)) : Number.NaN;
  const records = elapsed > 0 && typical.intervalS > 0 ? Math.max(1, elapsed / typical.intervalS) : 1;
  return step > (timeS ? 3 : 5) * typical.stepM * records + 5;
}

/** Marks single records far from both neighbours; returns the others. */
function markJumps(log: AppliedLog, order: Int32Array, typical: Typical, reason: Uint8Array): Int32Array {
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

/** Whether records follow one another: few steps jump or turn back on the one before. */
export function isInOrder(log: AppliedLog, order: Int32Array, typical: Typical): boolean {
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
  return odd <= MOST_DISORDER * steps;
}
