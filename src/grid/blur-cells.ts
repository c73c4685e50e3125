import type {Grid} from "./grid.ts";

/**
 * Sum of a cell's and its neighbours' values under a bell-shaped weight (Gaussian, cut at three sigma).
 *
 * A sum, not a mean: blur the values and a 1 for each cell that has one, then divide, to get a mean that is not
 * pulled down at the edge.
 *
 * @param values - No NaN: a cell without data adds nothing when it is 0.
 * @param sigmaM - Metres. 0 returns a copy.
 */
export function blurCells(grid: Grid, values: Float64Array, sigmaM: number): Float64Array {
  if (sigmaM === 0) return values.slice();
  const weights = bell(sigmaM / grid.cellSize);
  const {cols, rows} = grid;
  const across = new Float64Array(values.length);
  for (let row = 0; row < rows; row++) blurLine(values, across, row * cols, 1, cols, weights);
  const out = new Float64Array(values.length);
  for (let col = 0; col < cols; col++) blurLine(across, out, col, cols, rows, weights);
  return out;
}

/** Weights at 0, 1, 2 … cells; all of them, both ways, add up to 1. */
function bell(sigmaCells: number): Float64Array {
  const reach = Math.ceil(3 * sigmaCells);
  const weights = new Float64Array(reach + 1);
  let sum = 0;
  for (let i = 0; i <= reach; i++) {
    weights[i] = Math.exp(-(i * i) / (2 * sigmaCells * sigmaCells));
    sum += (i === 0 ? 1 : 2) * (weights[i] as number);
  }
  return weights.map((w) => w / sum);
}

function blurLine(
  from: Float64Array,
  to: Float64Array,
  first: number,
  stride: number,
  length: number,
  weights: Float64Array,
): void {
  for (let i = 0; i < length; i++) {
    const low = Math.max(0, i - weights.length + 1);
    const high = Math.min(length - 1, i + weights.length - 1);
    let sum = 0;
    for (let j = low; j <= high; j++) {
      sum += (weights[j < i ? i - j : j - i] as number) * (from[first + j * stride] as number);
    }
    to[first + i * stride] = sum;
  }
}
