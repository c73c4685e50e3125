import {forEachWithin, indexPoints} from "../stats/point-index.ts";
import {median, quantile, typicalOf} from "../stats/robust.ts";
import type {Harvest} from "./record-yield.ts";
import {THINNED, type Track} from "./track.ts";

/** Delays looked at, seconds. Below zero, so that a log shifted already shows its dip at zero inside the curve. */
const FIRST_DELAY_S = -10;
const LAST_DELAY_S = 30;
/** The first seconds of a pass hold a filling machine. */
const FILLING_S = 20;
/** Enough pairs for a steady curve; more only cost time. */
const MOST_RECORDS = 8_000;
const LEAST_PAIRS = 200;
const LEAST_PASS_PAIRS = 8;
/** The largest tenth of the differences is left out: those are errors, not delays. */
const TRIM = 0.1;
/** A dip shallower than this below the middle of the curve is no evidence. */
const LEAST_DIP = 0.1;
/** Grain is averaged over this long to either side where rows are missing; else over one record to either side. */
const THINNED_WINDOW_S = 4;
/** Neighbours run the other way: more than 120 degrees apart. */
const OPPOSITE_COSINE = -0.5;

export interface DelayEstimate {
  /** Seconds from cutting to the sensor, mixing included; undefined when refused. */
  readonly delayS?: number;
  /** How much smaller the difference is than with no delay at all, 0 to 1. */
  readonly gain?: number;
  /** Why there is no estimate. */
  readonly refused?: string;
  /** Trimmed mean squared difference of neighbouring passes per delay, (t/ha)². */
  readonly curve: readonly {readonly delayS: number; readonly difference: number}[];
  readonly pairs: number;
  readonly passPairs: number;
}

/**
 * The delay at which neighbouring passes driven in opposite directions agree best.
 *
 * With a wrong delay the pattern of one pass is shifted forward, of its neighbour backward, so differences across
 * grow. The lowest point of the curve is refined by a parabola through three delays. Refused: fewer than 8 pairs of
 * passes, a lowest point at either end, or a dip shallower than a tenth.
 *
 * Method: differences between adjacent passes, equivalent to the least short-lag semivariance (Chung, Sudduth and
 * Drummond 2002). Checked on a synthetic log with a known lag of 15.5 s.
 */
export function estimateDelay(track: Track, reason: Uint8Array, harvest: Harvest): DelayEstimate {
  const {first, second, passPairs} = opposedPairs(track, reason, harvest);
  const pairs = first.length;
  if (pairs < LEAST_PAIRS || passPairs < LEAST_PASS_PAIRS) {
    return {
      refused: `only ${passPairs} pairs of neighbouring passes run in opposite directions; ${LEAST_PASS_PAIRS} are needed`,
      curve: [],
      pairs,
      passPairs,
    };
  }
  // About a second, in whole records: fractions of a record would smooth unevenly.
  const stepS = track.typical.intervalS * Math.max(1, Math.round(1 / track.typical.intervalS));
  const curve: {delayS: number; difference: number}[] = [];
  for (let n = Math.ceil(FIRST_DELAY_S / stepS); n * stepS <= LAST_DELAY_S; n++) {
    curve.push({delayS: n * stepS, difference: differenceAt(track, harvest, first, second, n * stepS)});
  }
  const heights = curve.map((c) => c.difference);
  const lowest = heights.indexOf(Math.min(...heights));
  const dip = 1 - (heights[lowest] as number) / median(heights);
  if (!(lowest > 0 && lowest < curve.length - 1)) {
    return {refused: "neighbouring passes agree best at the end of the range looked at", curve, pairs, passPairs};
  }
  if (!(dip >= LEAST_DIP)) {
    return {refused: "neighbouring passes agree about equally well at every delay", curve, pairs, passPairs};
  }
  const left = heights[lowest - 1] as number;
  const right = heights[lowest + 1] as number;
  const bend = left - 2 * (heights[lowest] as number) + right;
  const shift = bend > 0 ? (left - right) / (2 * bend) : 0;
  const delayS = Math.round(((curve[lowest] as {delayS: number}).delayS + shift * stepS) * 10) / 10;
  const none = curve.find((c) => c.delayS === 0)?.difference ?? Number.NaN;
  return {delayS, gain: 1 - (heights[lowest] as number) / none, curve, pairs, passPairs};
}

/** Records well inside their passes, each with the nearest record of a neighbouring pass driven the other way. */
function opposedPairs(
  track: Track,
  reason: Uint8Array,
  {swathM, areaM2PerS, grainKgPerS}: Harvest,
): {first: number[]; second: number[]; passPairs: number} {
  const {x, y, timeS, pass, passes, east, north} = track;
  const inner: number[] = [];
  for (const {from, to} of passes) {
    const begin = (timeS[from] as number) + FILLING_S;
    const end = timeS[to - 1] as number;
    for (let k = from; k < to; k++) {
      const usable = reason[k] === 0 && (areaM2PerS[k] as number) > 0 && !Number.isNaN(grainKgPerS[k] as number);
      const early = (timeS[k] as number) + FIRST_DELAY_S;
      if (usable && early >= begin && (timeS[k] as number) + LAST_DELAY_S <= end) inner.push(k);
    }
  }
  const index = indexPoints(x, y, Int32Array.from(inner));
  const width = typicalOf(swathM);
  const reach = 1.6 * (width > 0 ? width : 12);
  const every = Math.max(1, Math.ceil(inner.length / MOST_RECORDS));
  const first: number[] = [];
  const second: number[] = [];
  const counts = new Map<number, number>();
  for (let n = 0; n < inner.length; n += every) {
    const k = inner[n] as number;
    let best = -1;
    let least = Infinity;
    forEachWithin(index, x[k] as number, y[k] as number, reach, (j, distance2) => {
      if (pass[j] === pass[k] || distance2 > least || (distance2 === least && j > best)) return;
      const cosine = (east[j] as number) * (east[k] as number) + (north[j] as number) * (north[k] as number);
      if (!(cosine < OPPOSITE_COSINE)) return;
      best = j;
      least = distance2;
    });
    if (best < 0) continue;
    first.push(k);
    second.push(best);
    const low = Math.min(pass[k] as number, pass[best] as number);
    const high = Math.max(pass[k] as number, pass[best] as number);
    const key = low * passes.length + high;
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  const passPairs = [...counts.values()].filter((n) => n * every >= 5).length;
  return {first, second, passPairs};
}

function differenceAt(track: Track, harvest: Harvest, first: number[], second: number[], delayS: number): number {
  const squares = new Float64Array(first.length);
  let count = 0;
  const windowS = track.missing > THINNED ? THINNED_WINDOW_S : 1.25 * track.typical.intervalS;
  for (let p = 0; p < first.length; p++) {
    const a = yieldAt(track, harvest, first[p] as number, delayS, windowS);
    const b = yieldAt(track, harvest, second[p] as number, delayS, windowS);
    const difference = a - b;
    if (!Number.isNaN(difference)) squares[count++] = difference * difference;
  }
  const known = squares.subarray(0, count);
  const limit = quantile(known, 1 - TRIM);
  let sum = 0;
  let kept = 0;
  for (const square of known) {
    if (square > limit) continue;
    sum += square;
    kept++;
  }
  return sum / kept;
}

/**
 * Yield with the mean grain of the records within a window about that moment: the same smoothing at every delay. A
 * line between two records would smooth more at fractions of the interval and pull the lowest point there.
 */
function yieldAt(track: Track, harvest: Harvest, k: number, delayS: number, windowS: number): number {
  const {timeS, typical} = track;
  const moment = (timeS[k] as number) + delayS;
  let j = Math.max(0, Math.min(timeS.length - 1, k + Math.round(delayS / typical.intervalS)));
  while (j > 0 && (timeS[j - 1] as number) >= moment - windowS) j--;
  while (j < timeS.length && (timeS[j] as number) < moment - windowS) j++;
  let sum = 0;
  let count = 0;
  for (; j < timeS.length && (timeS[j] as number) <= moment + windowS; j++) {
    sum += harvest.grainKgPerS[j] as number;
    count++;
  }
  return (10 * sum) / count / (harvest.areaM2PerS[k] as number);
}
