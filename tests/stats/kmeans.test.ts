import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {lloyd} from "../../src/stats/cluster-lloyd.ts";
import {inertiaOf, nearestCentres, type Points} from "../../src/stats/cluster-points.ts";
import {spreadStart} from "../../src/stats/cluster-start.ts";
import {fitKMeans} from "../../src/stats/fit-kmeans.ts";
import {kMeans} from "../../src/stats/kmeans.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {varianceExplained} from "../../src/stats/variance-explained.ts";

const line = (...values: number[]): Points => ({values: Float64Array.from(values), dims: 1});
const sorted = (values: Float64Array): number[] => [...values].sort((a, b) => a - b);

describe("k-means by hand", () => {
  const points = line(0, 1, 2, 10, 11, 12);

  it("finds two heaps of three", () => {
    // Centres 1 and 11; squares 1 + 0 + 1 in each; about the mean of 6 they are 36 + 25 + 16 twice, 154 in all.
    const fit = fitKMeans(points, 2, {seed: 1});
    expect(sorted(fit.centres)).toEqual([1, 11]);
    expect(fit.inertia).toBe(4);
    expect(fit.settled).toBe(true);
    expect(varianceExplained(points, fit.labels)).toBeCloseTo(1 - 4 / 154, 12);
    expect(varianceExplained(points, fit.labels)).toBeCloseTo(0.974025974, 9);
  });

  it("makes one heap of everything when one is asked for", () => {
    const fit = fitKMeans(points, 1, {seed: 1});
    expect([...fit.centres]).toEqual([6]);
    expect(fit.inertia).toBe(154);
  });

  it("gives each row a cluster of its own when there are as many clusters as rows", () => {
    const fit = fitKMeans(points, 6, {seed: 1});
    expect(sorted(fit.centres)).toEqual([0, 1, 2, 10, 11, 12]);
    expect(fit.inertia).toBe(0);
  });

  it("returns fewer clusters than asked for when rows repeat", () => {
    const fit = fitKMeans(line(5, 5, 7, 7, 7, 5), 4, {seed: 1});
    expect(sorted(fit.centres)).toEqual([5, 7]);
  });

  it("puts a row in the middle with the first of two centres", () => {
    expect([...nearestCentres(line(5), Float64Array.of(0, 10))]).toEqual([0]);
    expect([...lloyd(line(0, 5, 10), Float64Array.of(0, 10), 50).labels]).toEqual([0, 0, 1]);
  });
});

describe("a cluster that runs empty", () => {
  it("takes the row farthest from the others", () => {
    const fit = lloyd(line(0, 1, 10, 11, 30), Float64Array.of(0.5, 15, 1000), 50);
    expect(sorted(fit.centres)).toEqual([0.5, 10.5, 30]);
    expect(fit.inertia).toBe(1);
  });

  it("leaves a start from which the plain algorithm comes to the same end", () => {
    const points = line(0, 1, 10, 11, 30);
    const fit = lloyd(points, Float64Array.of(0.5, 15, 1000), 50);
    const plain = plainLloyd(points, fit.start, fit.iterations);
    expect([...plain]).toEqual([...fit.centres]);
  });
});

describe("starts tried on a part of the rows", () => {
  const points = cloud(20_000, 3, 9);

  it("end as low as starts on all of them, in labels that stand still", () => {
    for (const count of [2, 4, 7]) {
      const inertias = Array.from({length: 10}, (_, run) =>
        lloyd(points, spreadStart(points, count, seededRandom(run, "all rows")), 500),
      ).map(({inertia}) => inertia);
      const fit = kMeans(points, count, {seed: 1});
      // Ends a few rows apart are many, and differ by some millionths.
      expect(fit.inertia / Math.min(...inertias)).toBeLessThan(1 + 1e-5);
      expect(fit.settled).toBe(true);
      expect(nearestCentres(points, fit.centres)).toEqual(fit.labels);
    }
  });
});

describe("k-means on many rows", () => {
  const points = cloud(4000, 3, 7);

  it("is the plain algorithm bit for bit, although it skips distances", () => {
    for (const count of [2, 5, 9]) {
      const start = spreadStart(points, count, seededRandom(1, "test"));
      const fit = lloyd(points, start, 500);
      expect(fit.settled).toBe(true);
      expect([...plainLloyd(points, start, fit.iterations)]).toEqual([...fit.centres]);
      expect([...nearestCentres(points, fit.centres)]).toEqual([...fit.labels]);
    }
  });

  it("agrees with the ml-kmeans package, also when stopped early", () => {
    for (const mostIterations of [1, 2, 7, 300]) {
      const ours = kMeans(points, 5, {seed: 3, mostIterations});
      const both = fitKMeans(points, 5, {seed: 3, mostIterations});
      expect(both.settled).toBe(mostIterations === 300);
      // Same start, same order of sums: the centres differ by rounding at most.
      both.centres.forEach((c, i) => {
        expect(c).toBeCloseTo(ours.centres[i] as number, 12);
      });
      expect(both.inertia).toBe(inertiaOf(points, both.labels, both.centres));
    }
  });

  it("gives the same bytes for the same seed, and other starts for another", () => {
    const once = fitKMeans(points, 6, {seed: 11});
    expect(fitKMeans(points, 6, {seed: 11})).toEqual(once);
    const a = spreadStart(points, 6, seededRandom(11, "test"));
    const b = spreadStart(points, 6, seededRandom(12, "test"));
    expect([...a]).not.toEqual([...b]);
  });

  it("does not mind the order of the rows, to the last bit", () => {
    const backwards = new Float64Array(points.values.length);
    for (let i = 0; i < 4000; i++) backwards.set(points.values.slice(3 * i, 3 * i + 3), 3 * (3999 - i));
    const a = fitKMeans(points, 4, {seed: 1});
    const b = fitKMeans({values: backwards, dims: 3}, 4, {seed: 1});
    expect(b.centres).toEqual(a.centres);
    expect([...b.labels].reverse()).toEqual([...a.labels]);
  });

  it("never does worse with more starts", () => {
    const inertias = [1, 2, 5, 20].map((restarts) => kMeans(points, 8, {seed: 2, restarts}).inertia);
    expect(inertias).toEqual([...inertias].sort((a, b) => b - a));
  });
});

const shared = new URL("../../../shared/data/reference/clust/", import.meta.url);

describe.skipIf(!existsSync(shared))("k-means on published data (skipped: no shared data)", () => {
  // Inertias of scikit-learn 1.2.1, best of 200 starts; 1e-9 relative because only the order of sums differs.
  const best = (points: Points, count: number): number => fitKMeans(points, count, {seed: 1, restarts: 60}).inertia;

  it("reaches the reference inertia on iris", () => {
    const iris = table("iris.csv", 4);
    const expected = [152.3479517603579, 78.851441426146, 57.22847321428572, 46.446182051282065];
    expected.forEach((inertia, i) => {
      expect(best(iris, i + 2) / inertia).toBeCloseTo(1, 9);
    });
  });

  it("reaches the reference inertia on standardised iris and wine", () => {
    expect(best(standardised(table("iris.csv", 4)), 3) / 139.82049635974982).toBeCloseTo(1, 9);
    expect(best(standardised(table("wine.csv", 13)), 3) / 1277.928488845).toBeCloseTo(1, 9);
  });

  it("explains the reference share of variance on iris", () => {
    const iris = table("iris.csv", 4);
    const {labels} = fitKMeans(iris, 3, {seed: 1, restarts: 60});
    expect(varianceExplained(iris, labels)).toBeCloseTo(0.8842752513446486, 9);
  });
});

/** Assign, average, repeat: the textbook form. */
function plainLloyd({values, dims}: Points, start: Float64Array, rounds: number): Float64Array {
  let centres = start;
  for (let round = 0; round < rounds; round++) {
    const labels = nearestCentres({values, dims}, centres);
    const sums = new Float64Array(centres.length);
    const sizes = new Float64Array(centres.length / dims);
    labels.forEach((label, i) => {
      sizes[label] = (sizes[label] as number) + 1;
      for (let c = 0; c < dims; c++) {
        sums[label * dims + c] = (sums[label * dims + c] as number) + (values[i * dims + c] as number);
      }
    });
    centres = sums.map((sum, q) => sum / (sizes[Math.floor(q / dims)] as number));
  }
  return centres;
}

function cloud(rows: number, dims: number, seed: number): Points {
  const random = seededRandom(seed, "cloud");
  const values = new Float64Array(rows * dims);
  for (let i = 0; i < rows; i++) {
    const heap = random.integer(4);
    for (let c = 0; c < dims; c++) values[i * dims + c] = random.normal() + 2.5 * ((heap >> c) & 1) + 0.7 * heap;
  }
  return {values, dims};
}

function table(file: string, dims: number): Points {
  const [, ...rows] = readFileSync(new URL(file, shared), "utf8").trim().split("\n");
  return {values: Float64Array.from(rows.flatMap((row) => row.split(",").slice(0, dims).map(Number))), dims};
}

/** Mean 0 and population standard deviation 1 in each column. */
function standardised({values, dims}: Points): Points {
  const out = values.slice();
  for (let c = 0; c < dims; c++) {
    const column = values.filter((_, i) => i % dims === c);
    const mean = column.reduce((a, b) => a + b, 0) / column.length;
    const sd = Math.sqrt(column.reduce((a, b) => a + (b - mean) ** 2, 0) / column.length);
    for (let i = c; i < out.length; i += dims) out[i] = ((values[i] as number) - mean) / sd;
  }
  return {values: out, dims};
}
