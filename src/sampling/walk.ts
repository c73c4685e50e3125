import type {XY} from "../geo/shapes.ts";
import {type Metres, metres} from "../units/quantity.ts";
import type {ResolvedOptions} from "./options.ts";
import type {Route} from "./plan.ts";
import type {RouteFinder} from "./route.ts";
import {walkingOrder, walkLengthM} from "./walking-order.ts";

/** A walk past the cores of one unit after the other. */
export interface Walk {
  /** Goes on to some places; returns their indexes in the order they were visited. */
  visit(places: readonly XY[], next: XY | undefined): number[];
  /** Goes on to some places in the order given. */
  follow(places: readonly XY[]): void;
  end(): {walk: Metres; route?: Route; blocked: number};
}

/** In straight lines from core to core, each unit by itself. */
export function straightWalk(start: XY | null): Walk {
  let here = start ?? undefined;
  let lengthM = 0;
  const go = (places: readonly XY[], order: readonly number[]): void => {
    lengthM += walkLengthM(places, order, {start: here});
    here = places[order.at(-1) ?? -1] ?? here;
  };
  return {
    visit: (places) => {
      const order = walkingOrder(places, {start: here});
      go(places, order);
      return order;
    },
    follow: (places) =>
      go(
        places,
        places.map((_, i) => i),
      ),
    end: () => ({walk: metres(lengthM), blocked: 0}),
  };
}

/** Along rows and round obstacles, each unit with an eye to where the next one lies. */
export function routedWalk(
  finder: RouteFinder,
  {start, route}: Pick<ResolvedOptions, "start"> & {readonly route: {readonly returns: boolean}},
): Walk {
  const stops: XY[] = start ? [start] : [];
  const home = route.returns ? (start ?? undefined) : undefined;
  return {
    visit: (places, next) => {
      const order = finder.orderBetween(places, stops.at(-1), next ?? home);
      stops.push(...order.map((i) => places[i] as XY));
      return order;
    },
    follow: (places) => stops.push(...places),
    end: () => {
      const {line, lengthM, blocked} = finder.lineThrough(home ? [...stops, home] : stops);
      const route = {line, length: metres(lengthM), returns: home !== undefined};
      return {walk: route.length, route, blocked: blocked.length};
    },
  };
}
