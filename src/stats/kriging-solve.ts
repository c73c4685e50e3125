/**
 * Factors a packed lower triangle (row i from i(i + 1)/2, i + 1 long) in place into L of L L′ (Cholesky), by rows.
 *
 * @param inverse - Room for the inverses of the diagonal of L.
 * @returns false when the matrix is not positive definite to working accuracy; the triangle is then spoilt.
 */
export function factorTriangle(packed: Float64Array, n: number, inverse: Float64Array): boolean {
  for (let i = 0, row = 0; i < n; row += ++i) {
    const least = 1e-13 * (packed[row + i] as number);
    for (let j = 0, other = 0; j < i; other += ++j) {
      let sum = packed[row + j] as number;
      for (let k = 0; k < j; k++) sum -= (packed[row + k] as number) * (packed[other + k] as number);
      packed[row + j] = sum * (inverse[j] as number);
    }
    let pivot = packed[row + i] as number;
    for (let k = 0; k < i; k++) pivot -= (packed[row + k] as number) * (packed[row + k] as number);
    if (!(pivot > least)) return false;
    const root = Math.sqrt(pivot);
    packed[row + i] = root;
    inverse[i] = 1 / root;
  }
  return true;
}

/** Solves L v = b in place, b being `n` numbers of `vector` from `from` on. */
export function solveLower(
  packed: Float64Array,
  n: number,
  inverse: Float64Array,
  vector: Float64Array,
  from: number,
): void {
  for (let i = 0, row = 0; i < n; row += ++i) {
    let sum = vector[from + i] as number;
    for (let k = 0; k < i; k++) sum -= (packed[row + k] as number) * (vector[from + k] as number);
    vector[from + i] = sum * (inverse[i] as number);
  }
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
