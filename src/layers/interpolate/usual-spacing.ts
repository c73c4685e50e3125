import {nearest, type PointIndex, roomFor} from "../../stats/point-index.ts";
import {typicalOf} from "../../stats/robust.ts";

/** Median distance from a point to the nearest other place, over about 2,000 of them. */
export function usualSpacingM(points: PointIndex, only: Int32Array): number {
  const every = Math.max(1, Math.floor(only.length / 2000));
  const found = roomFor(4);
  const spacing = new Float64Array(Math.ceil(only.length / every));
  for (let n = 0; n * every < only.length; n++) {
    const i = only[n * every] as number;
    const count = nearest(points, points.x[i] as number, points.y[i] as number, found, Infinity, i);
    for (let k = 0; k < count && spacing[n] === 0; k++) spacing[n] = Math.sqrt(found.distance2[k] as number);
  }
  return typicalOf(spacing);
}
