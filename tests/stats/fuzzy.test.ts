import {existsSync, readFileSync} from "node:fs";
import fc from "fast-check";
import {describe, expect, it} from "vitest";
import type {Points} from "../../src/stats/cluster-points.ts";
import {fitKMeans} from "../../src/stats/fit-kmeans.ts";
import {fuzzyCMeans} from "../../src/stats/fuzzy-cmeans.ts";
import {fuzzyIndices} from "../../src/stats/fuzzy-indices.ts";
import {memberships} from "../../src/stats/fuzzy-memberships.ts";
import {seededRandom} from "../../src/stats/random.ts";

const line = (...values: number[]): Points => ({values: Float64Array.from(values), dims: 1});

describe("membership at distances 1 and 3", () => {
  // u = 1 / (1 + (1/9)^(1/(m-1))): 9/10, 81/82, and 1 / (1 + 9^(-1/0.3)).
  it.each([
    [2, 0.9],
    [1.5, 0.987804878],
    [1.3, 0.99934097],
  ])("with the exponent %f is %f", (exponent, expected) => {
    const [near, far] = memberships(Float64Array.of(1, 9), 2, exponent) as unknown as [number, number];
    expect(near).toBeCloseTo(expected, 9);
    expect(near + far).toBeCloseTo(1, 15);
  });
});

describe("indices of fuzziness", () => {
  it("are nought for a crisp partition", () => {
    const {partition, fpi, entropy, entropyByLog, entropyBySize} = fuzzyIndices(Float64Array.of(1, 0, 0, 1, 1, 0), 2);
    expect([partition, fpi, entropy, entropyByLog, entropyBySize]).toEqual([1, 0, 0, 0, 0]);
  });

  it("are one when every row belongs to all alike", () => {
    const {partition, fpi, entropy, entropyByLog} = fuzzyIndices(new Float64Array(12).fill(1 / 3), 3);
    expect(partition).toBeCloseTo(1 / 3, 12);
    expect(fpi).toBeCloseTo(1, 12);
    expect(entropy).toBeCloseTo(Math.log(3), 12);
    expect(entropyByLog).toBeCloseTo(1, 12);
  });

  it("are those worked by hand for four rows", () => {
    // F = (.82 + .68 + .5 + 1) / 4; H = mean of .325082973, .500402424, ln 2 and 0.
    const found = fuzzyIndices(Float64Array.of(0.9, 0.1, 0.2, 0.8, 0.5, 0.5, 1, 0), 2);
    expect(found.partition).toBeCloseTo(0.75, 12);
    expect(found.fpi).toBeCloseTo(0.5, 12);
    expect(found.entropy).toBeCloseTo(0.379658144, 9);
    expect(found.entropyByLog).toBeCloseTo(0.547730922, 9);
    expect(found.entropyBySize).toBeCloseTo(0.759316289, 9);
  });

  it("step over rows without memberships and have no value for one cluster", () => {
    const gap = Number.NaN;
    expect(fuzzyIndices(Float64Array.of(0.5, 0.5, gap, gap), 2).fpi).toBeCloseTo(1, 12);
    expect(fuzzyIndices(Float64Array.of(1, 1), 1).fpi).toBeNaN();
  });

  it("stay between nought and one", () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(fc.double({min: 1e-9, max: 1, noNaN: true}), {minLength: 3, maxLength: 3}), {minLength: 4}),
        (rows) => {
          const shares = rows.flatMap((row) => row.map((u) => u / row.reduce((a, b) => a + b)));
          const {fpi, entropyByLog} = fuzzyIndices(Float64Array.from(shares), 3);
          // Rounding of a mean of shares.
          for (const index of [fpi, entropyByLog]) expect(Math.abs(index - 0.5)).toBeLessThanOrEqual(0.5 + 1e-12);
        },
      ),
    );
  });
});

describe("fuzzy c-means", () => {
  const heaps = line(0, 1, 2, 10, 11, 12);

  it("comes close to k-means as the exponent comes close to 1", () => {
    const {centres, objective, settled} = fuzzyCMeans(heaps, Float64Array.of(0, 12), {exponent: 1.05});
    expect(settled).toBe(true);
    expect([...centres]).toEqual([1, 11].map((v) => expect.closeTo(v, 6)));
    expect(objective).toBeCloseTo(4, 6);
  });

  it("sits still at a fixed point: every centre is the weighed mean of its rows", () => {
    const {centres, memberships: u} = fuzzyCMeans(heaps, Float64Array.of(0, 12), {exponent: 2});
    for (const j of [0, 1]) {
      let weight = 0;
      let sum = 0;
      heaps.values.forEach((x, i) => {
        weight += (u[2 * i + j] as number) ** 2;
        sum += (u[2 * i + j] as number) ** 2 * x;
      });
      // The run ends when centres move under 1e-6 of a spread of 5.
      expect(sum / weight).toBeCloseTo(centres[j] as number, 5);
    }
    expect((centres[0] as number) + (centres[1] as number)).toBeCloseTo(12, 9);
  });

  it("does not mind the order of the rows, and gives the same bytes twice", () => {
    const random = seededRandom(3, "rows");
    const values = Float64Array.from({length: 900}, (_, i) => random.normal() + (i % 9 < 3 ? 3 : 0));
    const backwards = new Float64Array(900);
    for (let i = 0; i < 300; i++) backwards.set(values.subarray(3 * i, 3 * i + 3), 3 * (299 - i));
    const start = fitKMeans({values, dims: 3}, 3, {seed: 1}).centres;
    const once = fuzzyCMeans({values, dims: 3}, start);
    const other = fuzzyCMeans({values: backwards, dims: 3}, start);
    expect(other.centres).toEqual(once.centres);
    expect([...other.memberships.slice(0, 3)]).toEqual([...once.memberships.slice(897)]);
    expect(fuzzyCMeans({values, dims: 3}, start)).toEqual(once);
  });
});

const shared = new URL("../../../shared/data/reference/clust/", import.meta.url);

describe.skipIf(!existsSync(shared))("fuzzy c-means on iris (skipped: no shared data)", () => {
  const [, ...rows] = existsSync(shared) ? readFileSync(new URL("iris.csv", shared), "utf8").trim().split("\n") : [];
  const iris = {values: Float64Array.from(rows.flatMap((row) => row.split(",").slice(0, 4).map(Number))), dims: 4};
  const fuzzy = (count: number, exponent: number) =>
    fuzzyCMeans(iris, fitKMeans(iris, count, {seed: 1}).centres, {exponent});

  // e1071 1.7-13 cmeans, which ends at a relative change of 1e-8 of the objective: 1e-5 in the centres.
  it("has the objective, centres and indices of e1071", () => {
    const {centres, memberships: u, objective} = fuzzy(3, 2);
    expect(objective).toBeCloseTo(60.505711, 6);
    const expected = [
      [5.003965961, 3.414088859, 1.482815532, 0.2535463171],
      [5.888932349, 2.761069359, 4.363951627, 1.397315032],
      [6.77501121, 3.052382267, 5.646781765, 2.053546652],
    ];
    const found = [0, 1, 2]
      .map((j) => [...centres.subarray(4 * j, 4 * j + 4)])
      .sort((a, b) => (a[0] ?? 0) - (b[0] ?? 0));
    found.flat().forEach((v, q) => {
      expect(Math.abs(v - (expected.flat()[q] as number))).toBeLessThan(1e-5);
    });
    const indices = fuzzyIndices(u, 3);
    expect(indices.partition).toBeCloseTo(0.78339749, 6);
    expect(indices.fpi).toBeCloseTo(0.32490377, 6);
    expect(indices.entropyByLog).toBeCloseTo(0.359991951, 6);
    expect(indices.entropyBySize).toBeCloseTo(0.403562838, 6);
  });

  it("has them for two clusters, and for a crisper exponent", () => {
    const two = fuzzy(2, 2);
    expect(two.objective).toBeCloseTo(128.894897, 5);
    expect(fuzzyIndices(two.memberships, 2).fpi).toBeCloseTo(0.21556798, 6);
    expect(fuzzyIndices(two.memberships, 2).entropyByLog).toBeCloseTo(0.28239642, 6);
    const crisp = fuzzy(3, 1.3);
    expect(crisp.objective).toBeCloseTo(77.370776, 5);
    expect(fuzzyIndices(crisp.memberships, 3).fpi).toBeCloseTo(0.05720407, 6);
  });
});
