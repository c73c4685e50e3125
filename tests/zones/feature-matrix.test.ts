import {describe, expect, it} from "vitest";
import {type Feature, type FeatureMatrix, featureMatrix} from "../../src/zones/feature-matrix.ts";
import {box, classLayerFrom, fieldFrom, layerFrom} from "./fields.ts";

const {field, grid} = fieldFrom(box(0, 0, 100, 50));
const eastward = layerFrom(grid, "eastward", (x) => x);
const northward = layerFrom(grid, "northward", (_, y) => y);
const soil = classLayerFrom(grid, "soil", ["loam", "clay", "sand"], (x) => (x < 50 ? 0 : 1));

/** Mean squared distance between rows, which a z-score makes 2. */
function spread({values, dims, cells}: FeatureMatrix, columns: readonly number[]): number {
  let sum = 0;
  for (const c of columns) {
    const column = values.filter((_, i) => i % dims === c);
    const mean = column.reduce((a, b) => a + b, 0) / cells.length;
    sum += (2 * column.reduce((a, b) => a + (b - mean) ** 2, 0)) / cells.length;
  }
  return sum;
}

describe("layers on one scale", () => {
  it("have one row for each cell whose centre is in the field", () => {
    const notched = fieldFrom([
      [
        ...(box(0, 0, 100, 50)[0] ?? []),
        [
          {x: 20, y: 20},
          {x: 20, y: 40},
          {x: 40, y: 40},
          {x: 40, y: 20},
          {x: 20, y: 20},
        ],
      ],
    ]);
    const m = featureMatrix(notched.field, notched.grid, [
      {layer: layerFrom(notched.grid, "x", (x) => x), theme: "yield"},
    ]);
    expect(m.cells.length).toBe(200 - 16);
  });

  it("count each theme alike, however many layers it has", () => {
    const twin = {...eastward, id: "twin"};
    const m = featureMatrix(field, grid, [
      {layer: eastward, theme: "yield"},
      {layer: twin, theme: "yield"},
      {layer: northward, theme: "terrain"},
    ]);
    // Up to the 1 % that clipping takes from the tails, which the scale is measured after.
    expect(spread(m, [0, 1])).toBeCloseTo(2, 9);
    expect(spread(m, [2])).toBeCloseTo(2, 9);
    expect(m.weight).toBe(2);
  });

  it("count themes and layers as weighted", () => {
    const m = featureMatrix(
      field,
      grid,
      [
        {layer: eastward, theme: "yield", weight: 3},
        {layer: {...eastward, id: "twin"}, theme: "yield"},
        {layer: northward, theme: "terrain"},
      ],
      {yield: 2, terrain: 0.5},
    );
    expect([0, 1, 2].map((c) => spread(m, [c]))).toEqual([1.5 * 2, 0.5 * 2, 0.5 * 2].map((v) => expect.closeTo(v, 9)));
    expect(m.weight).toBe(2.5);
  });

  it("put two classes as far apart as one standard deviation", () => {
    const m = featureMatrix(field, grid, [{layer: soil, theme: "soil"}]);
    expect(m.dims).toBe(2); // sand does not occur
    const [first, last] = [m.values.subarray(0, 2), m.values.subarray(2 * 19, 2 * 20)];
    expect(
      ((first[0] as number) - (last[0] as number)) ** 2 + ((first[1] as number) - (last[1] as number)) ** 2,
    ).toBeCloseTo(1, 12);
  });

  it("leave gaps as gaps and know the share present", () => {
    const gappy = layerFrom(grid, "gappy", (x, y) => (x < 30 ? Number.NaN : y));
    const m = featureMatrix(field, grid, [
      {layer: eastward, theme: "yield"},
      {layer: gappy, theme: "terrain"},
    ]);
    expect(m.present[0]).toBe(0.5);
    expect(m.values[1]).toBeNaN();
    expect(m.present[19]).toBe(1);
  });
});

describe("layers that cannot divide the field", () => {
  const codes = (features: Feature[]): string[] =>
    featureMatrix(field, grid, [{layer: eastward, theme: "yield"}, ...features]).issues.map(({code}) => code);

  it("are left out with a word when constant, of one class, or without data", () => {
    expect(codes([{layer: layerFrom(grid, "flat", () => 3), theme: "terrain"}])).toEqual(["zones/constant-layer"]);
    expect(codes([{layer: classLayerFrom(grid, "one", ["a", "b"], () => 1), theme: "soil"}])).toEqual([
      "zones/constant-layer",
    ]);
    expect(codes([{layer: layerFrom(grid, "void", () => Number.NaN), theme: "soil"}])).toEqual(["zones/empty-layer"]);
  });

  it("are left out without a word when their weight is nought", () => {
    expect(codes([{layer: northward, theme: "terrain", weight: 0}])).toEqual([]);
    const m = featureMatrix(
      field,
      grid,
      [
        {layer: eastward, theme: "yield"},
        {layer: northward, theme: "terrain"},
      ],
      {terrain: 0},
    );
    expect(m.dims).toBe(1);
  });

  it("are left out, gappiest first, until half of the cells are complete", () => {
    const west = layerFrom(grid, "west", (x, y) => (x < 60 ? y : Number.NaN));
    const east = layerFrom(grid, "east", (x, y) => (x > 55 ? y : Number.NaN));
    const m = featureMatrix(field, grid, [
      {layer: west, theme: "yield"},
      {layer: east, theme: "sensed"},
      {layer: northward, theme: "terrain"},
    ]);
    expect(m.used.map(({layer}) => layer.id)).toEqual(["west", "northward"]);
    expect(m.issues[0]?.message).toContain("covers 45 % of the field");
  });
});

describe("impossible requests", () => {
  const code = (features: Feature[], weights = {}): unknown => {
    try {
      featureMatrix(field, grid, features, weights);
    } catch (error) {
      return (error as {code: string}).code;
    }
    return undefined;
  };

  it("are refused with a code", () => {
    expect(code([])).toBe("zones/no-layers");
    expect(code([{layer: layerFrom(grid, "flat", () => 3), theme: "soil"}])).toBe("zones/nothing-varies");
    expect(
      code([
        {layer: eastward, theme: "soil"},
        {layer: eastward, theme: "yield"},
      ]),
    ).toBe("zones/layer-twice");
    expect(code([{layer: eastward, theme: "soil", weight: -1}])).toBe("zones/weight");
    expect(code([{layer: eastward, theme: "soil"}], {soil: Number.NaN})).toBe("zones/weight");
    const other = fieldFrom(box(0, 0, 100, 50), 10);
    expect(code([{layer: layerFrom(other.grid, "coarse", (x) => x), theme: "soil"}])).toBe("zones/grid-differs");
  });

  it("name a field too small for its cells", () => {
    const lane = fieldFrom(box(0, 0, 100, 1.2), 5);
    expect(() =>
      featureMatrix(lane.field, lane.grid, [{layer: layerFrom(lane.grid, "x", (x) => x), theme: "soil"}]),
    ).toThrow("No 5 m cell has its centre in Test field.");
  });
});
