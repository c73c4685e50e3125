import type {Random} from "./random.ts";

/** Below this many values their own spread is too little known to lean on. */
const FEWEST_TO_LEAN_ON = 10;

/**
 * Draws what the true values may have been behind readings with known error.
 *
 * Each reading `y` has normal error of spread `sd`. From ten readings on, the spread of the truth is estimated (spread of
 * the readings less their error) and each truth is drawn between its reading and their mean, as far as the reading is to
 * be trusted (normal empirical Bayes; Efron and Morris 1975, J. Am. Stat. Assoc. 70: 311–319), the mean itself being
 * drawn too. Noise is so never added to readings that hold it already: the draws spread as the truth does, not wider.
 * With fewer readings each truth is its reading and a draw of its error.
 *
 * @param readings - On a scale on which errors are normal: logarithms for skewed tests. No NaN.
 * @param sds - As many; zero for a reading without error.
 * @returns Fills an array with one draw for each reading.
 */
export function truthDrawer(readings: Float64Array, sds: Float64Array): (random: Random, into: Float64Array) => void {
  const n = readings.length;
  if (n < FEWEST_TO_LEAN_ON) {
    return (random, into) => {
      for (let i = 0; i < n; i++) into[i] = (readings[i] as number) + (sds[i] as number) * random.normal();
    };
  }
  let mean = 0;
  let noise = 0;
  for (let i = 0; i < n; i++) {
    mean += (readings[i] as number) / n;
    noise += (sds[i] as number) ** 2 / n;
  }
  let spread = 0;
  for (let i = 0; i < n; i++) spread += ((readings[i] as number) - mean) ** 2 / (n - 1);
  const between = Math.max(0, spread - noise);
  const sdOfMean = Math.sqrt(spread / n);
  const trust = Float64Array.from(sds, (sd) => (sd === 0 ? 1 : between / (between + sd * sd)));
  return (random, into) => {
    const shift = sdOfMean * random.normal();
    for (let i = 0; i < n; i++) {
      const w = trust[i] as number;
      const middle = w * (readings[i] as number) + (1 - w) * (mean + shift);
      into[i] = middle + Math.sqrt(w) * (sds[i] as number) * random.normal();
    }
  };
}
