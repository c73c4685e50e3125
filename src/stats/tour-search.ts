import type {Random} from "./random.ts";

/** Stops to be put in order, numbered from 0. */
export interface TourStops {
  readonly count: number;
  /** From one stop to another, the same both ways, never below zero. */
  cost(from: number, to: number): number;
  /** From where the tour begins to its first stop; 0 where it may begin anywhere. */
  toFirst(stop: number): number;
  /** From its last stop to where the tour ends; 0 where it may end anywhere. */
  fromLast(stop: number): number;
  /** A few stops near a stop, the cheapest to reach first. */
  near(stop: number): ArrayLike<number>;
}

/**
 * A cheap order of stops: 2-opt and Or-opt until neither helps, then kicks. A kick swaps two neighbouring stretches
 * somewhere, mends the order around them, and is taken back unless the whole has become no dearer.
 *
 * Not the cheapest order for certain. Looks for new neighbours of a stop only among those near it, so the work grows
 * little faster than the number of stops.
 *
 * @param start - An order of all stops to begin from, as by nearest neighbour.
 * @param kicks - 0 for none; ten to a stop bring most of what there is to gain.
 * @param random - Where kicks fall; same seed, same order.
 *
 * Source: Croes (1958), Operations Research 6: 791–812 (2-opt); Or (1976), PhD thesis, Northwestern University;
 * Bentley (1992), ORSA Journal on Computing 4: 387–411 (near neighbours, a queue of stops to look at); Martin, Otto and
 * Felten (1991), Complex Systems 5: 299–326 (double-bridge kicks), here kept local; all from memory.
 * Checked against: every order of up to 7 stops, square lattices, circles, long searches on random squares.
 */
export function searchTour(stops: TourStops, start: readonly number[], kicks: number, random: Random): number[] {
  const n = stops.count;
  if (n < 2) return [...start];
  const [head, tail] = [n, n + 1];
  const path = Int32Array.of(head, ...start, tail);
  const place = new Int32Array(n + 2);
  path.forEach((stop, i) => {
    place[stop] = i;
  });
  const journal: number[] = [];
  const waiting: number[] = [];
  const isWaiting = new Uint8Array(n + 2);

  const cost = (a: number, b: number): number => {
    if (a >= n) return b >= n ? 0 : a === head ? stops.toFirst(b) : stops.fromLast(b);
    if (b >= n) return b === head ? stops.toFirst(a) : stops.fromLast(a);
    return stops.cost(a, b);
  };
  const at = (i: number): number => path[i] as number;
  const placeOf = (stop: number): number => place[stop] as number;
  const linkAfter = (i: number): number => cost(at(i), at(i + 1));
  const wake = (stop: number): void => {
    if (stop >= n || isWaiting[stop]) return;
    isWaiting[stop] = 1;
    waiting.push(stop);
  };

  /** The one thing done to a path: a stretch turned round. Written down, so that it can be turned back. */
  const reverse = (from: number, to: number): void => {
    journal.push(from, to);
    for (let i = from, j = to; i < j; i++, j--) {
      const [a, b] = [at(i), at(j)];
      path[i] = b;
      path[j] = a;
      place[b] = i;
      place[a] = j;
    }
  };
  /** Swaps the stretches from…middle and middle+1…to, either turned round or not. */
  const swap = (from: number, middle: number, to: number, turnFirst: boolean, turnSecond: boolean): void => {
    reverse(from, to);
    const border = from + (to - middle);
    if (!turnSecond) reverse(from, border - 1);
    if (!turnFirst) reverse(border, to);
  };

  /** Two links replaced by two others, one of them from `a` to a stop near it. Returns what it saves, 0 if nothing. */
  const twoOpt = (a: number, c: number): number => {
    const i = placeOf(a);
    const j = placeOf(c);
    const low = Math.min(i, j);
    const high = Math.max(i, j);
    if (high - low < 2) return 0;
    if (high <= n) {
      const saved = cost(at(i), at(i + 1)) + cost(at(j), at(j + 1)) - cost(a, c) - cost(at(i + 1), at(j + 1));
      if (saved > LEAST_GAIN) {
        for (const stop of [a, c, at(i + 1), at(j + 1)]) wake(stop);
        reverse(low + 1, high);
        return saved;
      }
    }
    if (low >= 1) {
      const saved = cost(at(i - 1), at(i)) + cost(at(j - 1), at(j)) - cost(a, c) - cost(at(i - 1), at(j - 1));
      if (saved > LEAST_GAIN) {
        for (const stop of [a, c, at(i - 1), at(j - 1)]) wake(stop);
        reverse(low, high - 1);
        return saved;
      }
    }
    return 0;
  };

  /** One to three stops beginning or ending with `a` set down elsewhere, with `a` beside a stop near it. */
  const orOpt = (a: number, length: number, isLast: boolean, near: ArrayLike<number>): number => {
    const i = placeOf(a);
    const low = isLast ? i - length + 1 : i;
    const high = low + length - 1;
    if (low < 1 || high > n) return 0;
    const b = at(isLast ? low : high);
    const before = at(low - 1);
    const after = at(high + 1);
    const freed = cost(before, at(low)) + cost(at(high), after) - cost(before, after);
    if (freed <= LEAST_GAIN) return 0;
    for (let k = 0; k < near.length + 2; k++) {
      const c = k < near.length ? (near[k] as number) : k === near.length ? head : tail;
      const reach = cost(a, c);
      if (reach >= freed) {
        if (k < near.length) k = near.length - 1;
        continue;
      }
      const j = placeOf(c);
      if (j >= low && j <= high) continue;
      for (let side = 1; side >= -1; side -= 2) {
        const d = j + side;
        if (d < 0 || d > n + 1 || (d >= low && d <= high)) continue;
        const saved = freed - reach - cost(b, at(d)) + cost(c, at(d));
        if (saved <= LEAST_GAIN) continue;
        for (const stop of [before, after, a, b, c, at(d)]) wake(stop);
        // On the right of c the stretch begins with a, on its left it ends with a.
        const turned = side === 1 ? isLast : !isLast;
        const gap = Math.min(j, d);
        if (gap > high) swap(low, high, gap, turned, false);
        else swap(gap + 1, low - 1, high, false, turned);
        return saved;
      }
    }
    return 0;
  };

  const improveAt = (a: number): number => {
    const near = stops.near(a);
    const i = placeOf(a);
    const longest = Math.max(cost(at(i - 1), a), cost(a, at(i + 1)));
    for (let k = 0; k < near.length; k++) {
      if (cost(a, near[k] as number) >= longest) break;
      const saved = twoOpt(a, near[k] as number);
      if (saved > 0) return saved;
    }
    for (const end of [head, tail]) {
      const saved = cost(a, end) < longest ? twoOpt(a, end) : 0;
      if (saved > 0) return saved;
    }
    for (let length = 1; length <= 3; length++) {
      const saved = orOpt(a, length, false, near) || (length > 1 ? orOpt(a, length, true, near) : 0);
      if (saved > 0) return saved;
    }
    return 0;
  };

  /** Looks at every waiting stop until nothing helps; returns what was saved. */
  const settle = (): number => {
    let saved = 0;
    for (let next = 0; next < waiting.length; next++) {
      const stop = waiting[next] as number;
      isWaiting[stop] = 0;
      for (let gain = improveAt(stop); gain > 0; gain = improveAt(stop)) saved += gain;
    }
    waiting.length = 0;
    return saved;
  };

  for (const stop of start) wake(stop);
  settle();
  for (let kick = 0; n > 3 && kick < kicks; kick++) {
    journal.length = 0;
    const [from, middle, to] = threeCuts(n, random);
    const border = from + to - middle;
    const old = linkAfter(from) + linkAfter(middle) + linkAfter(to);
    for (const i of [from, middle, to]) {
      wake(at(i));
      wake(at(i + 1));
    }
    swap(from + 1, middle, to, false, false);
    const added = linkAfter(from) + linkAfter(border) + linkAfter(to) - old;
    if (added - settle() <= 0) continue;
    for (let k = journal.length - 2; k >= 0; k -= 2) reverse(journal[k] as number, journal[k + 1] as number);
  }
  return [...path.subarray(1, n + 1)];
}

// --- inside ---------------------------------------------------------------------------------------------------

/** Rounding must not keep the search going. */
const LEAST_GAIN = 1e-9;

/** Stretches of a kick stay this short, so that it can be mended where it fell. */
const REACH = 50;

/** Three links of a path with n stops between its ends, in order, not far apart. */
function threeCuts(n: number, random: Random): [number, number, number] {
  const reach = Math.min(REACH, n);
  const first = random.integer(n + 1 - reach + 1);
  const cuts = new Set<number>();
  while (cuts.size < 3) cuts.add(first + random.integer(reach));
  return [...cuts].sort((a, b) => a - b) as [number, number, number];
}
