/** Exponent of fuzzy c-means: soil work uses 1.3 to 1.5, crisper than the 2 of the textbooks. Common practice. */
export const FUZZY_EXPONENT = 1.5;

/**
 * How much each row belongs to each centre, row-major, summing to 1: 1/d^(2/(m-1)) of each over the sum of all; with the
 * exponent m = 1.5, 1/d⁴.
 *
 * NaN for rows without distances. A row on a centre belongs to it alone.
 *
 * @param distances - Squared, row-major.
 * @param count - Centres.
 * @param exponent - m, above 1. Near 1 every row belongs to its nearest centre; large, to all alike.
 *
 * Source: Bezdek (1981), Pattern Recognition with Fuzzy Objective Function Algorithms.
 */
export function memberships(distances: Float64Array, count: number, exponent = FUZZY_EXPONENT): Float64Array {
  const out = new Float64Array(distances.length);
  const power = 1 / (exponent - 1);
  for (let i = 0; i < distances.length; i += count) {
    let least = Infinity;
    for (let j = 0; j < count; j++) least = Math.min(least, distances[i + j] as number);
    let sum = 0;
    for (let j = 0; j < count; j++) {
      const d = distances[i + j] as number;
      // Ratios to the least distance neither overflow nor divide by nought.
      const share = d === least ? 1 : raised(least / d, power);
      out[i + j] = share;
      sum += share;
    }
    for (let j = 0; j < count; j++) out[i + j] = (out[i + j] as number) / sum;
  }
  return out;
}

/** x to the power p; the common powers without the slow general way. */
export function raised(x: number, p: number): number {
  if (p === 1) return x;
  if (p === 1.5) return x * Math.sqrt(x);
  return p === 2 ? x * x : x ** p;
}
