import {type Course, GAP_S, type HeadedCourse, type Pass, THINNED, type Track} from "./track.ts";

/** Heading is read over at least this distance, so that the receiver's jitter does not turn it. */
const HEADING_BASE_M = 3;
const HEADING_BASE_RECORDS = 10;
/** Headings this long before and after are compared; further apart than 45 degrees is a turn. */
const TURN_S = 3;
const TURN_COSINE = Math.SQRT1_2;
/** In a log with rows missing, gaps straight ahead up to this long are missing rows, not new passes. */
const LONGEST_BRIDGE_S = 120;
const STRAIGHT_COSINE = 0.98;

/** Direction of travel, from the record at least 3 m behind; at the begin of a track, to the one ahead. */
export function headings(track: Course): {east: Float64Array; north: Float64Array} {
  const count = track.x.length;
  const east = new Float64Array(count).fill(Number.NaN);
  const north = new Float64Array(count).fill(Number.NaN);
  for (let k = 0; k < count; k++) {
    // Backward first: a record covers the ground behind it.
    if (look(track, k, -1, east, north) || look(track, k, 1, east, north) || k === 0) continue;
    east[k] = east[k - 1] as number;
    north[k] = north[k - 1] as number;
  }
  return {east, north};
}

/** Takes the heading at `k` from the first record far enough behind or ahead; false when there is none. */
function look(track: Course, k: number, by: 1 | -1, east: Float64Array, north: Float64Array): boolean {
  const {x, y, timeS, machine, typical} = track;
  const last = by === 1 ? Math.min(x.length - 1, k + HEADING_BASE_RECORDS) : Math.max(0, k - HEADING_BASE_RECORDS);
  for (let j = k + by; by === 1 ? j <= last : j >= last; j += by) {
    const gap = Math.abs((timeS[j] as number) - (timeS[k] as number));
    if (machine[j] !== machine[k] || gap > GAP_S + Math.abs(j - k) * typical.intervalS) return false;
    const dx = by * ((x[j] as number) - (x[k] as number));
    const dy = by * ((y[j] as number) - (y[k] as number));
    const length2 = dx * dx + dy * dy;
    if (!(length2 >= HEADING_BASE_M * HEADING_BASE_M)) continue;
    const length = Math.sqrt(length2);
    east[k] = dx / length;
    north[k] = dy / length;
    return true;
  }
  return false;
}

/**
 * 1 where, with the header down, the heading a few seconds before and after differ by more than 45 degrees: end-of-row turns, corners. Gentle
 * bends along a contour are not turns.
 */
export function turns(track: HeadedCourse, down: Float64Array | undefined): Uint8Array {
  const {timeS, machine, east, north} = track;
  const turning = new Uint8Array(timeS.length);
  const reach = Math.max(TURN_S, track.typical.intervalS);
  let before = 0;
  let after = 0;
  for (let k = 0; k < timeS.length; k++) {
    const now = timeS[k] as number;
    if (before < k && machine[before] !== machine[k]) before = k;
    while (before < k && now - (timeS[before] as number) > reach + 1e-6) before++;
    after = Math.max(after, k);
    while (
      after + 1 < timeS.length &&
      machine[after + 1] === machine[k] &&
      (timeS[after + 1] as number) - now <= reach + 1e-6
    ) {
      after++;
    }
    const cosine =
      (east[before] as number) * (east[after] as number) + (north[before] as number) * (north[after] as number);
    if (cosine < TURN_COSINE && down?.[k] !== 0) turning[k] = 1;
  }
  return turning;
}

/**
 * Cuts a track into passes.
 *
 * A new pass begins after header up, a turn, another machine or logged pass number, a gap in time, or a jump in
 * position. Where rows were taken out of a log, gaps straight ahead are bridged.
 *
 * @param down - 0 where the header was up, if the log says.
 * @param number - Pass number as logged, if the log says.
 */
export function rebuildPasses(
  track: HeadedCourse & Pick<Track, "turning">,
  down: Float64Array | undefined,
  number: Float64Array | undefined,
): {pass: Int32Array; passes: Pass[]} {
  const {timeS, machine, turning, x, y} = track;
  const pass = new Int32Array(timeS.length).fill(-1);
  const passes: Pass[] = [];
  const longestGap = Math.max(GAP_S, 3 * track.typical.intervalS);
  const thinned = track.missing > THINNED;
  let from = -1;
  let last = -1;
  const close = (): void => {
    if (from >= 0) passes.push({from, to: last + 1});
    from = -1;
  };
  for (let k = 0; k < timeS.length; k++) {
    if (down?.[k] === 0 || turning[k]) close();
    // A lost position is bridged; a raised header is not.
    if (down?.[k] === 0 || turning[k] || Number.isNaN((x[k] as number) + (y[k] as number))) continue;
    if (from >= 0) {
      const elapsed = (timeS[k] as number) - (timeS[last] as number);
      const step = Math.hypot((x[k] as number) - (x[last] as number), (y[k] as number) - (y[last] as number));
      const farthest = 3 * track.typical.speedMPerS * Math.max(elapsed, track.typical.intervalS) + 5;
      const renumbered = number !== undefined && number[k] !== number[last];
      const gap = elapsed > longestGap && !(thinned && elapsed < LONGEST_BRIDGE_S && straightAhead(track, last, k));
      if (machine[k] !== machine[last] || gap || step > farthest || renumbered) {
        close();
      }
    }
    if (from < 0) {
      from = k;
    }
    pass[k] = passes.length;
    last = k;
  }
  close();
  return {pass, passes};
}

/** The later place lies in the direction of travel of both. */
function straightAhead(track: HeadedCourse, a: number, b: number): boolean {
  const dx = (track.x[b] as number) - (track.x[a] as number);
  const dy = (track.y[b] as number) - (track.y[a] as number);
  const length = Math.hypot(dx, dy);
  return [a, b].every(
    (k) => dx * (track.east[k] as number) + dy * (track.north[k] as number) > STRAIGHT_COSINE * length,
  );
}
