import {describe, expect, it} from "vitest";
import {seededRandom} from "../../src/stats/random.ts";
import {clusterCells} from "../../src/zones/cluster-cells.ts";
import {featureMatrix} from "../../src/zones/feature-matrix.ts";
import {box, fieldFrom, layerFrom} from "./fields.ts";

const settings = {count: 2, restarts: 3, mostIterations: 100, seed: 1};

describe("kinds of ground", () => {
  it("are found from cells that have every layer", () => {
    const {field, grid} = fieldFrom(box(0, 0, 100, 50));
    const matrix = featureMatrix(field, grid, [
      {layer: layerFrom(grid, "a", (x) => (x < 50 ? 1 : 3)), theme: "yield"},
      {layer: layerFrom(grid, "b", (x, y) => (y > 40 ? Number.NaN : x < 50 ? 8 : 4)), theme: "terrain"},
    ]);
    const {centres, issues} = clusterCells(matrix, settings);
    // Two values in equal numbers: z-scores of -1 and 1, and the second layer runs against the first.
    expect([...centres].map(Math.abs)).toEqual([1, 1, 1, 1].map((v) => expect.closeTo(v, 9)));
    expect((centres[0] as number) * (centres[1] as number)).toBeLessThan(0);
    expect(issues).toEqual([]);
  });

  it("hardly move when a very large field is fitted on 50,000 of its cells", () => {
    // Two heaps of known mean and spread over 90,000 cells: the mean of 25,000 of sd 0.2 is known to 0.0013 (1 s.e.).
    const {field, grid} = fieldFrom(box(0, 0, 300, 300), 1);
    const random = seededRandom(6, "heaps");
    const matrix = featureMatrix(field, grid, [
      {layer: layerFrom(grid, "a", (x) => (x < 150 ? 2 : 4) + 0.2 * random.normal()), theme: "yield"},
    ]);
    expect(matrix.cells.length).toBe(90_000);
    const {centres} = clusterCells(matrix, settings);
    // In z-scores: sd is the root of 1 + 0.04, so the heaps are at -+0.9806, less a little for the clipped tails.
    const [low, high] = [...centres].sort((a, b) => a - b) as [number, number];
    expect(Math.abs(low + 0.9806)).toBeLessThan(0.005);
    expect(Math.abs(high - 0.9806)).toBeLessThan(0.005);
    expect(clusterCells(matrix, settings).centres).toEqual(centres);
    expect(clusterCells(matrix, {...settings, seed: 2}).centres).not.toEqual(centres);
  });
});
