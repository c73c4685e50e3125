import {nearest, type PointIndex, roomFor} from "../stats/point-index.ts";
import {cellCount, centreX, centreY, type Grid} from "./grid.ts";

export interface InverseDistanceOptions {
  /** Points that speak for a cell. Default 12. */
  readonly neighbours?: number;
  /** Weight is distance to minus this power. Default 2. */
  readonly power?: number;
  /** Points farther away say nothing, metres. Default any distance. */
  readonly withinM?: number;
  /** No more than `mostOfOne` neighbours may carry the same label: a pass, so that it does not outvote the next. */
  readonly labels?: Int32Array;
  readonly mostOfOne?: number;
}

/** A point nearer to a cell's centre than this is the cell's value. */
const SAME_PLACE_M = 1e-6;

/**
 * Mean of the nearest points weighted by inverse distance, at the centres of chosen cells; NaN elsewhere and where no
 * point is near. Exact at a point; points at one place are averaged.
 *
 * @param values - One per point of the index, none NaN among those indexed.
 * @param wanted - 1 for cells to work out.
 */
export function inverseDistance(
  points: PointIndex,
  values: Float64Array,
  grid: Grid,
  wanted: Uint8Array,
  options: InverseDistanceOptions = {},
): Float64Array {
  const {neighbours = 12, power = 2, withinM = Infinity, labels, mostOfOne = neighbours} = options;
  // With a limit per label, more candidates are looked at than are taken.
  const found = roomFor(labels ? 8 * neighbours : neighbours);
  const out = new Float64Array(cellCount(grid)).fill(Number.NaN);
  for (let cell = 0; cell < out.length; cell++) {
    if (!wanted[cell]) continue;
    const x = centreX(grid, cell % grid.cols);
    const y = centreY(grid, Math.floor(cell / grid.cols));
    const count = nearest(points, x, y, found, withinM);
    let sum = 0;
    let weights = 0;
    let taken = 0;
    let atPlace = 0;
    for (let k = 0; k < count && taken < neighbours; k++) {
      const i = found.index[k] as number;
      if (labels && sameBefore(found.index, k, labels) >= mostOfOne) continue;
      const distance = Math.sqrt(found.distance2[k] as number);
      if (distance < SAME_PLACE_M) atPlace++;
      else if (atPlace > 0) break;
      const weight = distance < SAME_PLACE_M ? 1 : distance ** -power;
      sum += weight * (values[i] as number);
      weights += weight;
      taken++;
    }
    if (taken > 0) out[cell] = sum / weights;
  }
  return out;
}

/** How many of the nearer points carry the label of the k-th. */
function sameBefore(index: Int32Array, k: number, labels: Int32Array): number {
  const label = labels[index[k] as number];
  let same = 0;
  for (let j = 0; j < k; j++) if (labels[index[j] as number] === label) same++;
  return same;
}
