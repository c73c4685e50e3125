import {distanceM} from "../geo/measure.ts";
import type {XY} from "../geo/shapes.ts";
import {shortOrder} from "./short-order.ts";

/** Where a walk begins and whether it comes back. */
export interface Walk {
  /** The gate, or where the sampler stands. Without it the walk begins at the first point. */
  readonly start?: XY | undefined;
  /** True when the walk ends where it began. Default false. */
  readonly returns?: boolean;
}

/**
 * A short walk past all points: nearest neighbour, then 2-opt and Or-opt until neither helps.
 *
 * Not a shortest walk: on 64 random points about 3 % over a good search, at most some 8 %. Over 100 points `shortOrder`
 * takes over, which is quicker there. Straight lines between points; ditches and rows are known to routes only.
 *
 * @returns Indices in walking order. Without `start` the walk begins anywhere that keeps it short.
 *
 * Source: Croes (1958), Operations Research 6: 791–812 (2-opt); Or (1976), PhD thesis, Northwestern University
 * (segments of one to three). Deterministic: ties go to the lower index.
 */
export function walkingOrder(points: readonly XY[], walk: Walk = {}): number[] {
  const order = nearestNeighbourOrder(points, walk.start);
  if (points.length > MANY) return longWalk(points, order, walk);
  if (!walk.returns) return shorten(points, order, walk.start, undefined);
  if (walk.start) return shorten(points, order, walk.start, walk.start);
  // A round has no beginning: its first point is held and the others are put in order between it and itself.
  const gate = points[order[0] as number];
  return [...order.slice(0, 1), ...shorten(points, order.slice(1), gate, gate)];
}

/** Always on to the nearest point not yet visited; ties go to the lower index. Begins nearest to `start`. */
export function nearestNeighbourOrder(points: readonly XY[], start?: XY): number[] {
  const left = points.map((_, i) => i);
  const order: number[] = [];
  let here = start ?? points[0];
  while (left.length > 0 && here) {
    let nearest = 0;
    let least = Infinity;
    left.forEach((i, at) => {
      const distance = distanceM(here as XY, points[i] as XY);
      if (distance < least) {
        least = distance;
        nearest = at;
      }
    });
    const [next] = left.splice(nearest, 1);
    order.push(next as number);
    here = points[next as number];
  }
  return order;
}

/** Metres walked: from `start`, if any, past the points in order, and back to the beginning if the walk returns. */
export function walkLengthM(points: readonly XY[], order: readonly number[], walk: Walk = {}): number {
  const stops = order.map((i) => points[i] as XY);
  if (walk.start) stops.unshift(walk.start);
  if (walk.returns && stops[0]) stops.push(stops[0]);
  let length = 0;
  for (let i = 1; i < stops.length; i++) length += distanceM(stops[i - 1] as XY, stops[i] as XY);
  return length;
}

// --- inside ---------------------------------------------------------------------------------------------------

const MANY = 100;

function longWalk(points: readonly XY[], order: readonly number[], {start, returns = false}: Walk): number[] {
  const to = (p: XY | undefined, stop: number): number => (p ? distanceM(p, points[stop] as XY) : 0);
  // A round without a gate may begin anywhere: its first point is as good.
  const gate = start ?? (returns ? points[order[0] as number] : undefined);
  return shortOrder(points, order, 1, {
    cost: (a, b) => distanceM(points[a] as XY, points[b] as XY),
    toFirst: (stop) => to(gate, stop),
    fromLast: (stop) => to(returns ? gate : undefined, stop),
  });
}

/** 2-opt and Or-opt on the stops between two ends; an end that is undefined is free and costs nothing to reach. */
function shorten(
  points: readonly XY[],
  first: readonly number[],
  head: XY | undefined,
  tail: XY | undefined,
): number[] {
  const gap = (a: XY | undefined, b: XY | undefined): number => (a && b ? distanceM(a, b) : 0);
  const stop = (order: readonly number[], at: number): XY | undefined =>
    at < 0 ? head : at >= order.length ? tail : points[order[at] as number];
  let order = [...first];

  /** Turns stretches round on the spot. */
  const twoOpt = (): boolean => {
    let better = false;
    for (let i = 0; i < order.length; i++) {
      for (let j = i + 1; j < order.length; j++) {
        const [before, a, b, after] = [i - 1, i, j, j + 1].map((at) => stop(order, at));
        if (gap(before, b) + gap(a, after) < gap(before, a) + gap(b, after) - LEAST_GAIN_M) {
          order = [...order.slice(0, i), ...order.slice(i, j + 1).reverse(), ...order.slice(j + 1)];
          better = true;
        }
      }
    }
    return better;
  };

  /** Sets stretches of one to three stops down where they cost least, either way round. */
  const orOpt = (): boolean => {
    let better = false;
    for (let length = 1; length <= 3; length++) {
      for (let i = 0; i + length <= order.length; i++) {
        const stretch = order.slice(i, i + length);
        const rest = [...order.slice(0, i), ...order.slice(i + length)];
        const [a, b] = [stop(stretch, 0), points[stretch.at(-1) as number]];
        const added = (at: number, from: XY | undefined, to: XY | undefined): number =>
          gap(stop(rest, at - 1), from) + gap(to, stop(rest, at)) - gap(stop(rest, at - 1), stop(rest, at));
        let least = added(i, a, b) - LEAST_GAIN_M;
        for (let at = 0; at <= rest.length; at++) {
          for (const turned of [false, true]) {
            const cost = turned ? added(at, b, a) : added(at, a, b);
            if (cost >= least) continue;
            least = cost;
            order = [...rest.slice(0, at), ...(turned ? [...stretch].reverse() : stretch), ...rest.slice(at)];
            better = true;
          }
        }
      }
    }
    return better;
  };

  for (let better = true; better; ) {
    better = twoOpt();
    better = orOpt() || better;
  }
  return order;
}

/** Rounding must not keep the search going. */
const LEAST_GAIN_M = 1e-9;
