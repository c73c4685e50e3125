import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {calinskiHarabasz, daviesBouldin} from "../../src/stats/cluster-indices.ts";
import {type Points, sortRows} from "../../src/stats/cluster-points.ts";
import {fitKMeans} from "../../src/stats/fit-kmeans.ts";
import {principalComponents} from "../../src/stats/principal-components.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {silhouette} from "../../src/stats/silhouette.ts";

const heaps: Points = {values: Float64Array.of(0, 1, 2, 10, 11, 12), dims: 1};
const halves = Int32Array.of(0, 0, 0, 1, 1, 1);

describe("indices of two heaps of three, by hand", () => {
  it("Caliński and Harabasz: 150 between over 4/4 within", () => {
    expect(calinskiHarabasz(heaps, halves)).toBeCloseTo(150, 12);
  });

  it("silhouette: outer rows 1.5 from their own and 11 from the others, inner ones 1 and 10, 1.5 and 9", () => {
    expect(silhouette(heaps, halves)).toBeCloseTo((1 - 1.5 / 11 + 1 - 1 / 10 + 1 - 1.5 / 9) / 3, 12);
    expect(silhouette(heaps, halves)).toBeCloseTo(0.8656565657, 9);
  });

  it("Davies and Bouldin: mean distances 2/3 and 2/3 over 10", () => {
    expect(daviesBouldin(heaps, halves)).toBeCloseTo(4 / 30, 12);
  });

  it("have no value for one cluster", () => {
    const one = new Int32Array(6);
    expect([calinskiHarabasz, silhouette, daviesBouldin].map((index) => index(heaps, one))).toEqual([
      Number.NaN,
      Number.NaN,
      Number.NaN,
    ]);
  });

  it("count a row alone in its cluster as nought", () => {
    // 0 and 1 against 9: 1 - 1/9, 1 - 1/8 and 0.
    const found = silhouette({values: Float64Array.of(0, 1, 9), dims: 1}, Int32Array.of(0, 0, 1));
    expect(found).toBeCloseTo((8 / 9 + 7 / 8) / 3, 12);
  });
});

describe("the silhouette of a sample", () => {
  const random = seededRandom(5, "heaps");
  const labels = Int32Array.from({length: 5000}, (_, i) => i % 3);
  const values = Float64Array.from(labels, (label) => 3 * label + random.normal());

  it("is near that of all rows, and the same for the same seed", () => {
    const all = silhouette({values, dims: 1}, labels, {most: 5000});
    const some = silhouette({values, dims: 1}, labels, {most: 1000, seed: 4});
    // Silhouettes of single rows spread by about 0.3: a mean of 1,000 is known to 0.01.
    expect(Math.abs(some - all)).toBeLessThan(0.03);
    expect(silhouette({values, dims: 1}, labels, {most: 1000, seed: 4})).toBe(some);
    expect(silhouette({values, dims: 1}, labels, {most: 1000, seed: 5})).not.toBe(some);
  });
});

describe("principal components", () => {
  it("of a line are its direction and nothing else", () => {
    const points = {values: Float64Array.of(0, 0, 3, 4, 6, 8), dims: 2};
    const {means, variances, explained, directions} = principalComponents(points);
    expect([...means]).toEqual([3, 4].map((v) => expect.closeTo(v, 12)));
    // Distances along the line -5, 0, 5: variance 50/3.
    expect([...variances]).toEqual([expect.closeTo(50 / 3, 12), expect.closeTo(0, 12)]);
    expect([...explained]).toEqual([expect.closeTo(1, 12), expect.closeTo(0, 12)]);
    expect([...directions.subarray(0, 2)]).toEqual([0.6, 0.8].map((v) => expect.closeTo(v, 12)));
  });

  it("keep every distance when all are kept", () => {
    const random = seededRandom(8, "rows");
    const points = {values: Float64Array.from({length: 40}, () => random.normal()), dims: 4};
    const {directions, variances} = principalComponents(points);
    for (let a = 0; a < 4; a++) {
      for (let b = 0; b <= a; b++) {
        let dot = 0;
        for (let c = 0; c < 4; c++) dot += (directions[4 * a + c] as number) * (directions[4 * b + c] as number);
        expect(dot).toBeCloseTo(a === b ? 1 : 0, 12);
      }
    }
    expect([...variances]).toEqual([...variances].sort((a, b) => b - a));
  });
});

describe("rows in an order of their own", () => {
  it("come out alike whatever order they came in", () => {
    const {points, from} = sortRows({values: Float64Array.of(2, 1, 1, 5, 1, 4), dims: 2});
    expect([...points.values]).toEqual([1, 4, 1, 5, 2, 1]);
    expect([...from]).toEqual([2, 1, 0]);
    expect(sortRows(points)).toEqual({points, from: Int32Array.of(0, 1, 2)});
  });
});

const shared = new URL("../../../shared/data/reference/clust/", import.meta.url);

describe.skipIf(!existsSync(shared))("indices on iris (skipped: no shared data)", () => {
  const [, ...rows] = existsSync(shared) ? readFileSync(new URL("iris.csv", shared), "utf8").trim().split("\n") : [];
  const iris = {values: Float64Array.from(rows.flatMap((row) => row.split(",").slice(0, 4).map(Number))), dims: 4};
  const labels = (count: number): Int32Array => fitKMeans(iris, count, {seed: 1, restarts: 60}).labels;

  // scikit-learn 1.2.1; the sums run in another order.
  it("are those of scikit-learn", () => {
    expect(silhouette(iris, labels(2))).toBeCloseTo(0.681046169, 8);
    expect(silhouette(iris, labels(3))).toBeCloseTo(0.552819012, 8);
    expect(calinskiHarabasz(iris, labels(3))).toBeCloseTo(561.62775663, 6);
    expect(daviesBouldin(iris, labels(3))).toBeCloseTo(0.661971547, 8);
  });

  it("and the shares of the components those of R prcomp, raw and standardised", () => {
    const shares = (points: Points): number[] => [...principalComponents(points).explained];
    expect(shares(iris)).toEqual([0.92462, 0.05307, 0.0171, 0.00521].map((v) => expect.closeTo(v, 5)));
    const z = standardised(iris);
    expect(shares(z)).toEqual([0.72962, 0.22851, 0.03669, 0.00518].map((v) => expect.closeTo(v, 5)));
  });
});

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
