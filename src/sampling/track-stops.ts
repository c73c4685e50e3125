import {distanceM} from "../geo/measure.ts";
import type {XY} from "../geo/shapes.ts";

export interface TrackPoint extends XY {
  /** Seconds since any one moment, rising along the track. */
  readonly timeS: number;
}

/** A halt on a track. */
export interface Stop extends XY {
  /** Its first moment. */
  readonly timeS: number;
  readonly seconds: number;
}

/**
 * Where a track stood still: stretches that stay within `radiusM` of their own mean for `leastSeconds` or more, each at
 * its mean. A stop says where the receiver was, not that a core was taken there.
 *
 * @param radiusM - Default 3 m: the wander of a hand-held receiver that is held still (common practice, no source).
 */
export function stopsOf(points: readonly TrackPoint[], leastSeconds: number, radiusM = 3): Stop[] {
  const stops: Stop[] = [];
  for (let from = 0; from < points.length; ) {
    const {end, middle} = standFrom(points, from, radiusM);
    const first = points[from] as TrackPoint;
    const seconds = (points[end] as TrackPoint).timeS - first.timeS;
    if (seconds >= leastSeconds) {
      stops.push({...middle, timeS: first.timeS, seconds});
      from = end + 1;
    } else {
      from++;
    }
  }
  return stops;
}

/** The longest stretch from a point on that stays near its own mean. */
function standFrom(points: readonly TrackPoint[], from: number, radiusM: number): {end: number; middle: XY} {
  let middle: XY = points[from] as TrackPoint;
  let end = from;
  for (let i = from + 1; i < points.length; i++) {
    const p = points[i] as TrackPoint;
    if (distanceM(p, middle) > radiusM) break;
    const n = i - from + 1;
    middle = {x: middle.x + (p.x - middle.x) / n, y: middle.y + (p.y - middle.y) / n};
    end = i;
  }
  return {end, middle: {x: middle.x, y: middle.y}};
}
