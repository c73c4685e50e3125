import type {Points} from "./cluster-points.ts";

export interface PrincipalComponents {
  readonly means: Float64Array;
  /** Variance along each component (over n), falling. */
  readonly variances: Float64Array;
  /** The same as shares of the total, summing to 1. */
  readonly explained: Float64Array;
  /** Row-major: row `c` is the direction of component c, of length 1, its largest part positive. */
  readonly directions: Float64Array;
}

/** Rounds of rotations; the method converges in under ten for any size met here. */
const MOST_SWEEPS = 60;

/**
 * Directions in which the rows vary most, each at right angles to those before.
 *
 * @param points - On the scale that distances are to have: nothing is scaled here. Standardised columns give the
 *   components of the correlation matrix.
 *
 * Source: Pearson (1901); eigenvectors of the covariance matrix by rotations of Jacobi (1846), in the cyclic order of
 * Golub and Van Loan, Matrix Computations, 8.5. Checked against: R 4.2 prcomp and scikit-learn 1.2.1 on iris.
 */
export function principalComponents({values, dims}: Points): PrincipalComponents {
  const rows = values.length / dims;
  const means = new Float64Array(dims);
  for (let p = 0; p < values.length; p++) means[p % dims] = (means[p % dims] as number) + (values[p] as number) / rows;
  const covariance = new Float64Array(dims * dims);
  for (let i = 0; i < rows; i++) {
    for (let a = 0; a < dims; a++) {
      const da = (values[i * dims + a] as number) - (means[a] as number);
      for (let b = 0; b <= a; b++) {
        const product = da * ((values[i * dims + b] as number) - (means[b] as number));
        covariance[a * dims + b] = (covariance[a * dims + b] as number) + product / rows;
      }
    }
  }
  for (let a = 0; a < dims; a++) {
    for (let b = 0; b < a; b++) covariance[b * dims + a] = covariance[a * dims + b] as number;
  }
  const vectors = rotatedToDiagonal(covariance, dims);
  const variance = (c: number): number => Math.max(0, covariance[c * dims + c] as number);
  const order = Array.from({length: dims}, (_, c) => c).sort((a, b) => variance(b) - variance(a) || a - b);
  const total = order.reduce((sum, c) => sum + variance(c), 0);
  return {
    means,
    variances: Float64Array.from(order, variance),
    explained: Float64Array.from(order, (c) => (total > 0 ? variance(c) / total : 0)),
    directions: Float64Array.from(order.flatMap((c) => facingUp(vectors, c, dims))),
  };
}

/** Turns the matrix in place until only its diagonal is left; returns what it was turned by, vectors in columns. */
function rotatedToDiagonal(matrix: Float64Array, dims: number): Float64Array {
  const vectors = new Float64Array(dims * dims);
  let scale = 0;
  for (let c = 0; c < dims; c++) {
    vectors[c * dims + c] = 1;
    scale += Math.abs(matrix[c * dims + c] as number);
  }
  for (let sweep = 0; sweep < MOST_SWEEPS; sweep++) {
    let off = 0;
    for (let a = 0; a < dims; a++) for (let b = 0; b < a; b++) off += Math.abs(matrix[a * dims + b] as number);
    if (off <= 1e-15 * scale) break;
    for (let a = 0; a < dims; a++) {
      for (let b = a + 1; b < dims; b++) {
        const apart = matrix[a * dims + b] as number;
        if (apart === 0) continue;
        const theta = ((matrix[b * dims + b] as number) - (matrix[a * dims + a] as number)) / (2 * apart);
        const t = (theta < 0 ? -1 : 1) / (Math.abs(theta) + Math.hypot(theta, 1));
        const cos = 1 / Math.hypot(t, 1);
        rotateColumns(matrix, dims, a, b, cos, t * cos);
        rotateRows(matrix, dims, a, b, cos, t * cos);
        rotateColumns(vectors, dims, a, b, cos, t * cos);
      }
    }
  }
  return vectors;
}

function rotateColumns(m: Float64Array, dims: number, a: number, b: number, cos: number, sin: number): void {
  for (let r = 0; r < dims; r++) rotate(m, r * dims + a, r * dims + b, cos, sin);
}

function rotateRows(m: Float64Array, dims: number, a: number, b: number, cos: number, sin: number): void {
  for (let c = 0; c < dims; c++) rotate(m, a * dims + c, b * dims + c, cos, sin);
}

function rotate(m: Float64Array, p: number, q: number, cos: number, sin: number): void {
  const [x, y] = [m[p] as number, m[q] as number];
  m[p] = cos * x - sin * y;
  m[q] = sin * x + cos * y;
}

/** Column `c`, turned so that its largest part is positive: a direction and its opposite are the same component. */
function facingUp(vectors: Float64Array, c: number, dims: number): number[] {
  const column = Array.from({length: dims}, (_, r) => vectors[r * dims + c] as number);
  const largest = column.reduce((a, b) => (Math.abs(b) > Math.abs(a) + 1e-12 ? b : a), 0);
  return largest < 0 ? column.map((v) => -v) : column;
}
