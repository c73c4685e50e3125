import type {FeatureMatrix} from "./feature-matrix.ts";

export {memberships} from "../stats/fuzzy-memberships.ts";

/** Rows with data for less than this share of the weight are not compared: they follow their neighbours. */
const LEAST_PRESENT = 0.6;

/** True when a row has data for enough of the weight to be compared; a share is a sum, so rounding is forgiven. */
export function isComparable(shareOfWeight: number): boolean {
  return shareOfWeight >= LEAST_PRESENT - 1e-9;
}

/**
 * Squared distance of every row to every centre, row-major.
 *
 * Missing layers are stepped over: the distance over those present, scaled up to the full weight. A row with data
 * for under 60 % of the weight comes out NaN.
 *
 * Source: partial distance of Dixon (1979), Pattern recognition with partly missing data, IEEE Trans. SMC 9:617-621.
 */
export function squaredDistances({values, dims, present}: FeatureMatrix, centres: Float64Array): Float64Array {
  const count = centres.length / dims;
  const out = new Float64Array(present.length * count).fill(Number.NaN);
  for (let i = 0; i < present.length; i++) {
    const share = present[i] as number;
    if (!isComparable(share)) continue;
    for (let j = 0; j < count; j++) {
      let sum = 0;
      for (let c = 0; c < dims; c++) {
        const step = (values[i * dims + c] as number) - (centres[j * dims + c] as number);
        if (!Number.isNaN(step)) sum += step * step;
      }
      out[i * count + j] = sum / share;
    }
  }
  return out;
}
