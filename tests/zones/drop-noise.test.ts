import {describe, expect, it} from "vitest";
import {seededRandom} from "../../src/stats/random.ts";
import {type Feature, featureMatrix} from "../../src/zones/feature-matrix.ts";
import {box, classLayerFrom, fieldFrom, layerFrom} from "./fields.ts";

const {field, grid} = fieldFrom(box(0, 0, 200, 150));
const random = seededRandom(4, "noise");
const slope: Feature = {layer: layerFrom(grid, "slope", (x) => x), theme: "yield"};
const noise: Feature = {layer: layerFrom(grid, "noise", () => random.normal()), theme: "terrain"};
const faint: Feature = {layer: layerFrom(grid, "faint", (x) => x / 100 + random.normal()), theme: "sensed"};
const speckle: Feature = {
  layer: classLayerFrom(grid, "speckle", ["a", "b", "c"], () => random.integer(3)),
  theme: "soil",
};
const used = (features: Feature[], options = {}): string[] =>
  featureMatrix(field, grid, features, {}, options).used.map(({layer}) => layer.id);

describe("layers of pure noise", () => {
  it("are left out with a word, numbers and classes alike", () => {
    const {issues, used: kept} = featureMatrix(field, grid, [slope, noise, speckle]);
    expect(kept).toEqual([slope]);
    expect(issues.map(({code, severity}) => [code, severity])).toEqual([
      ["zones/noise-layer", "warning"],
      ["zones/noise-layer", "warning"],
    ]);
    expect(issues[0]?.message).toMatch(/^noise was left out: its neighbouring cells are no more alike than by chance/);
  });

  it("stay when the option is off, and when some pattern shows through", () => {
    expect(used([slope, noise, speckle], {dropNoise: false})).toEqual(["slope", "noise", "speckle"]);
    // A trend of 2 over a standard deviation of 1 in 1,200 cells.
    expect(used([slope, faint])).toEqual(["slope", "faint"]);
  });

  it("stay when there is nothing else, with a warning", () => {
    const {issues, patterns, used: kept} = featureMatrix(field, grid, [noise]);
    expect(kept).toEqual([noise]);
    expect(issues.map(({code}) => code)).toEqual(["zones/only-noise"]);
    expect(patterns[0]?.moran).toBeLessThan(patterns[0]?.bound as number);
  });

  it("are mistaken for a pattern about once in a hundred times", () => {
    let kept = 0;
    for (let draw = 0; draw < 300; draw++) {
      const layer = layerFrom(grid, "n", () => random.next());
      if (featureMatrix(field, grid, [{layer, theme: "soil"}]).issues.length === 0) kept++;
    }
    // Of 300 draws at 1 %, 10 or more have a chance of about 1 in 1,000.
    expect(kept).toBeLessThan(10);
  });

  it("are not looked for in a handful of cells", () => {
    const small = fieldFrom(box(0, 0, 30, 30));
    const layer = layerFrom(small.grid, "n", () => random.next());
    expect(featureMatrix(small.field, small.grid, [{layer, theme: "soil"}]).patterns).toEqual([]);
  });
});
