/**
 * Probability that a standard normal variable stays below `z`; NaN for NaN.
 *
 * To about 1e-15 absolute: the power series of the error integral near zero, Lentz's continued fraction of the tail
 * farther out (Abramowitz and Stegun 1972, 26.2.11 and 26.2.14).
 *
 * Checked against: printed values, and `normalQuantile` undone.
 */
export function normalProbability(z: number): number {
  if (Number.isNaN(z)) return Number.NaN;
  const size = Math.abs(z);
  if (size > 38) return z > 0 ? 1 : 0;
  const density = Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);
  if (size < 3) return 0.5 + density * series(z);
  const tail = density / fraction(size);
  return z > 0 ? 1 - tail : tail;
}

/** z + z³/3 + z⁵/15 + … */
function series(z: number): number {
  let term = z;
  let sum = z;
  for (let k = 3; Math.abs(term) > 1e-17 * Math.abs(sum); k += 2) {
    term *= (z * z) / k;
    sum += term;
  }
  return sum;
}

/** z + 1/(z + 2/(z + 3/(z + …))), from far out inwards. */
function fraction(z: number): number {
  let value = z;
  for (let k = 120; k > 0; k--) value = z + k / value;
  return value;
}
