import {
  type Found,
  type FoundAround,
  nearest,
  nearestAround,
  type PointIndex,
  roomAround,
  roomFor,
} from "./point-index.ts";

export interface InverseDistanceOptions {
  /** Points that speak for a place. Default 12; Infinity for all. */
  readonly neighbours?: number;
  /** Fewer than this, and the place has no value. Default 1. */
  readonly fewest?: number;
  /** Weight is distance to minus this power. Default 2. */
  readonly power?: number;
  /** Points farther away say nothing. Default any distance. */
  readonly within?: number;
  /** Take neighbours evenly from quarters or eighths of the compass. Default the nearest, wherever they are. */
  readonly sectors?: 4 | 8;
  /** No more than `mostOfOne` neighbours may carry the same label: a pass, so that it does not outvote the next. */
  readonly labels?: Int32Array;
  readonly mostOfOne?: number;
  /** For each place, the index of a point to pass over, −1 for none: leaving one out. */
  readonly without?: Int32Array;
}

/** Nearer than this is the same place, squared: a thousandth of a millimetre. */
const SAME_PLACE2 = 1e-12;
/** With a limit per label, so many candidates are looked at for each point to be taken. */
const CANDIDATES = 8;

/**
 * Mean of near points weighted by inverse distance, at places; NaN where no point is near.
 *
 * Exact at a point; points at one place are averaged. Makes no claim about its own error.
 *
 * @param values - One per point of the index, none NaN among those indexed.
 *
 * Deterministic. Source: Shepard (1968). Checked against gstat 2.1-0 to 1e-12.
 */
export function inverseDistanceAt(
  points: PointIndex,
  values: Float64Array,
  places: {readonly x: Float64Array; readonly y: Float64Array},
  options: InverseDistanceOptions = {},
): Float64Array {
  const {neighbours = 12, fewest = 1, power = 2, within = Infinity, sectors, labels, without} = options;
  const most = Math.min(neighbours, points.order.length);
  const mostOfOne = options.mostOfOne ?? most;
  const around: FoundAround | undefined = sectors ? roomAround(most) : undefined;
  const found: Found = around ?? roomFor(labels ? CANDIDATES * most : most);
  const out = new Float64Array(places.x.length).fill(Number.NaN);
  for (let t = 0; t < out.length; t++) {
    const px = places.x[t] as number;
    const py = places.y[t] as number;
    const own = without ? (without[t] as number) : -1;
    const count =
      around && sectors
        ? nearestAround(points, px, py, around, sectors, within, own)
        : nearest(points, px, py, found, within, own);
    let sum = 0;
    let weights = 0;
    let taken = 0;
    let atPlace = 0;
    for (let k = 0; k < count && taken < most; k++) {
      const i = found.index[k] as number;
      if (labels && sameBefore(found.index, k, labels) >= mostOfOne) continue;
      const d2 = found.distance2[k] as number;
      if (d2 < SAME_PLACE2) atPlace++;
      else if (atPlace > 0) break;
      const weight = d2 < SAME_PLACE2 ? 1 : power === 2 ? 1 / d2 : d2 ** (-power / 2);
      sum += weight * (values[i] as number);
      weights += weight;
      taken++;
    }
    if (taken >= fewest || atPlace > 0) out[t] = sum / weights;
  }
  return out;
}

/** How many of the nearer points carry the label of the k-th. */
function sameBefore(index: Int32Array, k: number, labels: Int32Array): number {
  const label = labels[index[k] as number];
  let same = 0;
  for (let j = 0; j < k; j++) if (labels[index[j] as number] === label) same++;
  return same;
}
