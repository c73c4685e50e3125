import {indexPoints, nearest, roomFor} from "./point-index.ts";

/** Who neighbours whom: neighbours of i are `index[start[i] … start[i + 1])`. */
export interface Neighbours {
  readonly start: Int32Array;
  readonly index: Int32Array;
}

export interface MoranResult {
  /** Near 1: like beside like. Near 0: no pattern. Near −1: chessboard. NaN for constant values. */
  readonly i: number;
  /** Of a pattern-free layer: −1 / (n − 1). */
  readonly expected: number;
  /** Values that took part: those with at least one neighbour. */
  readonly count: number;
  /** Local I per value; NaN where a value took no part. Its mean is `i`. */
  readonly local: Float64Array;
}

/**
 * Moran's I with row-standardised weights: each value against the mean of its neighbours.
 *
 * Values without a neighbour take no part. Source: Moran (1950); local form Anselin (1995) with the variance
 * over n. Checked against spdep 1.2-7 (meuse, k = 8) and closed forms (chessboard −1).
 */
export function moran(values: ArrayLike<number>, neighbours: Neighbours): MoranResult {
  const local = new Float64Array(values.length).fill(Number.NaN);
  const linked: number[] = [];
  for (let i = 0; i < values.length; i++) {
    if ((neighbours.start[i + 1] as number) > (neighbours.start[i] as number)) linked.push(i);
  }
  let mean = 0;
  for (const i of linked) mean += (values[i] as number) / linked.length;
  let variance = 0;
  for (const i of linked) variance += ((values[i] as number) - mean) ** 2 / linked.length;
  let total = 0;
  for (const i of linked) {
    const from = neighbours.start[i] as number;
    const to = neighbours.start[i + 1] as number;
    let lag = 0;
    for (let k = from; k < to; k++) lag += (values[neighbours.index[k] as number] as number) - mean;
    const own = (((values[i] as number) - mean) * lag) / (to - from) / variance;
    local[i] = own;
    total += own;
  }
  return {i: total / linked.length, expected: -1 / (linked.length - 1), count: linked.length, local};
}

/** Up, down, left and right neighbours on a grid of values, row-major; NaN cells neighbour nothing. */
export function rookNeighbours(values: ArrayLike<number>, cols: number): Neighbours {
  const start = new Int32Array(values.length + 1);
  const index = new Int32Array(4 * values.length);
  let count = 0;
  for (let i = 0; i < values.length; i++) {
    if (!Number.isNaN(values[i] as number)) {
      const col = i % cols;
      if (i >= cols && !Number.isNaN(values[i - cols] as number)) index[count++] = i - cols;
      if (col > 0 && !Number.isNaN(values[i - 1] as number)) index[count++] = i - 1;
      if (col < cols - 1 && !Number.isNaN(values[i + 1] as number)) index[count++] = i + 1;
      if (i + cols < values.length && !Number.isNaN(values[i + cols] as number)) index[count++] = i + cols;
    }
    start[i + 1] = count;
  }
  return {start, index: index.subarray(0, count)};
}

/**
 * The k nearest points of each point, itself left out; points with a NaN coordinate neighbour nothing.
 *
 * @param every - Neighbours are sought for every so many-th point only (among all points): enough to estimate
 *   Moran's I of a long log, being the mean of the local values. Default 1.
 */
export function nearestNeighbours(x: Float64Array, y: Float64Array, k: number, every = 1): Neighbours {
  const points = indexPoints(x, y);
  const found = roomFor(k);
  const start = new Int32Array(x.length + 1);
  const index = new Int32Array(k * x.length);
  let count = 0;
  for (let i = 0; i < x.length; i++) {
    const px = x[i] as number;
    const py = y[i] as number;
    if (i % every === 0 && Number.isFinite(px + py)) {
      const n = nearest(points, px, py, found, Infinity, i);
      for (let j = 0; j < n; j++) index[count++] = found.index[j] as number;
    }
    start[i + 1] = count;
  }
  return {start, index: index.subarray(0, count)};
}
