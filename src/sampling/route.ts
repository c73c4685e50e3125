import {FieldError} from "../errors.ts";
import {distanceM} from "../geo/measure.ts";
import type {MultiPolygon, XY} from "../geo/shapes.ts";
import {shortOrder} from "./short-order.ts";
import {prepareGround} from "./travel.ts";
import {nearestNeighbourOrder} from "./walking-order.ts";

/** What the way between cores is to mind. The gate is the plan's `start`. */
export interface RouteOptions {
  /** True (default where there is a gate): the way ends where it began. */
  readonly returns?: boolean | undefined;
  /** Direction of the rows, degrees clockwise from north. Default: rows do not matter. */
  readonly rows?: number | undefined;
  /** What a metre across rows costs in metres along them. Default 2 where rows are given (assumed, no source). */
  readonly crossing?: number | undefined;
  /** True: the way stays inside the boundary and goes round holes. False (default): only obstacles are gone round. */
  readonly insideField?: boolean | undefined;
}

/** The same with every default filled in. */
export interface ResolvedRoute {
  readonly returns: boolean;
  readonly rows: number | null;
  readonly crossing: number;
  readonly insideField: boolean;
}

/** @throws {FieldError} `sampling/crossing`, `sampling/heading`. */
export function resolveRoute(options: RouteOptions, hasGate: boolean): ResolvedRoute {
  const {rows, returns = true, insideField = false} = options;
  const crossing = options.crossing ?? (rows === undefined ? 1 : USUAL_CROSSING);
  if (!(crossing >= 1 && crossing <= MOST_CROSSING)) {
    throw new FieldError("sampling/crossing", `A metre across the rows cannot cost ${crossing} metres along them.`, {
      hint: `Choose 1, where rows do not matter, to ${MOST_CROSSING}; 2 to 4 keep the crew in its rows.`,
    });
  }
  if (rows !== undefined && !Number.isFinite(rows)) {
    throw new FieldError("sampling/heading", `${rows} is not a heading.`, {
      hint: "Give degrees clockwise from north, as in 90 for rows that run east.",
    });
  }
  return {returns: returns && hasGate, rows: rows ?? null, crossing, insideField};
}

/** Finds ways for one plan. */
export interface RouteFinder {
  /** Indexes of places in a short order from the gate (and back, if the route returns). */
  order(places: readonly XY[]): number[];
  /** The same for places between two given ones; an end that is not given is free. */
  orderBetween(places: readonly XY[], from: XY | undefined, to: XY | undefined): number[];
  /** The way past places in their order, and the legs for which there is none but straight through an obstacle. */
  lineThrough(places: readonly XY[]): {line: XY[]; lengthM: number; blocked: number[]};
}

/**
 * A way over a field that goes round obstacles and keeps to the rows.
 *
 * On 64 random places within 1 % of the best of long searches.
 */
export function findRoutes(
  outline: MultiPolygon,
  obstacles: MultiPolygon,
  route: ResolvedRoute,
  gate: XY | null,
  seed: number,
): RouteFinder {
  const waysFor = prepareGround({
    obstacles,
    within: route.insideField ? outline : undefined,
    rowAngle: route.rows === null ? 0 : ((90 - route.rows) * Math.PI) / 180,
    crossing: route.rows === null ? 1 : route.crossing,
  });
  const orderBetween: RouteFinder["orderBetween"] = (places, from, to) => {
    const ends = [...(from ? [from] : []), ...(to ? [to] : [])];
    const ways = waysFor([...places, ...ends]);
    const n = places.length;
    return shortOrder(places, nearestNeighbourOrder(places, from), seed, {
      cost: ways.cost,
      toFirst: (stop) => (from ? ways.cost(n, stop) : 0),
      fromLast: (stop) => (to ? ways.cost(stop, n + ends.length - 1) : 0),
    });
  };
  return {
    order: (places) => orderBetween(places, gate ?? undefined, (route.returns && gate) || undefined),
    orderBetween,
    lineThrough: (places) => {
      const line: XY[] = places.slice(0, 1);
      const blocked: number[] = [];
      for (let i = 1; i < places.length; i++) {
        const ways = waysFor([places[i - 1] as XY, places[i] as XY]);
        line.push(...ways.line(0, 1).slice(1));
        if (ways.isBlocked(0, 1)) blocked.push(i);
      }
      const lengthM = line.reduce((sum, p, i) => (i === 0 ? 0 : sum + distanceM(line[i - 1] as XY, p)), 0);
      return {line, lengthM, blocked};
    },
  };
}

// --- inside ---------------------------------------------------------------------------------------------------

const USUAL_CROSSING = 2;
const MOST_CROSSING = 20;
