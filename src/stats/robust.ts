import {medianAbsoluteDeviation, quickselect, quantile as simpleQuantile} from "simple-statistics";

/** Makes a MAD comparable to a standard deviation on normal data: 1 / 0.6744897501960817, the upper quartile. */
export const MAD_TO_SD = 1.482602218505602;

/** The numbers that are numbers: NaN and infinities left out, order kept. */
export function finite(values: ArrayLike<number>): Float64Array {
  const kept = new Float64Array(values.length);
  let count = 0;
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    if (Number.isFinite(value)) kept[count++] = value;
  }
  return kept.subarray(0, count);
}

/** Middle value; NaN values are skipped, NaN when none is left. */
export function median(values: ArrayLike<number>): number {
  return quantile(values, 0.5);
}

/** Type 7 of Hyndman and Fan (1996), by selection: no sort, no change to the input. NaN rule as `median`. */
export function quantile(values: ArrayLike<number>, p: number): number {
  const kept = finite(values);
  return kept.length === 0 ? Number.NaN : simpleQuantile(asList(kept), p);
}

/**
 * Median of at most 10,000 evenly spaced positive values: a scale to set windows by, not a result. NaN when there is
 * none.
 */
export function typicalOf(values: Float64Array): number {
  const every = Math.max(1, Math.floor(values.length / 10_000));
  const scratch = new Float64Array(Math.ceil(values.length / every));
  let count = 0;
  for (let i = 0; i < values.length; i += every) {
    const value = values[i] as number;
    if (value > 0 && value < Infinity) scratch[count++] = value;
  }
  return count === 0 ? Number.NaN : medianInPlace(scratch, count);
}

/** Several quantiles for the price of about one. */
export function quantiles(values: ArrayLike<number>, p: readonly number[]): number[] {
  const kept = finite(values);
  return kept.length === 0 ? p.map(() => Number.NaN) : simpleQuantile(asList(kept), [...p]);
}

/** Median absolute deviation from the median, unscaled. NaN rule as `median`. */
export function mad(values: ArrayLike<number>): number {
  const kept = finite(values);
  return kept.length === 0 ? Number.NaN : medianAbsoluteDeviation(asList(kept));
}

/**
 * Median of the first `count` numbers of a scratch array, which is left shuffled.
 *
 * For inner loops: allocates nothing. The numbers must not be NaN; `count` must be at least 1.
 */
export function medianInPlace(scratch: Float64Array, count: number): number {
  const half = count >> 1;
  // `quickselect` reads a right end of 0 as "to the end of the array".
  if (count === 1) return scratch[0] as number;
  quickselect(asList(scratch), half, 0, count - 1);
  const upper = scratch[half] as number;
  if (count % 2 === 1) return upper;
  let lower = scratch[0] as number;
  for (let i = 1; i < half; i++) lower = Math.max(lower, scratch[i] as number);
  return (lower + upper) / 2;
}

/** What a column of numbers looks like. */
export interface Description {
  readonly count: number;
  readonly mean: number;
  /** Sample standard deviation (n − 1). */
  readonly sd: number;
  /** sd / mean, percent. */
  readonly cvPct: number;
  readonly min: number;
  readonly lowerQuartile: number;
  readonly median: number;
  readonly upperQuartile: number;
  readonly max: number;
  /** Adjusted Fisher-Pearson skewness and excess kurtosis (both 0 for a normal). NaN for fewer than 3 and 4 values. */
  readonly skewness: number;
  readonly kurtosis: number;
}

/** Counts and moments of the numbers that are numbers. All NaN, with a count of 0, when there are none. */
export function describe(values: ArrayLike<number>): Description {
  const kept = finite(values);
  const n = kept.length;
  let sum = 0;
  for (const value of kept) sum += value;
  const mean = sum / n;
  let squares = 0;
  let cubes = 0;
  let fourths = 0;
  for (const value of kept) {
    const d = value - mean;
    squares += d * d;
    cubes += d * d * d;
    fourths += d * d * d * d;
  }
  const sd = n > 1 ? Math.sqrt(squares / (n - 1)) : Number.NaN;
  const skewness = (n * cubes) / ((n - 1) * (n - 2) * sd ** 3);
  const kurtosis =
    (n * (n + 1) * fourths) / ((n - 1) * (n - 2) * (n - 3) * sd ** 4) - (3 * (n - 1) ** 2) / ((n - 2) * (n - 3));
  const [min, lowerQuartile, middle, upperQuartile, max] = quantiles(kept, [0, 0.25, 0.5, 0.75, 1]) as QuantilesOfFive;
  return {
    count: n,
    mean,
    sd,
    cvPct: (100 * sd) / mean,
    min,
    lowerQuartile,
    median: middle,
    upperQuartile,
    max,
    skewness: n >= 3 && squares > 0 ? skewness : Number.NaN,
    kurtosis: n >= 4 && squares > 0 ? kurtosis : Number.NaN,
  };
}

type QuantilesOfFive = [number, number, number, number, number];

/** The package works on typed arrays but says `number[]`. */
function asList(values: Float64Array): number[] {
  return values as unknown as number[];
}
