import type {Field} from "../geo/field.ts";
import {boxOf} from "../geo/measure.ts";
import {cellCount, type Grid, gridOver} from "../grid/grid.ts";
import {maskOf} from "../grid/rasterize.ts";
import {indexesWhere} from "../stats/pick.ts";
import {THINNED, type Track} from "./track.ts";

/** Pixels of the picture of cut ground, metres; larger for very large fields. */
const PIXEL_M = 0.5;
const MOST_PIXELS = 16_000_000;
/** Ground the same pass cut this recently is its own, not an overlap. */
const OWN_GROUND_S = 30;
/** Shares are smoothed by the median of this many records to either side. */
const SMOOTH_RECORDS = 5;
/** Overlaps below a tenth of the header are within what positions can tell. */
const FULL_SHARE = 0.9;
/** When most records overlap, the width is set too wide or positions drift: then nothing is corrected. */
const MOST_OVERLAPPING = 0.5;

/** Records less than this share of the header to the side of one another were on one line. */
const SAME_LINE_SHARE = 0.15;

export interface EffectiveSwath {
  /** Share of the header in standing crop, 0 to 1, along the track; 1 where it cannot be told. */
  readonly share: Float64Array;
  /** False when overlaps are so common that the recorded width itself must be wrong. */
  readonly trusted: boolean;
  /** True where rows were taken out: overlaps are seen, but not which pass came first, so no width can be corrected. */
  readonly split: boolean;
  /** Share of records that overlap by more than a tenth, and their median share when they do. */
  readonly overlapping: number;
  readonly typicalShare: number;
}

/**
 * How much of the header stood in uncut crop, from the ground covered so far.
 *
 * In harvest order, points across each record's header are looked up in a picture of cut ground, then its rectangle
 * (width × distance, along the heading) is painted in. Idea: bitmap method of Han et al. (1997), from memory.
 *
 * In a log with rows taken out the rest of a pass often stands further down, so its order is no harvest order: there
 * the ground is gone over forwards and backwards, and a record's share is the lesser of the two.
 *
 * @param swathM - Recorded header width along the track, metres.
 * @param bare - 1 where next to no grain came, along the track.
 * @param clip - Ground outside the field counts as cut already.
 */
export function effectiveSwath(
  track: Track,
  swathM: Float64Array,
  bare: Uint8Array,
  field: Field,
  clip: boolean,
): EffectiveSwath {
  const split = track.missing > THINNED;
  const order = inTime(track);
  const share = sharesInOrder(track, order, swathM, bare, blankPicture(field, clip));
  if (split) {
    const back = sharesInOrder(track, order.slice().reverse(), swathM, bare, blankPicture(field, clip));
    for (let k = 0; k < share.length; k++) share[k] = Math.min(share[k] as number, back[k] as number);
  }
  const smooth = smoothAlongPasses(track, share);
  let checked = 0;
  const overlaps: number[] = [];
  for (let k = 0; k < smooth.length; k++) {
    if (track.pass[k] === -1) continue;
    checked++;
    if ((smooth[k] as number) >= FULL_SHARE) smooth[k] = 1;
    else overlaps.push(smooth[k] as number);
  }
  overlaps.sort((a, b) => a - b);
  const overlapping = checked === 0 ? 0 : overlaps.length / checked;
  return {
    share: smooth,
    trusted: overlapping <= MOST_OVERLAPPING,
    split,
    overlapping,
    typicalShare: overlaps[overlaps.length >> 1] ?? 1,
  };
}

function sharesInOrder(
  track: Track,
  order: Int32Array,
  swathM: Float64Array,
  bare: Uint8Array,
  picture: Picture,
): Float64Array {
  const share = new Float64Array(track.x.length).fill(1);
  let header: Header | undefined;
  for (const k of order) {
    const width = swathM[k] as number;
    if (track.pass[k] === -1 || !(width > 0) || Number.isNaN(track.east[k] as number)) continue;
    if (header?.width !== width) header = headerOf(width, picture.cellSize);
    share[k] = uncutShare(picture, track, k, header);
    // A machine that brings no grain leaves the crop to the next pass, whatever its header says.
    if (!bare[k]) paint(picture, track, k, width);
  }
  return share;
}

/** Which record cut each pixel first: its place along the track + 1, 0 where the crop stands. */
interface Picture extends Grid {
  readonly cutBy: Int32Array;
  /** What stands beyond the picture's edge. */
  readonly beyond: number;
}
const NO_CROP = -1;

function blankPicture(field: Field, clip: boolean): Picture {
  const box = boxOf(field.outline);
  const pixel = Math.max(PIXEL_M, Math.sqrt(((box.east - box.west) * (box.north - box.south)) / MOST_PIXELS));
  const grid = gridOver(field.frame, box, pixel, pixel, 2 * MOST_PIXELS);
  const cutBy = new Int32Array(cellCount(grid));
  if (clip) {
    maskOf(grid, field.outline).forEach((inside, at) => {
      if (!inside) cutBy[at] = NO_CROP;
    });
  }
  return {...grid, cutBy, beyond: clip ? NO_CROP : 0};
}

/** Machines work side by side, so ground is cut in order of time, not machine by machine. */
function inTime(track: Track): Int32Array {
  const order = indexesWhere(track.x.length, () => true);
  const several = track.machine.some((machine) => machine !== track.machine[0]);
  return several && track.timeIs === "logged"
    ? order.sort((a, b) => (track.timeS[a] as number) - (track.timeS[b] as number) || a - b)
    : order;
}

/** A header and the points across it that are looked at, metres from its middle; two to a pixel. */
interface Header {
  readonly width: number;
  readonly sides: Float64Array;
}

function headerOf(width: number, pixel: number): Header {
  const across = Math.max(8, Math.ceil((2 * width) / pixel));
  return {width, sides: Float64Array.from({length: across}, (_, s) => ((s + 0.5) / across - 0.5) * width)};
}

function uncutShare(picture: Picture, track: Track, k: number, {sides, width}: Header): number {
  const {west, north: top, cols, rows, cutBy, beyond} = picture;
  const perMetre = 1 / picture.cellSize;
  const split = track.missing > THINNED;
  const {timeS, pass} = track;
  const ex = track.east[k] as number;
  const ny = track.north[k] as number;
  const half = lengthOf(track, k) / 2;
  const middleX = (track.x[k] as number) - half * ex;
  const middleY = (track.y[k] as number) - half * ny;
  let free = 0;
  for (let s = 0; s < sides.length; s++) {
    const side = sides[s] as number;
    const col = Math.floor((middleX - side * ny - west) * perMetre);
    const row = Math.floor((top - (middleY + side * ex)) * perMetre);
    const within = col >= 0 && row >= 0 && col < cols && row < rows;
    const cut = within ? (cutBy[row * cols + col] as number) : beyond;
    if (cut === 0) {
      free++;
    } else if (cut > 0) {
      const by = cut - 1;
      const own = pass[by] === pass[k] && Math.abs((timeS[k] as number) - (timeS[by] as number)) < OWN_GROUND_S;
      if (own || (split && isSameLine(track, k, by, width))) free++;
    }
  }
  return free / sides.length;
}

/** Marks the uncut pixels whose centre lies in a record's rectangle, so that widths are neither gained nor lost. */
function paint(picture: Picture, track: Track, k: number, width: number): void {
  const {cutBy, cellSize: pixel, cols, rows} = picture;
  const ex = track.east[k] as number;
  const ny = track.north[k] as number;
  // A pixel more behind closes the seam to the record before.
  const halfLength = (Math.max(lengthOf(track, k), bridgeTo(track, k)) + pixel) / 2;
  const halfWidth = width / 2;
  const middleX = (track.x[k] as number) - (halfLength - pixel / 2) * ex - picture.west - pixel / 2;
  const middleY = picture.north - (track.y[k] as number) + (halfLength - pixel / 2) * ny - pixel / 2;
  const reachX = Math.abs(ex) * halfLength + Math.abs(ny) * halfWidth;
  const reachY = Math.abs(ny) * halfLength + Math.abs(ex) * halfWidth;
  const lastCol = Math.min(cols - 1, Math.floor((middleX + reachX) / pixel));
  const lastRow = Math.min(rows - 1, Math.floor((middleY + reachY) / pixel));
  const firstCol = Math.max(0, Math.ceil((middleX - reachX) / pixel));
  for (let row = Math.max(0, Math.ceil((middleY - reachY) / pixel)); row <= lastRow; row++) {
    const dy = middleY - row * pixel;
    for (let col = firstCol; col <= lastCol; col++) {
      const dx = col * pixel - middleX;
      if (Math.abs(dx * ex + dy * ny) > halfLength || Math.abs(dy * ex - dx * ny) > halfWidth) continue;
      const at = row * cols + col;
      if (cutBy[at] === 0) cutBy[at] = k + 1;
    }
  }
}

/** Distance cut by a record; a distance no machine drives in its interval is cut short. */
function lengthOf(track: Track, k: number): number {
  const most = 3 * track.typical.speedMPerS * (track.intervalS[k] as number);
  return Math.min(track.distanceM[k] as number, most);
}

/**
 * Rows taken out of a log often stand further down in it, as one more drive along the same line: nothing was cut twice
 * there.
 */
function isSameLine({x, y, east, north}: Track, k: number, by: number, width: number): boolean {
  const dx = (x[by] as number) - (x[k] as number);
  const dy = (y[by] as number) - (y[k] as number);
  return Math.abs(dx * (north[k] as number) - dy * (east[k] as number)) < SAME_LINE_SHARE * width;
}

/** Where rows were taken out of a log: the way to the record before in the same pass, whose ground was cut as well. */
function bridgeTo({x, y, pass, missing}: Track, k: number): number {
  if (missing <= THINNED || k === 0 || pass[k] !== pass[k - 1]) return 0;
  return Math.hypot((x[k] as number) - (x[k - 1] as number), (y[k] as number) - (y[k - 1] as number));
}

/** Medians keep the edge between full and partial width sharp. */
function smoothAlongPasses(track: Track, share: Float64Array): Float64Array {
  const smooth = share.slice();
  const window = new Float64Array(2 * SMOOTH_RECORDS + 1);
  for (const {from, to} of track.passes) {
    // Among records that all cut the full header the median needs no sorting.
    let partial = 0;
    for (let j = from; j < Math.min(to, from + SMOOTH_RECORDS); j++) if ((share[j] as number) < FULL_SHARE) partial++;
    for (let k = from; k < to; k++) {
      const entering = k + SMOOTH_RECORDS;
      const leaving = k - SMOOTH_RECORDS - 1;
      if (entering < to && (share[entering] as number) < FULL_SHARE) partial++;
      if (leaving >= from && (share[leaving] as number) < FULL_SHARE) partial--;
      smooth[k] =
        partial === 0 ? 1 : medianOf(share, Math.max(from, k - SMOOTH_RECORDS), Math.min(to - 1, entering), window);
    }
  }
  return smooth;
}

/** Upper median of `values[first … last]`, by insertion into a short window. */
function medianOf(values: Float64Array, first: number, last: number, window: Float64Array): number {
  const count = last - first + 1;
  for (let j = 0; j < count; j++) {
    const value = values[first + j] as number;
    let at = j;
    while (at > 0 && (window[at - 1] as number) > value) {
      window[at] = window[at - 1] as number;
      at--;
    }
    window[at] = value;
  }
  return window[count >> 1] as number;
}
