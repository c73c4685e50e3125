import type {Neighbours} from "./moran.ts";

/**
 * Mean and standard deviation of Moran's I over layers without a pattern, for row-standardised weights.
 *
 * Of normal numbers exactly; of others nearly, once there are some dozens. Values without a neighbour take no part.
 *
 * Source: Cliff and Ord (1981), Spatial Processes, section 2.3. Checked against: permutations of a field's cells.
 */
export function moranChance({start, index}: Neighbours): {mean: number; sd: number} {
  const rows = start.length - 1;
  const degree = (i: number): number => (start[i + 1] as number) - (start[i] as number);
  const received = new Float64Array(rows); // sum of the weights that others give a value
  let n = 0;
  for (let i = 0; i < rows; i++) {
    if (degree(i) > 0) n++;
    for (let k = start[i] as number; k < (start[i + 1] as number); k++) {
      const j = index[k] as number;
      received[j] = (received[j] as number) + 1 / degree(i);
    }
  }
  // With s0 = n: s1 = ½ Σ (w_ij + w_ji)², s2 = Σ (given + received)².
  let s1 = 0;
  let s2 = 0;
  for (let i = 0; i < rows; i++) {
    if (degree(i) === 0) continue;
    s2 += (1 + (received[i] as number)) ** 2;
    for (let k = start[i] as number; k < (start[i + 1] as number); k++) {
      const j = index[k] as number;
      // Neighbours on a grid are mutual.
      s1 += (1 / degree(i) + 1 / degree(j)) ** 2 / 2;
    }
  }
  const mean = -1 / (n - 1);
  return {mean, sd: Math.sqrt((n * n * s1 - n * s2 + 3 * n * n) / ((n * n - 1) * n * n) - mean * mean)};
}
