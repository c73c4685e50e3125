import type {PointValues} from "../../stats/kriging.ts";

/** Points brought to one value per place. */
export interface Places extends PointValues {
  /** How many readings each value is the mean of. */
  readonly readings: Float64Array;
  /** Points that had a value and a position. */
  readonly known: number;
}

/** Points nearer than this are one place, metres: no receiver tells them apart. */
const SAME_PLACE_M = 0.01;

/**
 * One value per place: the mean of the readings taken there, at the position of the first.
 *
 * Two values at one place cannot both be mapped, and make kriging unsolvable. Points with NaN in value or position are
 * left out. Places stand in the order in which they first appear.
 */
export function mergePlaces(x: Float64Array, y: Float64Array, values: Float64Array): Places {
  const placeOf = new Map<string, number>();
  const firsts: number[] = [];
  const sums: number[] = [];
  const readings: number[] = [];
  for (let i = 0; i < values.length; i++) {
    const value = values[i] as number;
    if (!Number.isFinite(value + (x[i] as number) + (y[i] as number))) continue;
    const key = `${Math.round((x[i] as number) / SAME_PLACE_M)},${Math.round((y[i] as number) / SAME_PLACE_M)}`;
    const place = placeOf.get(key);
    if (place === undefined) {
      placeOf.set(key, firsts.length);
      firsts.push(i);
      sums.push(value);
      readings.push(1);
    } else {
      sums[place] = (sums[place] as number) + value;
      readings[place] = (readings[place] as number) + 1;
    }
  }
  return {
    x: Float64Array.from(firsts, (i) => x[i] as number),
    y: Float64Array.from(firsts, (i) => y[i] as number),
    values: Float64Array.from(sums, (sum, k) => sum / (readings[k] as number)),
    readings: Float64Array.from(readings),
    known: readings.reduce((all, n) => all + n, 0),
  };
}
