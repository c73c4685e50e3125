import {FieldError} from "../errors.ts";
import {principalComponents} from "../stats/principal-components.ts";
import type {FeatureMatrix} from "./feature-matrix.ts";

/** Principal components of the weighted columns. */
export interface Components {
  /** Share of the variance of each component, falling; of all, also those not kept. */
  readonly explained: readonly number[];
  readonly kept: number;
  /** Row-major, `kept` rows: the weight of each column in each component, of length 1. */
  readonly directions: Float64Array;
}

/**
 * The matrix with complete rows replaced by what the first components say of them.
 *
 * Distances between such rows are those between their unscaled scores: components keep the size they have, so that a
 * small one, mostly noise, stays small. Columns stay those of the layers, so rows with gaps are compared by the layers
 * they have as always.
 *
 * @param keep - Share of the variance, above 0 up to 1: as few components as explain it.
 * @throws {FieldError} `zones/components`.
 */
export function onComponents(matrix: FeatureMatrix, keep: number): FeatureMatrix {
  if (!(keep > 0 && keep <= 1)) {
    throw new FieldError("zones/components", `${keep} is not a share of variance for components to keep.`, {
      hint: "Give a share above 0 up to 1; 0.9 is common.",
    });
  }
  const {dims, values} = matrix;
  const complete = completeRows(matrix);
  const rows = new Float64Array(complete.length * dims);
  complete.forEach((row, i) => {
    rows.set(values.subarray(row * dims, (row + 1) * dims), i * dims);
  });
  if (complete.length === 0) return matrix;
  const {means, explained, directions: all} = principalComponents({values: rows, dims});
  const directions = all.subarray(0, enough(explained, keep) * dims);
  const out = values.slice();
  for (const row of complete) {
    const centred = means.map((mean, c) => (values[row * dims + c] as number) - mean);
    out.set(means, row * dims);
    for (let from = 0; from < directions.length; from += dims) {
      let score = 0;
      for (let c = 0; c < dims; c++) score += (centred[c] as number) * (directions[from + c] as number);
      for (let c = 0, p = row * dims; c < dims; c++, p++) {
        out[p] = (out[p] as number) + score * (directions[from + c] as number);
      }
    }
  }
  const kept = directions.length / dims;
  return {...matrix, values: out, components: {explained: Array.from(explained), kept, directions}};
}

/** Numbers of the rows without gaps. */
export function completeRows({dims, values, cells}: FeatureMatrix): number[] {
  const complete: number[] = [];
  for (let i = 0; i < cells.length; i++) {
    if (!values.subarray(i * dims, (i + 1) * dims).includes(Number.NaN)) complete.push(i);
  }
  return complete;
}

/** How many components explain the share wished for; rounding is forgiven. */
function enough(explained: Float64Array, keep: number): number {
  let sum = 0;
  for (let c = 0; c < explained.length; c++) {
    sum += explained[c] as number;
    if (sum >= keep - 1e-9) return c + 1;
  }
  return explained.length;
}
