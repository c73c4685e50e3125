import {type Points, sortRows, squaredDistance} from "./cluster-points.ts";
import {FUZZY_EXPONENT, memberships, raised} from "./fuzzy-memberships.ts";

export interface FuzzyOptions {
  /** m, above 1. Default 1.5. */
  readonly exponent?: number;
  /** The run ends when no centre moves farther than this share of the rows' root mean square spread. Default 1e-6. */
  readonly tolerance?: number;
  /** Default 500. */
  readonly mostIterations?: number;
}

export interface FuzzyMeans {
  /** Row-major. */
  readonly centres: Float64Array;
  /** Of each row to each centre, row-major, summing to 1. */
  readonly memberships: Float64Array;
  /** Sum over rows and centres of membership^m times squared distance. */
  readonly objective: number;
  readonly settled: boolean;
  readonly iterations: number;
}

/**
 * Fuzzy c-means from given centres: each row belongs to every centre in part, and each centre is the mean of all rows,
 * weighed by membership to the power m.
 *
 * Not a search over starts: give the centres of k-means, from which it is deterministic and needs few rounds.
 *
 * The order of the rows does not matter. Source: Bezdek (1981); Bezdek, Ehrlich and Full (1984), Computers & Geosciences
 * 10:191-203. Checked against: e1071 1.7-13 cmeans on iris (objective, centres, indices).
 */
export function fuzzyCMeans(points: Points, start: Float64Array, options: FuzzyOptions = {}): FuzzyMeans {
  const {exponent = FUZZY_EXPONENT, tolerance = 1e-6, mostIterations = 500} = options;
  const {dims} = points;
  const count = start.length / dims;
  const {points: sorted, from} = sortRows(points);
  const least = tolerance * Math.sqrt(meanSquare(sorted));
  let centres = start;
  let iterations = 0;
  let settled = false;
  let belonging = memberships(distancesTo(sorted, centres), count, exponent);
  while (!settled && iterations < mostIterations) {
    const next = weighedMeans(sorted, belonging, centres, exponent);
    settled = next.every((v, q) => Math.abs(v - (centres[q] as number)) <= least);
    centres = next;
    belonging = memberships(distancesTo(sorted, centres), count, exponent);
    iterations++;
  }
  const objective = objectiveOf(distancesTo(sorted, centres), belonging, exponent);
  const out = new Float64Array(belonging.length);
  from.forEach((row, i) => {
    for (let j = 0; j < count; j++) out[row * count + j] = belonging[i * count + j] as number;
  });
  return {centres: Float64Array.from(centres), memberships: out, objective, settled, iterations};
}

/** Mean squared distance of the rows from their mean. */
function meanSquare({values, dims}: Points): number {
  const rows = values.length / dims;
  const mean = new Float64Array(dims);
  for (let p = 0; p < values.length; p++) mean[p % dims] = (mean[p % dims] as number) + (values[p] as number) / rows;
  let sum = 0;
  for (let i = 0; i < rows; i++) sum += squaredDistance(values, i, mean, 0, dims);
  return sum / rows;
}

/** Squared distance of every row to every centre, row-major. */
function distancesTo({values, dims}: Points, centres: Float64Array): Float64Array {
  const rows = values.length / dims;
  const count = centres.length / dims;
  const out = new Float64Array(rows * count);
  for (let i = 0, at = 0; i < rows; i++) {
    for (let j = 0; j < count; j++, at++) out[at] = squaredDistance(values, i, centres, j, dims);
  }
  return out;
}

function weighedMeans(
  {values, dims}: Points,
  belonging: Float64Array,
  old: Float64Array,
  exponent: number,
): Float64Array {
  const count = old.length / dims;
  const sums = new Float64Array(old.length);
  const weights = new Float64Array(count);
  for (let at = 0; at < belonging.length; at++) {
    const j = at % count;
    const weight = raised(belonging[at] as number, exponent);
    weights[j] = (weights[j] as number) + weight;
    for (let p = ((at - j) / count) * dims, q = j * dims, end = q + dims; q < end; p++, q++) {
      sums[q] = (sums[q] as number) + weight * (values[p] as number);
    }
  }
  // A centre on which nothing weighs stays where it is.
  return sums.map((sum, q) => {
    const weight = weights[Math.floor(q / dims)] as number;
    return weight > 0 ? sum / weight : (old[q] as number);
  });
}

function objectiveOf(distances: Float64Array, belonging: Float64Array, exponent: number): number {
  let sum = 0;
  for (let at = 0; at < belonging.length; at++) {
    sum += raised(belonging[at] as number, exponent) * (distances[at] as number);
  }
  return sum;
}
