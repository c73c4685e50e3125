import {quantile} from "../../stats/robust.ts";
import type {AppliedLog} from "./applied-log.ts";
import {drivenOrder, isFar, isInOrder, STANDING_M, type Typical, typicalsOf} from "./driven-order.ts";
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
  readonly typical: Typical;
  /** False when logged distances cannot be those between the positions, and were left alone. */
  readonly distanceFits: boolean;
  /** False when records do not follow one another: then there are no passes. */
  readonly ordered: boolean;
}

/** A gap in time longer than this, or than three records, ends a pass. */
const GAP_S = 10;
/** A corner sharper than 60 degrees ends a pass: no strip of ground bends like that. */
const CORNER_COSINE = 0.5;
/** Heading is read over at least this distance to either side, so that the receiver's jitter does not turn it. */
const HEADING_BASE_M = 1.5;
const HEADING_BASE_RECORDS = 12;
/** A step this many times the logged distance spans rows that were taken out of the log. */
const ROWS_MISSING = 1.5;

/**
 * Orders the records (by machine and time; as they stand where there is no time) and cuts them into passes.
 *
 * A pass ends where the machine is switched off or its position is lost, at a gap in time, a jump, a sharp corner,
 * another machine or another logged pass. Marks duplicates, lone jumps of the receiver and standing records.
 *
 * @param reason - From `screenRecords`; marks are added in place to this copy of the caller.
 */
export function followPasses(log: AppliedLog, reason: Uint8Array): Drive {
  const record = drivenOrder(log, reason);
  const count = record.length;
  const x = Float64Array.from(record, (i) => log.x[i] as number);
  const y = Float64Array.from(record, (i) => log.y[i] as number);
  const timeS = log.timeS && Float64Array.from(record, (i) => log.timeS?.[i] as number);
  const typical = typicalsOf(log, record);
  const off = (k: number): boolean => reason[record[k] as number] === SWITCHED_OFF;
  const empty = {east: nans(count), north: nans(count), joined: new Uint8Array(count)};
  const base = {record, x, y, ...(timeS && {timeS}), typical};
  const stepM = new Float64Array(count);
  const alongM = new Float64Array(count);
  const pass = new Int32Array(count).fill(-1);
  if (!isInOrder(log, record, typical)) {
    return {...base, ...empty, pass, passes: [], stepM, alongM, distanceFits: true, ordered: false};
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
  const distanceFits = distancesFit(log, record, joined, stepM);
  const distanceM = distanceFits ? log.distanceM : undefined;
  if (distanceM) standForDistance(distanceM, record, joined, stepM);
  for (const {from: a, to: b} of passes) {
    headingsOf(a, b, x, y, empty.east, empty.north);
    if (!joined[a]) stepM[a] = firstStep(distanceM, record, a, b, stepM, typical.stepM);
  }
  for (let k = 0; k < count; k++) {
    const i = record[k] as number;
    if (reason[i] === 0 && !((stepM[k] as number) >= STANDING_M)) reason[i] = STANDING;
  }
  return {...base, ...empty, pass, passes, stepM, alongM, distanceFits, ordered: true};
}

const SWITCHED_OFF = reasonNumber("switched off");
const STANDING = reasonNumber("standing");

const nans = (count: number): Float64Array => new Float64Array(count).fill(Number.NaN);

/** Whether place k belongs to the pass of the place before. */
function goesOn(log: AppliedLog, record: Int32Array, k: number, typical: Typical): boolean {
  const [a, b] = [record[k - 1] as number, record[k] as number];
  if (log.pass && log.pass[a] !== log.pass[b]) return false;
  if (log.timeS) {
    const elapsed = (log.timeS[b] as number) - (log.timeS[a] as number);
    if (elapsed > Math.max(GAP_S, 3 * typical.intervalS)) return false;
  }
  return !isFar(log, a, b, typical);
}

/**
 * Whether the logged distances are the steps between positions, for most records or, where many rows were taken out of
 * the log, for the nearest ones. If not their unit is wrong. True without distances.
 */
function distancesFit({distanceM}: AppliedLog, record: Int32Array, joined: Uint8Array, stepM: Float64Array): boolean {
  if (!distanceM) return true;
  const times = stepM.map((step, k) => (joined[k] ? step / (distanceM[record[k] as number] as number) : Number.NaN));
  const fits = (ratio: number): boolean => ratio > 1 / ROWS_MISSING && ratio < ROWS_MISSING;
  return fits(quantile(times, 0.5)) || fits(quantile(times, 0.1));
}

/** Where rows are missing a record stands for the distance it logged, not for the way from the record before. */
function standForDistance(distanceM: Float64Array, record: Int32Array, joined: Uint8Array, stepM: Float64Array): void {
  for (let k = 0; k < stepM.length; k++) {
    const logged = distanceM[record[k] as number] as number;
    if (!joined[k] || !(logged > 0) || (stepM[k] as number) <= ROWS_MISSING * logged) continue;
    joined[k] = 0;
    stepM[k] = logged;
  }
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
  distanceM: Float64Array | undefined,
  record: Int32Array,
  from: number,
  to: number,
  stepM: Float64Array,
  typicalM: number,
): number {
  const next = from + 1 < to ? (stepM[from + 1] as number) : typicalM;
  const logged = distanceM?.[record[from] as number] ?? Number.NaN;
  // A distance since the pass before is no ground covered by this one.
  return logged > 0 && logged <= 3 * Math.max(next, typicalM) ? logged : next;
}
