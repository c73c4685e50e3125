import {describe, expect, it} from "vitest";
import type {XY} from "../../src/geo/shapes.ts";
import {nearestNeighbourOrder, walkingOrder, walkLengthM} from "../../src/sampling/walking-order.ts";
import {type Random, seededRandom} from "../../src/stats/random.ts";
import {searchTour} from "../../src/stats/tour-search.ts";

const side = 2640;
const scattered = (n: number, random: Random): XY[] =>
  Array.from({length: n}, () => ({x: side * random.next(), y: side * random.next()}));
const lattice = (n: number, spacing: number): XY[] =>
  Array.from({length: n * n}, (_, i) => ({x: (i % n) * spacing, y: Math.floor(i / n) * spacing}));

/** Open without a gate, or from a gate and back. */
function tour(points: readonly XY[], kicks: number, gate?: XY, seed = 1, start = nearestNeighbourOrder(points, gate)) {
  const d = (a: XY, b: XY): number => Math.hypot(a.x - b.x, a.y - b.y);
  const toGate = (i: number): number => (gate ? d(gate, points[i] as XY) : 0);
  const near = points.map((p, i) =>
    points
      .map((_, j) => j)
      .filter((j) => j !== i)
      .sort((a, b) => d(p, points[a] as XY) - d(p, points[b] as XY) || a - b)
      .slice(0, 8),
  );
  const order = searchTour(
    {
      count: points.length,
      cost: (a, b) => d(points[a] as XY, points[b] as XY),
      toFirst: toGate,
      fromLast: toGate,
      near: (i) => near[i] as number[],
    },
    start,
    kicks * points.length,
    seededRandom(seed, "tour test"),
  );
  expect([...order].sort((a, b) => a - b)).toEqual(points.map((_, i) => i));
  return walkLengthM(points, order, gate ? {start: gate, returns: true} : {});
}

describe("a searched tour", () => {
  it("is the best of all orders of 1 to 7 stops, open and as a round from a gate", () => {
    for (let seed = 0; seed < 40; seed++) {
      const points = scattered(1 + (seed % 7), seededRandom(seed, "few"));
      for (const gate of [undefined, {x: 0, y: 0}]) {
        const walk = gate ? {start: gate, returns: true} : {};
        const best = permutations(points.map((_, i) => i)).reduce(
          (least, order) => Math.min(least, walkLengthM(points, order, walk)),
          Infinity,
        );
        expect(tour(points, 10, gate)).toBeCloseTo(best, 6);
      }
    }
  });

  it("over a square lattice of n by n steps n² steps as a round when n is even, and n² − 1 + √2 when it is odd", () => {
    // Each step is at least one spacing, and an odd lattice coloured like a chessboard cannot be gone round without one
    // step between like colours.
    for (const n of [4, 5, 6, 7, 8, 10]) {
      const points = lattice(n, 330);
      const rest = points.slice(1);
      const best = 330 * (n % 2 === 0 ? n * n : n * n - 1 + Math.SQRT2);
      expect(tour(rest, 30, points[0])).toBeCloseTo(best, 6);
    }
  });

  it("of 8 by 8 points 330 ft apart is 21,120 ft as a round and 20,790 ft open", () => {
    const points = lattice(8, 330);
    expect(tour(points.slice(1), 30, points[0])).toBeCloseTo(21_120, 6);
    expect(tour(points, 30)).toBeCloseTo(20_790, 6);
  });

  it("goes round a circle of points in their order", () => {
    for (const n of [9, 40, 150]) {
      const points = Array.from({length: n}, (_, i) => {
        const angle = (2 * Math.PI * ((i * 7) % n)) / n; // 7 divides none of them: all places, out of order
        return {x: 500 * Math.cos(angle), y: 500 * Math.sin(angle)};
      });
      const best = n * 2 * 500 * Math.sin(Math.PI / n);
      expect(tour(points.slice(1), 10, points[0])).toBeCloseTo(best, 6);
    }
  });

  it("over 64 random points is within 5 % of the best of many long searches, each time and 1 % on average", () => {
    let sum = 0;
    const fields = 6;
    for (let seed = 0; seed < fields; seed++) {
      const points = scattered(64, seededRandom(seed, "route"));
      const gate = {x: 0, y: 0};
      const shuffled = (k: number): number[] => {
        const random = seededRandom(100 * seed + k, "shuffle");
        return points
          .map((_, i) => ({i, at: random.next()}))
          .sort((a, b) => a.at - b.at)
          .map(({i}) => i);
      };
      // From random orders with ten times the kicks.
      const best = Math.min(...Array.from({length: 4}, (_, k) => tour(points, 100, gate, k + 2, shuffled(k))));
      const ours = tour(points, 10, gate);
      expect(ours / best).toBeLessThan(1.05);
      sum += ours / best - 1;
    }
    expect(sum / fields).toBeLessThan(0.01);
  });

  it("is never longer with kicks than without, and shorter than nearest neighbour by a fifth on average", () => {
    let [kicked, greedy] = [0, 0];
    for (let seed = 0; seed < 20; seed++) {
      const points = scattered(80, seededRandom(seed, "kicks"));
      const [with_, without] = [tour(points, 10), tour(points, 0)];
      expect(with_).toBeLessThanOrEqual(without + 1e-6);
      kicked += with_;
      greedy += walkLengthM(points, nearestNeighbourOrder(points));
    }
    // Nearest neighbour is about 25 % over the best on large random sets (Johnson and McGeoch 1996, from memory).
    expect(greedy / kicked).toBeGreaterThan(1.15);
    expect(greedy / kicked).toBeLessThan(1.35);
  });

  it("is the same for the same seed", () => {
    const points = scattered(50, seededRandom(1, "same"));
    expect(tour(points, 10, undefined, 7)).toBe(tour(points, 10, undefined, 7));
  });

  it("takes the walk over from 101 points on: 2,000 points as long as a long tour is expected to be", () => {
    const points = scattered(2000, seededRandom(1, "large"));
    const length = walkLengthM(points, walkingOrder(points));
    // Beardwood, Halton and Hammersley 1959, the constant 0.7124 by Johnson and McGeoch 1996; both from memory.
    const expected = 0.7124 * Math.sqrt(2000) * side * (1 + 0.33 / 2000);
    expect(length / expected).toBeGreaterThan(0.97);
    expect(length / expected).toBeLessThan(1.05);
  });
});

function permutations(items: readonly number[]): number[][] {
  if (items.length === 0) return [[]];
  return items.flatMap((item) => permutations(items.filter((other) => other !== item)).map((rest) => [item, ...rest]));
}
