import {describe, expect, it} from "vitest";
import type {XY} from "../../src/geo/shapes.ts";
import {nearestNeighbourOrder, walkingOrder, walkLengthM} from "../../src/sampling/walking-order.ts";
import {type Random, seededRandom} from "../../src/stats/random.ts";

const grid = Array.from({length: 64}, (_, i) => ({x: (i % 8) * 330, y: Math.floor(i / 8) * 330}));
const side = 2640;
const scattered = (n: number, random: Random): XY[] =>
  Array.from({length: n}, () => ({x: side * random.next(), y: side * random.next()}));

describe("a walk over an 8 by 8 grid of 330 ft", () => {
  it("is 20,790 ft by nearest neighbour from a corner, 23,100 ft when it returns", () => {
    // By hand: 63 steps of 330 ft, and back along one side of 7.
    const order = nearestNeighbourOrder(grid);
    expect(walkLengthM(grid, order)).toBeCloseTo(20_790, 6);
    expect(walkLengthM(grid, order, {returns: true})).toBeCloseTo(23_100, 6);
  });

  it("is the shortest there is when open, and within 3 % of it as a round", () => {
    // 63 and 64 steps of 330 ft: no two points are nearer.
    expect(walkLengthM(grid, walkingOrder(grid))).toBeCloseTo(20_790, 6);
    expect(walkLengthM(grid, walkingOrder(grid, {returns: true}), {returns: true})).toBeLessThan(1.03 * 21_120);
  });
});

describe("a walk", () => {
  it("visits every point once", () => {
    for (const n of [0, 1, 2, 3, 4, 5, 40]) {
      for (const walk of [{}, {returns: true}, {start: {x: 0, y: 0}}, {start: {x: 0, y: 0}, returns: true}]) {
        const order = walkingOrder(scattered(n, seededRandom(n, "walk")), walk);
        expect([...order].sort((a, b) => a - b)).toEqual(Array.from({length: n}, (_, i) => i));
      }
    }
  });

  it("is the best of all orders for few points, from a gate, open or round", () => {
    for (let seed = 0; seed < 30; seed++) {
      const points = scattered(6, seededRandom(seed, "few"));
      for (const walk of [{}, {start: {x: 0, y: 0}}, {start: {x: 0, y: 0}, returns: true}]) {
        const best = Math.min(...permutations([0, 1, 2, 3, 4, 5]).map((order) => walkLengthM(points, order, walk)));
        // 2-opt and Or-opt may stop in a local best; on 6 points it is never far off.
        expect(walkLengthM(points, walkingOrder(points, walk), walk)).toBeLessThanOrEqual(1.1 * best);
      }
    }
  });

  it("takes the straight way along a line", () => {
    const line = [5, 1, 4, 2, 3].map((x) => ({x, y: 0}));
    expect(walkingOrder(line, {start: {x: 0, y: 0}})).toEqual([1, 3, 4, 2, 0]);
  });

  it("over 64 random points is at most 10 % over a long search", () => {
    for (let seed = 0; seed < 3; seed++) {
      const points = scattered(64, seededRandom(seed, "route"));
      const round = {returns: true};
      const ours = walkLengthM(points, walkingOrder(points, round), round);
      expect(ours).toBeLessThanOrEqual(1.1 * longSearch(points, seededRandom(seed, "search")));
    }
  });

  it("over random points is as long as Beardwood, Halton and Hammersley expect", () => {
    // 0.7124 √(nA) for a long tour; a square's edge adds about 0.33 / n of it (Johnson and McGeoch 1996).
    const n = 400;
    const points = scattered(n, seededRandom(1, "bhh"));
    const expected = 0.7124 * Math.sqrt(n) * side * (1 + 0.33 / Math.sqrt(n));
    const length = walkLengthM(points, walkingOrder(points, {returns: true}), {returns: true});
    expect(length / expected).toBeGreaterThan(0.95);
    expect(length / expected).toBeLessThan(1.15);
  });
});

function permutations(items: readonly number[]): number[][] {
  if (items.length === 0) return [[]];
  return items.flatMap((item) => permutations(items.filter((other) => other !== item)).map((rest) => [item, ...rest]));
}

/** Iterated local search of its own: 2-opt from 200 double-bridge kicks, always from the best round so far. */
function longSearch(points: readonly XY[], random: Random): number {
  const length = (order: readonly number[]): number => walkLengthM(points, order, {returns: true});
  const d = (a: number, b: number): number =>
    Math.hypot((points[a]?.x ?? 0) - (points[b]?.x ?? 0), (points[a]?.y ?? 0) - (points[b]?.y ?? 0));
  const twoOpt = (start: readonly number[]): number[] => {
    let order = [...start];
    const n = order.length;
    const at = (i: number): number => order[i % n] as number;
    for (let better = true; better; ) {
      better = false;
      for (let i = 0; i < n - 1; i++) {
        for (let j = i + 2; j < n; j++) {
          if (d(at(i), at(j)) + d(at(i + 1), at(j + 1)) < d(at(i), at(i + 1)) + d(at(j), at(j + 1)) - 1e-9) {
            order = [...order.slice(0, i + 1), ...order.slice(i + 1, j + 1).reverse(), ...order.slice(j + 1)];
            better = true;
          }
        }
      }
    }
    return order;
  };
  let best = twoOpt(points.map((_, i) => i));
  for (let kick = 0; kick < 200; kick++) {
    const [a = 0, b = 0, c = 0] = [0, 0, 0].map(() => 1 + random.integer(points.length - 1)).sort((x, y) => x - y);
    const next = twoOpt([...best.slice(0, a), ...best.slice(b, c), ...best.slice(a, b), ...best.slice(c)]);
    if (length(next) < length(best)) best = next;
  }
  return length(best);
}
