import {describe, expect, it} from "vitest";
import {inertiaOf} from "../../src/stats/cluster-points.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {clusterCells} from "../../src/zones/cluster-cells.ts";
import {featureMatrix} from "../../src/zones/feature-matrix.ts";
import {squaredDistances} from "../../src/zones/memberships.ts";
import {clusteringShares} from "../../src/zones/theme-weights.ts";
import {box, classLayerFrom, fieldFrom, layerFrom, randomLayer} from "./fields.ts";

const {field, grid} = fieldFrom(box(0, 0, 200, 150));
const random = seededRandom(4, "layers");
const a = randomLayer(grid, "a", random);
const b = randomLayer(grid, "b", random);
const c = layerFrom(grid, "c", (x, y) => (x < 20 ? Number.NaN : y));
const even = classLayerFrom(grid, "even", ["clay", "loam"], (x) => (x < 100 ? 0 : 1));

describe("what drives the zones", () => {
  it("is each theme alike, shared by its layers", () => {
    const shares = clusteringShares(
      featureMatrix(field, grid, [
        {layer: a, theme: "yield"},
        {layer: b, theme: "yield", weight: 3},
        {layer: c, theme: "terrain"},
      ]),
    );
    // Each column has variance 1 before weighting: 1/8, 3/8 and 1/2.
    expect(shares.map(({share}) => share)).toEqual([1 / 8, 3 / 8, 1 / 2].map((v) => expect.closeTo(v, 9)));
    expect(shares.map(({coverage}) => coverage)).toEqual([1, 1, 0.9]);
  });

  it("is less of a layer of classes", () => {
    // Two halves: variance 1/4 · 1/2 in each of two columns, against 1.
    const shares = clusteringShares(
      featureMatrix(field, grid, [
        {layer: a, theme: "yield"},
        {layer: even, theme: "soil"},
      ]),
    );
    expect(shares.map(({share}) => share)).toEqual([0.8, 0.2].map((v) => expect.closeTo(v, 9)));
  });

  it("is more of a layer with long tails on the robust scale", () => {
    const skewed = layerFrom(grid, "skewed", (x, y) => Math.exp(x / 40) + y / 1000);
    const features = [
      {layer: c, theme: "yield"},
      {layer: skewed, theme: "soil"},
    ] as const;
    const share = (scale: "clipped" | "robust"): number | undefined =>
      clusteringShares(featureMatrix(field, grid, features, {}, {scale}))[1]?.share;
    expect(share("clipped")).toBeCloseTo(0.5, 9);
    expect(share("robust")).toBeGreaterThan(0.6);
  });
});

describe("principal components", () => {
  const features = [
    {layer: a, theme: "yield"},
    {layer: {...a, id: "again", values: a.values.map((v) => v + 0.1 * random.normal())}, theme: "yield"},
    {layer: b, theme: "terrain"},
    {layer: c, theme: "sensed"},
  ] as const;
  const plain = featureMatrix(field, grid, features);

  it("change no distance when all are kept", () => {
    const all = featureMatrix(field, grid, features, {}, {components: 1});
    expect(all.components?.kept).toBe(4);
    all.values.forEach((v, p) => {
      // Rounding of a turn there and back.
      if (!Number.isNaN(v)) expect(Math.abs(v - (plain.values[p] as number))).toBeLessThan(1e-12);
    });
  });

  it("keep as few as explain the share wished for, and as much of the variance as they explain", () => {
    const {components, values, dims, cells} = featureMatrix(field, grid, features, {}, {components: 0.9});
    expect(components?.explained).toHaveLength(4);
    expect(components?.explained.reduce((sum, v) => sum + v)).toBeCloseTo(1, 12);
    const kept = components?.kept as number;
    const share = (count: number): number => components?.explained.slice(0, count).reduce((sum, v) => sum + v, 0) ?? 0;
    expect(share(kept)).toBeGreaterThanOrEqual(0.9);
    expect(share(kept - 1)).toBeLessThan(0.9);
    const complete = [...cells.keys()].filter((i) => !Number.isNaN(values[i * dims + 3]));
    const left = complete.reduce((sum, i) => {
      const row = (m: Float64Array): Float64Array => m.slice(i * dims, (i + 1) * dims);
      return sum + inertiaOf({values: row(values), dims}, new Int32Array(1), row(plain.values));
    }, 0);
    const mean = new Float64Array(dims);
    for (const i of complete)
      for (let q = 0; q < dims; q++) mean[q] = (mean[q] ?? 0) + (plain.values[i * dims + q] ?? 0);
    const centre = mean.map((sum) => sum / complete.length);
    const total = complete.reduce(
      (sum, i) =>
        sum + inertiaOf({values: plain.values.slice(i * dims, (i + 1) * dims), dims}, new Int32Array(1), centre),
      0,
    );
    expect(left / total).toBeCloseTo(1 - share(kept), 9);
  });

  it("leave cells with gaps as they are", () => {
    const {values} = featureMatrix(field, grid, features, {}, {components: 0.5});
    expect([...values.slice(0, 4)]).toEqual([...plain.values.slice(0, 4)]);
    expect(values[3]).toBeNaN();
  });

  it("are refused when the share is none", () => {
    expect(() => featureMatrix(field, grid, features, {}, {components: 0})).toThrow("0 is not a share of variance");
  });
});

describe("fuzzy kinds of ground", () => {
  it("are those of k-means with an exponent near 1, and drawn together by a large one", () => {
    const matrix = featureMatrix(field, grid, [
      {layer: a, theme: "yield"},
      {layer: b, theme: "terrain"},
    ]);
    const settings = {count: 3, restarts: 5, mostIterations: 300, seed: 1};
    const apart = (more: object): number => {
      const {centres, issues} = clusterCells(matrix, {...settings, ...more});
      expect(issues).toEqual([]);
      const d = squaredDistances({...matrix, values: centres, present: new Float64Array(3).fill(1)}, centres);
      return d.reduce((sum, v) => sum + Math.sqrt(v), 0);
    };
    const crisp = apart({});
    expect(apart({method: "fuzzy", exponent: 1.02}) / crisp).toBeCloseTo(1, 2);
    expect(apart({method: "fuzzy"}) / crisp).toBeCloseTo(1, 1);
    expect(apart({method: "fuzzy", exponent: 4})).toBeLessThan(0.9 * crisp);
  });
});
