import {describe, expect, it} from "vitest";
import {calinskiHarabasz, daviesBouldin} from "../../../src/stats/cluster-indices.ts";
import {fitKMeans} from "../../../src/stats/fit-kmeans.ts";
import {fuzzyCMeans} from "../../../src/stats/fuzzy-cmeans.ts";
import {fuzzyIndices} from "../../../src/stats/fuzzy-indices.ts";
import {silhouette} from "../../../src/stats/silhouette.ts";
import {e1071, scikitLearn, type Table} from "./programs.ts";

const {version, tables} = scikitLearn();
console.log(`scikit-learn ${version}`);
if (tables.length === 4) console.log("farm grids skipped: no shared data");
const pointsOf = ({dims, values}: Table) => ({dims, values: Float64Array.from(values)});

describe.each(tables)("k-means on $name", (table) => {
  const points = pointsOf(table);

  it.each(table.fits)("of $count clusters ends as low as the best of many starts of scikit-learn", (fit) => {
    // Standardised wine has thousands of optima, each found once in thousands of starts.
    const restarts = points.values.length > 10_000 ? 60 : 6000;
    const ours = fitKMeans(points, fit.count, {seed: 1, restarts});
    // Optima a few rows apart differ by more than rounding: ours may be lower, never higher by a millionth.
    expect(ours.inertia / fit.inertia).toBeLessThan(1 + 1e-6);
    if (ours.inertia / fit.inertia < 1 - 1e-9) return;
    // The same optimum has the same indices; sums run in another order.
    const most = points.values.length / points.dims;
    expect(silhouette(points, ours.labels, {most})).toBeCloseTo(fit.silhouette, 5);
    expect(calinskiHarabasz(points, ours.labels) / fit.calinskiHarabasz).toBeCloseTo(1, 5);
    expect(daviesBouldin(points, ours.labels)).toBeCloseTo(fit.daviesBouldin, 4);
  });
});

describe("fuzzy c-means on iris", () => {
  const iris = tables.find(({name}) => name === "iris") as Table;
  const points = pointsOf(iris);
  const found = e1071(iris, [2, 3, 4], [1.3, 1.5, 2]);
  console.log(`e1071 ${found.version}`);

  it.each(found.fits)("has objective, centres and indices of e1071 for $count clusters and m = $exponent", (fit) => {
    const {count, exponent} = fit;
    const start = fitKMeans(points, count, {seed: 1}).centres;
    const {centres, memberships, objective} = fuzzyCMeans(points, start, {exponent, tolerance: 1e-9});
    expect(objective / fit.objective).toBeCloseTo(1, 9);
    // Both stop short of the fixed point by some 1e-8 of the spread.
    const byFirst = (all: ArrayLike<number>): number[][] =>
      Array.from({length: count}, (_, j) => Array.from(all).slice(4 * j, 4 * j + 4)).sort(
        (a, b) => (a[0] ?? 0) - (b[0] ?? 0),
      );
    byFirst(centres)
      .flat()
      .forEach((v, q) => {
        expect(Math.abs(v - (byFirst(fit.centres).flat()[q] as number))).toBeLessThan(1e-5);
      });
    const {partition, fpi, entropy, entropyByLog, entropyBySize} = fuzzyIndices(memberships, count);
    expect(partition).toBeCloseTo(fit.partition, 6);
    expect(entropy).toBeCloseTo(fit.entropy, 6);
    // Both indices from e1071's own coefficient and entropy.
    expect(fpi).toBeCloseTo(1 - (count * fit.partition - 1) / (count - 1), 6);
    expect(entropyByLog).toBeCloseTo(fit.entropy / Math.log(count), 6);
    expect(entropyBySize).toBeCloseTo(fit.entropy / (1 - count / 150), 6);
  });
});
