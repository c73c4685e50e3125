/** Rows of numbers without gaps: row `i` is `values[i * dims]` up to `values[(i + 1) * dims - 1]`. */
export interface Points {
  readonly values: Float64Array;
  readonly dims: number;
}

/** Nearest centre of each row, the lowest index on a tie. */
export function nearestCentres({values, dims}: Points, centres: Float64Array): Int32Array {
  const labels = new Int32Array(values.length / dims);
  for (let i = 0; i < labels.length; i++) {
    let best = Infinity;
    for (let j = 0; j < centres.length / dims; j++) {
      const d = squaredDistance(values, i, centres, j, dims);
      if (d < best) {
        best = d;
        labels[i] = j;
      }
    }
  }
  return labels;
}

/** Sum of squared distances from each row to the centre it is labelled with. */
export function inertiaOf({values, dims}: Points, labels: Int32Array, centres: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < labels.length; i++) sum += squaredDistance(values, i, centres, labels[i] as number, dims);
  return sum;
}

/** Squared distance between row `i` of one set and row `j` of another. */
export function squaredDistance(a: Float64Array, i: number, b: Float64Array, j: number, dims: number): number {
  let d = 0;
  for (let c = 0, p = i * dims, q = j * dims; c < dims; c++, p++, q++) {
    const step = (a[p] as number) - (b[q] as number);
    d += step * step;
  }
  return d;
}

/**
 * The rows in an order that depends on their numbers alone: by first column, then by second and so on.
 *
 * Sums over sorted rows, and draws among them, are the same whatever order the rows came in.
 *
 * @returns The points, and for each sorted row the row it was.
 */
export function sortRows(points: Points): {points: Points; from: Int32Array} {
  const {values, dims} = points;
  const from = new Int32Array(values.length / dims);
  for (let i = 0; i < from.length; i++) from[i] = i;
  if (isSorted(points)) return {points, from};
  from.sort((a, b) => compareRows(values, dims, a, b) || a - b);
  const sorted = new Float64Array(values.length);
  from.forEach((row, i) => {
    for (let c = 0; c < dims; c++) sorted[i * dims + c] = values[row * dims + c] as number;
  });
  return {points: {values: sorted, dims}, from};
}

/** Every so many-th row, the first among them. */
export function everyNthRow({values, dims}: Points, every: number): Points {
  if (every === 1) return {values, dims};
  const kept = Math.ceil(values.length / dims / every);
  const out = new Float64Array(kept * dims);
  for (let i = 0; i < kept; i++) out.set(values.subarray(i * every * dims, (i * every + 1) * dims), i * dims);
  return {values: out, dims};
}

function isSorted({values, dims}: Points): boolean {
  for (let i = 1; i < values.length / dims; i++) if (compareRows(values, dims, i - 1, i) > 0) return false;
  return true;
}

function compareRows(values: Float64Array, dims: number, a: number, b: number): number {
  for (let c = 0, p = a * dims, q = b * dims; c < dims; c++, p++, q++) {
    const step = (values[p] as number) - (values[q] as number);
    if (step !== 0) return step;
  }
  return 0;
}
