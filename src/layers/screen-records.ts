import type {Field} from "../geo/field.ts";
import {buffer} from "../geo/geos.ts";
import {insideTest} from "../geo/inside.ts";
import type {ResolvedCleanOptions} from "./clean-options.ts";
import type {Track} from "./track.ts";
import {reasonCode} from "./yield-reasons.ts";

/** Two records closer than this are the same place. */
const SAME_PLACE_M = 0.01;
/** Ramps never take more than this share of a pass. */
const MOST_RAMP_SHARE = 0.4;

/**
 * Marks what can be told without a yield: no position, header up, outside, duplicates, and speeds at which nothing is
 * harvested. `reason` (along the track) is written where it still says kept.
 *
 * Speed comes before any statistic on yield: a few near-zero distances make yields of a thousand tonnes.
 */
export function screenRecords(track: Track, reason: Uint8Array, field: Field, options: ResolvedCleanOptions): void {
  const isInside = insideTest(buffer(field.outline, options.boundaryToleranceM));
  const jump = loneJumps(track);
  const isRepeat = placesSeen(track.x, track.y);
  const isSameMoment = momentsSeen(track);
  for (let k = 0; k < reason.length; k++) {
    const x = track.x[k] as number;
    const y = track.y[k] as number;
    if (Number.isNaN(x + y) || jump[k]) reason[k] = reasonCode("no-position");
    else if (track.ordered && track.pass[k] === -1) reason[k] = reasonCode(track.turning[k] ? "turn" : "header-up");
    else if (!isInside(x, y)) reason[k] = reasonCode("outside-field");
    else if (isRepeat(k) || isSameMoment(k)) reason[k] = reasonCode("duplicate");
    if (reason[k] === 0 && track.ordered) {
      const relative = (track.speedMPerS[k] as number) / track.typical.speedMPerS;
      if (!(relative >= options.slowest && relative <= options.fastest)) reason[k] = reasonCode("speed");
    }
  }
}

/**
 * Marks the ends of passes, sudden changes of speed, and passes with too little left.
 *
 * A pass begins with the first and ends with the last record that brought grain: a header left down on bare headland
 * looks like a crop of zero. Zeros inside a pass are not touched.
 *
 * @param bare - 1 where next to no grain came, along the track.
 */
export function screenPasses(track: Track, reason: Uint8Array, bare: Uint8Array, options: ResolvedCleanOptions): void {
  const {timeS, passes} = track;
  for (const {from, to} of passes) {
    const grain = bare.subarray(from, to);
    const cropped = grain.includes(0);
    const first = timeS[cropped ? from + grain.indexOf(0) : from] as number;
    const last = timeS[cropped ? from + grain.lastIndexOf(0) : to - 1] as number;
    const room = MOST_RAMP_SHARE * (last - first);
    const shrink = Math.min(1, room / (options.startRampS + options.endRampS || 1));
    for (let k = from; k < to; k++) {
      if (reason[k] !== 0) continue;
      if ((timeS[k] as number) - first < options.startRampS * shrink) reason[k] = reasonCode("pass-start");
      else if (last - (timeS[k] as number) < options.endRampS * shrink) reason[k] = reasonCode("pass-end");
    }
    markSpeedSteps(track, reason, from, to, options);
    if (usableS(track, reason, from, to) >= options.shortPassS) continue;
    for (let k = from; k < to; k++) if (reason[k] === 0) reason[k] = reasonCode("short-pass");
  }
}

/** Asked place by place, tells whether an earlier one was the same; a hash table of places, open addressing. */
function placesSeen(x: Float64Array, y: Float64Array): (k: number) => boolean {
  const size = 2 ** Math.ceil(Math.log2(2 * x.length + 2));
  const table = new Int32Array(size).fill(-1);
  const cols = new Int32Array(x.length);
  const rows = new Int32Array(x.length);
  for (let k = 0; k < x.length; k++) {
    cols[k] = Math.round((x[k] as number) / SAME_PLACE_M);
    rows[k] = Math.round((y[k] as number) / SAME_PLACE_M);
  }
  return (k) => {
    const col = cols[k] as number;
    const row = rows[k] as number;
    let at = (Math.imul(col, 0x9e3779b1) ^ Math.imul(row, 0x85ebca6b)) >>> 0;
    for (at = (at ^ (at >>> 15)) & (size - 1); ; at = (at + 1) & (size - 1)) {
      const seen = table[at] as number;
      if (seen === -1) break;
      if (cols[seen] === col && rows[seen] === row) return true;
    }
    table[at] = k;
    return false;
  };
}

/** More records than this share with the time of the one before: the clock is coarser than the records. */
const COARSE_CLOCK = 0.05;

/** Asked place by place, tells whether the machine logged the same moment just before; never so with a coarse clock. */
function momentsSeen({timeS, machine, timeIs}: Track): (k: number) => boolean {
  const isSame = (k: number): boolean => k > 0 && timeS[k] === timeS[k - 1] && machine[k] === machine[k - 1];
  if (timeIs !== "logged") return () => false;
  let same = 0;
  for (let k = 0; k < timeS.length; k++) if (isSame(k)) same++;
  return same > COARSE_CLOCK * timeS.length ? () => false : isSame;
}

/** From the first to the last usable record of a pass. */
function usableS(track: Track, reason: Uint8Array, from: number, to: number): number {
  let first = from;
  let last = to - 1;
  while (first < to && reason[first] !== 0) first++;
  while (last >= first && reason[last] !== 0) last--;
  if (last < first) return 0;
  return (track.timeS[last] as number) - (track.timeS[first] as number) + (track.intervalS[first] as number);
}

/** Far from the records before and after it, which are near one another: the receiver jumped. */
function loneJumps({x, y, distanceM, ordered}: Track): Uint8Array {
  const jump = new Uint8Array(x.length);
  if (!ordered) return jump;
  const apart2 = (a: number, b: number): number => {
    const dx = (x[a] as number) - (x[b] as number);
    const dy = (y[a] as number) - (y[b] as number);
    return dx * dx + dy * dy;
  };
  for (let k = 1; k + 1 < jump.length; k++) {
    const far = 3 * (distanceM[k] as number) + 5;
    const far2 = far * far;
    if (apart2(k - 1, k) > far2 && apart2(k, k + 1) > far2 && apart2(k - 1, k + 1) <= far2) jump[k] = 1;
  }
  return jump;
}

/** Flow lags a change of speed, so yield spikes when a machine slows and dips when it speeds up. */
function markSpeedSteps(
  track: Track,
  reason: Uint8Array,
  from: number,
  to: number,
  {mixingS, speedStep}: ResolvedCleanOptions,
): void {
  const {timeS, speedMPerS} = track;
  const most = speedStep * track.typical.speedMPerS;
  for (let k = from; k < to; k++) {
    if (reason[k] !== 0) continue;
    const own = speedMPerS[k] as number;
    const now = timeS[k] as number;
    let sudden = false;
    for (let j = k - 1; j >= from && now - (timeS[j] as number) <= mixingS && !sudden; j--) {
      sudden = Math.abs((speedMPerS[j] as number) - own) > most;
    }
    for (let j = k + 1; j < to && (timeS[j] as number) - now <= mixingS && !sudden; j++) {
      sudden = Math.abs((speedMPerS[j] as number) - own) > most;
    }
    if (sudden) reason[k] = reasonCode("speed-change");
  }
}
