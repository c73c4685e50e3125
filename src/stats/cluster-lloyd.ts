import {inertiaOf, type Points, squaredDistance} from "./cluster-points.ts";

export interface KMeans {
  /** Row-major, `centres.length / dims` clusters: fewer than asked when there are fewer distinct rows. */
  readonly centres: Float64Array;
  /** Nearest centre of each row, the lowest index on a tie. */
  readonly labels: Int32Array;
  /** Sum of squared distances from each row to its centre. */
  readonly inertia: number;
  /** False when the most iterations allowed ended the run before the labels stood still. */
  readonly settled: boolean;
  /** Centres from which plain assigning and averaging leads here in `iterations` rounds. */
  readonly start: Float64Array;
  readonly iterations: number;
}

/** With more than this share of the rows moving, sums are made anew rather than brought up to date. */
const FEW_MOVES = 0.125;

/**
 * One k-means run from given centres, to labels that no longer change.
 *
 * Distances that bounds prove unneeded are skipped, but never where rounding could matter, and sums follow the rows that
 * move; the last round is made on means summed anew in row order, so the end is a fixed point of the plain algorithm, bit
 * for bit. A cluster that runs empty takes the row farthest from its centre.
 *
 * Source: Lloyd (1982), IEEE Trans. Inf. Theory 28:129-137; of the bounds: Hamerly (2010), Making k-means even faster,
 * Proc. SDM, 130-140.
 */
export function lloyd(points: Points, from: Float64Array, mostIterations: number): KMeans {
  const {values, dims} = points;
  const rows = values.length / dims;
  const count = from.length / dims;
  const centres = from.slice();
  const labels = new Int32Array(rows);
  const upper = new Float64Array(rows).fill(Infinity); // to the row's own centre
  const lower = new Float64Array(rows); // to any other centre
  const sums = new Float64Array(from.length);
  const sizes = new Float64Array(count);
  sumUp(points, labels, sums, sizes);
  const slack = 1e-9 * Math.sqrt(spread(points, sums) / Math.max(1, rows));
  let start = from.slice();
  let iterations = 0; // since `start`
  let rounds = 0; // in all
  let exact = false; // whether `centres` are means summed in row order
  let settled = false;

  for (;;) {
    const half = halfGaps(centres, dims);
    let moved = 0;
    for (let i = 0; i < rows; i++) {
      const own = labels[i] as number;
      const bound = Math.max(half[own] as number, lower[i] as number);
      if ((upper[i] as number) * (1 + 1e-9) + slack < bound) continue;
      let first = Infinity;
      let second = Infinity;
      let label = 0;
      for (let j = 0, q = 0; j < count; j++) {
        let d = 0;
        for (let p = i * dims, end = p + dims; p < end; p++, q++) {
          const step = (values[p] as number) - (centres[q] as number);
          d += step * step;
        }
        if (d < first) {
          second = first;
          first = d;
          label = j;
        } else if (d < second) second = d;
      }
      upper[i] = Math.sqrt(first);
      lower[i] = Math.sqrt(second);
      if (label !== own) {
        labels[i] = label;
        moved++;
        sizes[own] = (sizes[own] as number) - 1;
        sizes[label] = (sizes[label] as number) + 1;
        for (let c = 0, p = i * dims, a = own * dims, b = label * dims; c < dims; c++, p++, a++, b++) {
          sums[a] = (sums[a] as number) - (values[p] as number);
          sums[b] = (sums[b] as number) + (values[p] as number);
        }
      }
    }
    settled = moved === 0 && exact;
    if (settled || (rounds >= mostIterations && iterations > 0)) break;

    exact = moved === 0 || moved > FEW_MOVES * rows || iterations === 0;
    if (exact) sumUp(points, labels, sums, sizes);
    const {means, empty} = averages(sums, sizes, centres);
    for (const j of empty) means.set(farthestRow(points, means, j), j * dims);
    rounds++;
    iterations++;
    if (empty.length > 0) {
      upper.fill(Infinity);
      lower.fill(0);
      start = means.slice();
      iterations = 0;
    } else {
      loosen(upper, lower, labels, moves(centres, means, dims));
    }
    centres.set(means);
  }
  return {centres, labels, inertia: inertiaOf(points, labels, centres), settled, start, iterations};
}

/** Sum and number of each cluster's rows. */
function sumUp({values, dims}: Points, labels: Int32Array, sums: Float64Array, sizes: Float64Array): void {
  sums.fill(0);
  sizes.fill(0);
  for (let i = 0, p = 0; i < labels.length; i++) {
    const j = labels[i] as number;
    sizes[j] = (sizes[j] as number) + 1;
    for (let q = j * dims, end = q + dims; q < end; p++, q++) {
      sums[q] = (sums[q] as number) + (values[p] as number);
    }
  }
}

/** Total sum of squares about the mean, given the sum of all rows. */
function spread(points: Points, sum: Float64Array): number {
  const rows = points.values.length / points.dims;
  return inertiaOf(
    points,
    new Int32Array(rows),
    sum.subarray(0, points.dims).map((s) => s / rows),
  );
}

/** Mean of each cluster's rows; an empty cluster keeps its old centre and is named. */
function averages(
  sums: Float64Array,
  sizes: Float64Array,
  old: Float64Array,
): {means: Float64Array; empty: readonly number[]} {
  const dims = old.length / sizes.length;
  const means = old.slice();
  const empty: number[] = [];
  sizes.forEach((size, j) => {
    if (size === 0) empty.push(j);
    else for (let q = j * dims; q < (j + 1) * dims; q++) means[q] = (sums[q] as number) / size;
  });
  return {means, empty};
}

/** The row farthest from every centre but `except`. */
function farthestRow({values, dims}: Points, centres: Float64Array, except: number): Float64Array {
  let row = 0;
  let most = -1;
  for (let i = 0; i < values.length / dims; i++) {
    let nearest = Infinity;
    for (let j = 0; j < centres.length / dims; j++) {
      if (j !== except) nearest = Math.min(nearest, squaredDistance(values, i, centres, j, dims));
    }
    if (nearest > most) {
      most = nearest;
      row = i;
    }
  }
  return values.slice(row * dims, (row + 1) * dims);
}

/** Half the distance from each centre to the nearest other: a row closer than that to its centre has no better one. */
function halfGaps(centres: Float64Array, dims: number): Float64Array {
  const count = centres.length / dims;
  const half = new Float64Array(count).fill(Infinity);
  for (let a = 0; a < count; a++) {
    for (let b = 0; b < count; b++) {
      if (a === b) continue;
      half[a] = Math.min(half[a] as number, Math.sqrt(squaredDistance(centres, a, centres, b, dims)) / 2);
    }
  }
  return half;
}

function moves(before: Float64Array, after: Float64Array, dims: number): Float64Array {
  const out = new Float64Array(before.length / dims);
  for (let j = 0; j < out.length; j++) out[j] = Math.sqrt(squaredDistance(before, j, after, j, dims));
  return out;
}

/** After the centres moved, a row may be that much farther from its own and closer to the others. */
function loosen(upper: Float64Array, lower: Float64Array, labels: Int32Array, moved: Float64Array): void {
  // The largest move of another centre: for rows of the cluster that moved most, the second largest.
  let most = 0;
  let next = 0;
  let widest = -1;
  moved.forEach((m, j) => {
    if (m > most) {
      next = most;
      most = m;
      widest = j;
    } else if (m > next) next = m;
  });
  for (let i = 0; i < upper.length; i++) {
    const own = labels[i] as number;
    upper[i] = (upper[i] as number) + (moved[own] as number);
    lower[i] = (lower[i] as number) - (own === widest ? next : most);
  }
}
