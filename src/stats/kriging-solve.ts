/** A pivot below this share of its diagonal is rounding. */
const SINGULAR = 1e-13;

/**
 * Factors a packed lower triangle (row i from i(i + 1)/2, i + 1 long) in place into L of L L′ (Cholesky), by rows.
 *
 * @param inverse - Room for the inverses of the diagonal of L.
 * @returns false when the matrix is not positive definite to working accuracy; the triangle is then spoilt.
 */
export function factorTriangle(packed: Float64Array, n: number, inverse: Float64Array): boolean {
  for (let i = 0, row = 0; i < n; row += ++i) {
    const own = packed[row + i] as number;
    // A row of L is the row of the matrix seen through the rows above it.
    const pivot = own - solveLower(packed, i, inverse, packed, row);
    if (!(pivot > SINGULAR * own)) return false;
    const root = Math.sqrt(pivot);
    packed[row + i] = root;
    inverse[i] = 1 / root;
  }
  return true;
}

/**
 * Solves L v = b in place, b being `n` numbers of `vector` from `from` on.
 *
 * @returns v′v.
 */
export function solveLower(
  packed: Float64Array,
  n: number,
  inverse: Float64Array,
  vector: Float64Array,
  from: number,
): number {
  let squares = 0;
  let j = 0;
  let row = 0;
  // Two at a time: their sums do not wait for one another.
  for (; j + 1 < n; row += 2 * j + 3, j += 2) {
    const next = row + j + 1;
    let a = vector[from + j] as number;
    let b = vector[from + j + 1] as number;
    for (let k = 0; k < j; k++) {
      const value = vector[from + k] as number;
      a -= value * (packed[row + k] as number);
      b -= value * (packed[next + k] as number);
    }
    a *= inverse[j] as number;
    b = (b - a * (packed[next + j] as number)) * (inverse[j + 1] as number);
    vector[from + j] = a;
    vector[from + j + 1] = b;
    squares += a * a + b * b;
  }
  if (j < n) {
    const a = ((vector[from + j] as number) - dot(vector, from, packed, row, j)) * (inverse[j] as number);
    vector[from + j] = a;
    squares += a * a;
  }
  return squares;
}

/** Solves L′ v = b in place. */
export function solveUpper(
  packed: Float64Array,
  n: number,
  inverse: Float64Array,
  vector: Float64Array,
  from: number,
): void {
  for (let i = n - 1; i >= 0; i--) {
    const value = (vector[from + i] as number) * (inverse[i] as number);
    vector[from + i] = value;
    const row = (i * (i + 1)) / 2;
    for (let k = 0; k < i; k++) {
      vector[from + k] = (vector[from + k] as number) - value * (packed[row + k] as number);
    }
  }
}

/** Sum of products of two runs of `n` numbers. */
export function dot(a: Float64Array, fromA: number, b: Float64Array, fromB: number, n: number): number {
  let sum = 0;
  for (let k = 0; k < n; k++) sum += (a[fromA + k] as number) * (b[fromB + k] as number);
  return sum;
}
