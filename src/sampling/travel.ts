import {buffer, difference, simplify, union} from "../geo/geos.ts";
import {insideTest} from "../geo/inside.ts";
import {distanceM} from "../geo/measure.ts";
import {nearestOnRings} from "../geo/nearest.ts";
import type {MultiPolygon, Ring, XY} from "../geo/shapes.ts";

/** What a crew's way over a field is bound by. */
export interface Ground {
  /** Ground that cannot be crossed; its parts may overlap. */
  readonly obstacles: MultiPolygon;
  /** Ground that may not be left, such as the field. Without it the way may go round outside. */
  readonly within?: MultiPolygon | undefined;
  /** Direction of the rows, radians counter-clockwise from east. */
  readonly rowAngle: number;
  /** What a metre across the rows costs, in metres along them; 1 where rows do not matter. */
  readonly crossing: number;
}

/** Ways between the stops of one list, by their index. */
export interface Ways {
  /** Metres, those across rows counted by what they cost; the same both ways. */
  cost(from: number, to: number): number;
  /** The bends on the way, both ends included. */
  line(from: number, to: number): readonly XY[];
  /** True when there is no way round: the line then goes straight through. */
  isBlocked(from: number, to: number): boolean;
}

/**
 * Prepares the ways over a field: straight where nothing stands between, else the cheapest way round, from corner to
 * corner of what is in the way (a visibility graph: Lozano-Pérez and Wesley 1979, Communications of the ACM 22: 560–570,
 * from memory).
 *
 * A metre across the rows costs `crossing` metres along them. That stretches the field across its rows, so the cheapest
 * way is the shortest in the stretched field and the rule is a true distance: no way is cheaper by a stop between.
 *
 * Obstacles are passed at 2 m, their outlines taken to half a metre; a gap under 4 m counts as closed. A stop nearer than
 * that is reached from the nearest place that is not.
 */
export function prepareGround(ground: Ground): (stops: readonly XY[]) => Ways {
  const {within, rowAngle, crossing} = ground;
  const obstacles = union(ground.obstacles.map((polygon) => [polygon]));
  const [cos, sin] = [Math.cos(rowAngle), Math.sin(rowAngle)];
  const stretched = ({x, y}: XY): XY => ({x: x * cos + y * sin, y: crossing * (y * cos - x * sin)});
  const costBetween = (a: XY, b: XY): number => distanceM(stretched(a), stretched(b));
  if (obstacles.length === 0 && !within) {
    return (stops) => {
      const places = stops.map(stretched);
      return {
        cost: (i, j) => distanceM(places[i] as XY, places[j] as XY),
        line: (i, j) => [stops[i] as XY, stops[j] as XY],
        isBlocked: () => false,
      };
    };
  }
  const free = freeGround(obstacles, within);
  const corners = free.room.flatMap(bendsOf);
  const isClear = clearOf(free.walls);
  const between = cheapestBetween(corners, costBetween, isClear);

  return (stops) => {
    const doors = stops.map((stop) => (free.isInRoom(stop.x, stop.y) ? stop : nearestOnRings(free.room, stop)));
    const seen = doors.map((): Reached[] | undefined => undefined);
    const seenFrom = (i: number): Reached[] => {
      const door = doors[i] as XY;
      seen[i] ??= corners.flatMap((corner, k) =>
        isClear(door, corner) ? [{corner: k, cost: costBetween(door, corner)}] : [],
      );
      return seen[i] as Reached[];
    };
    const known = new Map<number, Way>();
    const wayBetween = (from: number, to: number): Way => {
      const [a, b] = from < to ? [from, to] : [to, from];
      let way = known.get(a * stops.length + b);
      if (!way) {
        const [start, end] = [doors[a] as XY, doors[b] as XY];
        const steps = costBetween(stops[a] as XY, start) + costBetween(end, stops[b] as XY);
        way = {cost: steps + costBetween(start, end), first: -1, last: -1, blocked: false};
        if (!isClear(start, end)) way = roundBy(seenFrom(a), seenFrom(b), between.cost, steps) ?? blocked(way);
        known.set(a * stops.length + b, way);
      }
      return way;
    };
    return {
      cost: (from, to) => (from === to ? 0 : wayBetween(from, to).cost),
      isBlocked: (from, to) => from !== to && wayBetween(from, to).blocked,
      line: (from, to) => {
        if (from === to) return [stops[from] as XY];
        const {first, last} = wayBetween(from, to);
        const bends = first < 0 ? [] : between.bends(first, last).map((k) => corners[k] as XY);
        const [a, b] = from < to ? [from, to] : [to, from];
        const points = [stops[a], doors[a], ...bends, doors[b], stops[b]] as XY[];
        const line = points.filter((p, i) => i === 0 || distanceM(p, points[i - 1] as XY) > 0);
        return from < to ? line : line.reverse();
      },
    };
  };
}

// --- inside ---------------------------------------------------------------------------------------------------

interface Way {
  readonly cost: number;
  /** Corner the way bends at first and last, as seen from the stop with the lower index; −1 for a straight way. */
  readonly first: number;
  readonly last: number;
  readonly blocked: boolean;
}

interface Reached {
  readonly corner: number;
  readonly cost: number;
}

/** A way that does not exist is dear, so that other orders are tried first. */
const blocked = (straight: Way): Way => ({...straight, cost: straight.cost * BLOCKED_COSTS, blocked: true});
const BLOCKED_COSTS = 20;

/** How far the way keeps from obstacles, metres. */
const CLEARANCE_M = 2;
/** How far the outlines of obstacles, and of the room left, are simplified: together under the clearance. */
const OUTLINE_M = 0.5;
const ROOM_M = 1;
/** The walls between free and other ground, and the room that keeps clear of them: its rings have it on their left. */
function freeGround(
  obstacles: MultiPolygon,
  within: MultiPolygon | undefined,
): {walls: readonly Ring[]; room: readonly Ring[]; isInRoom: (x: number, y: number) => boolean} {
  if (within) {
    const free = difference(within, obstacles);
    const room = simplify(buffer(free, -CLEARANCE_M), ROOM_M);
    return {walls: simplify(free, OUTLINE_M).flat(), room: room.flat(), isInRoom: insideTest(room)};
  }
  const grown = simplify(buffer(obstacles, CLEARANCE_M), ROOM_M);
  const isIn = insideTest(grown);
  return {
    walls: simplify(obstacles, OUTLINE_M).flat(),
    room: grown.flat().map((ring) => [...ring].reverse()),
    isInRoom: (x, y) => !isIn(x, y),
  };
}

/** Corners a shortest way may bend at: those where the room lies around more than half of them. */
function bendsOf(ring: Ring): XY[] {
  return ring.slice(0, -1).filter((p, i) => {
    const a = ring[(i + ring.length - 2) % (ring.length - 1)] as XY;
    const b = ring[i + 1] as XY;
    return (p.x - a.x) * (b.y - p.y) - (p.y - a.y) * (b.x - p.x) < 0;
  });
}

/** Asks whether a straight line crosses no wall. */
function clearOf(walls: readonly Ring[]): (a: XY, b: XY) => boolean {
  const rings = walls.map((ring) => {
    const xs = ring.map(({x}) => x);
    const ys = ring.map(({y}) => y);
    const least = (list: readonly number[]): number => list.reduce((m, v) => Math.min(m, v));
    const most = (list: readonly number[]): number => list.reduce((m, v) => Math.max(m, v));
    return {ring, west: least(xs), east: most(xs), south: least(ys), north: most(ys)};
  });
  return (a, b) =>
    rings.every(({ring, west, east, south, north}) => {
      if (Math.max(a.x, b.x) < west || Math.min(a.x, b.x) > east) return true;
      if (Math.max(a.y, b.y) < south || Math.min(a.y, b.y) > north) return true;
      for (let i = 0; i + 1 < ring.length; i++) if (crosses(a, b, ring[i] as XY, ring[i + 1] as XY)) return false;
      return true;
    });
}

function crosses(a: XY, b: XY, c: XY, d: XY): boolean {
  return sideOf(a, b, c) > 0 !== sideOf(a, b, d) > 0 && sideOf(c, d, a) > 0 !== sideOf(c, d, b) > 0;
}

/** Above zero when `r` lies on the left of the way from `p` to `q`. */
function sideOf(p: XY, q: XY, r: XY): number {
  return (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
}

/** Cheapest ways from corner to corner, over the corners between (Floyd 1962, Communications of the ACM 5: 345). */
function cheapestBetween(
  corners: readonly XY[],
  costBetween: (a: XY, b: XY) => number,
  isClear: (a: XY, b: XY) => boolean,
): {cost: (from: number, to: number) => number; bends: (from: number, to: number) => number[]} {
  const n = corners.length;
  const cost = new Float64Array(n * n).fill(Infinity);
  /** Next corner on the way. */
  const next = new Int32Array(n * n).fill(-1);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < n; j++) {
      if (i !== j && !isClear(corners[i] as XY, corners[j] as XY)) continue;
      cost[i * n + j] = costBetween(corners[i] as XY, corners[j] as XY);
      next[i * n + j] = j;
    }
  }
  for (let k = 0; k < n; k++) {
    for (let i = 0; i < n; i++) {
      const toK = cost[i * n + k] as number;
      if (toK === Infinity) continue;
      for (let j = 0; j < n; j++) {
        const over = toK + (cost[k * n + j] as number);
        if (over >= (cost[i * n + j] as number) - 1e-9) continue;
        cost[i * n + j] = over;
        next[i * n + j] = next[i * n + k] as number;
      }
    }
  }
  return {
    cost: (from, to) => cost[from * n + to] as number,
    bends: (from, to) => {
      const way = [from];
      for (let at = from; at !== to; ) {
        at = next[at * n + to] as number;
        way.push(at);
      }
      return way;
    },
  };
}

/** The cheapest way over corners seen from both ends. */
function roundBy(
  fromStart: readonly Reached[],
  fromEnd: readonly Reached[],
  between: (from: number, to: number) => number,
  steps: number,
): Way | undefined {
  let best: Way | undefined;
  let least = Infinity;
  for (const {corner: first, cost: there} of fromStart) {
    if (there >= least) continue;
    for (const {corner: last, cost: back} of fromEnd) {
      const cost = there + between(first, last) + back;
      if (cost >= least) continue;
      least = cost;
      best = {cost: cost + steps, first, last, blocked: false};
    }
  }
  return best;
}
