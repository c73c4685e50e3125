import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import type {Grid} from "../../src/grid/grid.ts";
import type {Layer} from "../../src/grid/layer.ts";
import {tableLines} from "../../src/report/text-table.ts";
import {kMeans} from "../../src/stats/kmeans.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {type CountOptions, chooseCount, type KeptBackLayer} from "../../src/zones/choose-count.ts";
import {type Costed, costed, recommendCount} from "../../src/zones/choose-rule.ts";
import {otherHalfShare} from "../../src/zones/count-held-out.ts";
import type {CountRow} from "../../src/zones/count-rows.ts";
import {countColumns} from "../../src/zones/count-table.ts";
import {type Feature, featureMatrix} from "../../src/zones/feature-matrix.ts";
import {box, fieldFrom, layerFrom, randomLayer} from "./fields.ts";

beforeAll(loadGeos);

const ACRE = 4046.8564224;
const {field, grid} = fieldFrom(box(0, 0, 400, 300), 10);
const random = seededRandom(12, "choose");
/** Three strips of ground from west to east. */
const strips = (id: string, noise: number, on: Grid = grid): Layer =>
  layerFrom(on, id, (x) => (x < 130 ? 1 : x < 260 ? 4 : 7) + noise * random.normal());
const seasons = [strips("2023", 0.5), strips("2024", 0.5), strips("2025", 0.5)];
const mean = (layers: readonly Layer[], id = "mean"): Layer => ({
  ...(layers[0] as Layer),
  id,
  values: (layers[0] as Layer).values.map(
    (_, i) => layers.reduce((sum, {values}) => sum + (values[i] as number), 0) / layers.length,
  ),
});
const features: Feature[] = [
  {layer: mean(seasons), theme: "yield"},
  {layer: strips("depth", 0.8), theme: "terrain"},
];
const keptBack: KeptBackLayer[] = seasons.map((layer) => ({
  layer,
  features: [{layer: mean(seasons.filter((other) => other !== layer)), theme: "yield"}, features[1] as Feature],
}));
const options: CountOptions = {minArea: squareMetres(4000), smoothing: metres(15), most: 6};

describe("a field of three kinds of ground", () => {
  const choice = () => chooseCount({field, grid, features, keptBack}, {...options, sampling: {composite: 24}});

  it("is to be made three zones, which every index prefers", () => {
    const {recommended, rows, keptBack: names} = choice();
    expect(recommended.count).toBe(3);
    expect(recommended.reason).toBe("next-adds-little");
    expect(Object.values(recommended.preferred)).toEqual([3, 3, 3, 3, 3]);
    expect(rows.map(({count}) => count)).toEqual([1, 2, 3, 4, 5, 6]);
    expect(names).toEqual(["2023", "2024", "2025"]);
    expect(recommended.sentence).toMatch(
      /^Make 3 zones: of what was kept back they explain 9\d % \(of 100 maps laid by chance 95 explain under \d\d? %\), one more would explain \d\.\d points (more|less), the smallest has 9\.6 ac, and 3 composites cost \$72\.00\.$/,
    );
  });

  it("has one zone that explains nothing and whole indices only from two on", () => {
    const [one, two, three] = choice().rows as [Costed, Costed, Costed];
    expect(one.explained).toEqual({clustered: 0, tidied: 0});
    expect(one.fpi).toBeNaN();
    expect(one.cost).toBe(24);
    expect(one.smallest.tidied).toBe(120_000);
    expect(two.heldOut.explained).toBeLessThan(three.heldOut.explained);
    expect(three.heldOut.byChance?.p).toBeLessThanOrEqual(0.05);
    // Strips 130 m, 130 m and 140 m wide of 300 m.
    expect([...three.areas].sort((a, b) => a - b)).toEqual([39_000, 39_000, 42_000]);
  });

  it("comes out the same twice, whatever the order in which layers were kept back", () => {
    const once = choice();
    expect(choice()).toEqual(once);
    const turned = chooseCount(
      {field, grid, features, keptBack: [...keptBack].reverse()},
      {...options, sampling: {composite: 24}},
    );
    expect(turned.recommended.count).toBe(once.recommended.count);
  });

  it("is judged by its other half when nothing was kept back, and no finer than it is clear", () => {
    const {recommended, rows, keptBack: names} = chooseCount({field, grid, features}, options);
    expect(names).toEqual([]);
    expect(recommended.count).toBe(3);
    expect(recommended.sentence).toContain("nothing was kept back to show that they help");
    expect(rows[2]?.heldOut.byChance).toBeUndefined();
    expect(rows[2]?.heldOut.explained).toBeGreaterThan(0.8);
  });

  it("is to be made as many zones when kinds of ground are found by fuzzy c-means", () => {
    const fuzzy = chooseCount({field, grid, features, keptBack}, {...options, method: "fuzzy"});
    expect(fuzzy.recommended.count).toBe(3);
  });

  it("gets as many zones as the budget pays for, or none", () => {
    const within = (budget: number) =>
      chooseCount({field, grid, features, keptBack}, {...options, sampling: {composite: 24, budget}}).recommended;
    expect(within(72).count).toBe(3);
    expect(within(50)).toMatchObject({count: 2, reason: "most-that-fit"});
    expect(within(50).sentence).toContain("more are over the budget");
    expect(within(30)).toMatchObject({count: 1, reason: "over-budget"});
    expect(within(30).sentence).toBe(
      "Do not zone this field: sampling two zones costs $48.00, over the budget of $30.00.",
    );
  });

  it("is told in a table that a person can read", () => {
    const lines = tableLines(countColumns(choice()), 200);
    expect(lines.find((line) => line.includes("◂"))?.trim()).toMatch(/^3 ◂ /);
    expect(lines.join("\n")).toContain("kept back");
    expect(countColumns(choice(), "metric").find(({head}) => head[1] === "tidied" && head[2] === "ha")?.cells[0]).toBe(
      "12.0",
    );
  });
});

describe("a field that is better left whole", () => {
  it("shows no pattern in any layer", () => {
    const noise = layerFrom(grid, "noise", () => random.normal());
    const {recommended, issues} = chooseCount({field, grid, features: [{layer: noise, theme: "yield"}]}, options);
    expect(recommended).toMatchObject({count: 1, reason: "no-pattern"});
    expect(recommended.sentence).toMatch(/^Do not zone this field: in none of its layers/);
    expect(issues.map(({code}) => code)).toEqual(["zones/only-noise"]);
  });

  it("yields without regard to the layers that zones would be made from", () => {
    // Rows of trees, as it were: north to south in the layers, east to west in the yield.
    const other = layerFrom(grid, "yield", (_, y) => Math.sin(y / 25) + 0.5 * random.normal());
    const back = [{layer: other, features: [features[1] as Feature]}];
    const {recommended} = chooseCount({field, grid, features: [features[1] as Feature], keptBack: back}, options);
    expect(recommended).toMatchObject({count: 1, reason: "no-evidence"});
    expect(recommended.sentence).toMatch(/^Do not zone this field: of what was kept back the best of the counts/);
  });

  it("is too small for two zones", () => {
    const {recommended} = chooseCount({field, grid, features, keptBack}, {...options, minArea: squareMetres(70_000)});
    expect(recommended).toMatchObject({count: 1, reason: "too-small"});
    expect(recommended.sentence).toContain("a piece of 17.3 ac each");
  });
});

describe("the rule", () => {
  const row = (count: number, held: number, more: Partial<CountRow> = {}): Costed =>
    costed(
      {
        count,
        fpi: 0.3,
        entropyByLog: 0.3,
        entropyBySize: 0.3,
        silhouette: 0.3,
        calinskiHarabasz: 100,
        explained: {clustered: held, tidied: held},
        heldOut: {explained: held, byChance: {draws: 99, mean: 0, high: 0.01, p: 0.01}},
        smallest: {clustered: squareMetres(20_000), tidied: squareMetres(20_000)},
        left: count,
        areas: Array.from({length: count}, () => squareMetres(20_000)),
        ...more,
      },
      squareMetres(15_000),
      10,
    );
  const input = {minArea: squareMetres(8000), budget: undefined, onlyNoise: false, independent: true};
  const chosen = (held: readonly number[], more = {}): number =>
    recommendCount(
      held.map((share, i) => row(i + 1, share)),
      {...input, ...more},
    ).count;

  it("stops where one more zone adds under five points", () => {
    expect(chosen([0, 0.2, 0.3, 0.34, 0.38])).toBe(3);
    expect(chosen([0, 0.04, 0.07])).toBe(1);
  });

  it("steps over a count that adds little before one that adds much", () => {
    expect(chosen([0, 0.02, 0.3, 0.31])).toBe(3);
  });

  it("skips counts that lose a zone in tidying or leave too little of one", () => {
    const rows = [
      row(1, 0),
      row(2, 0.2),
      row(3, 0.4, {left: 2}),
      row(4, 0.5),
      row(5, 0.7, {smallest: {clustered: squareMetres(9000), tidied: squareMetres(7000)}}),
    ];
    const found = recommendCount(rows, input);
    expect(found).toMatchObject({count: 4, reason: "most-that-fit"});
    expect(found.sentence).toContain("more would leave pieces too small");
  });

  it("wants more than chance explains", () => {
    const byChance = {draws: 99, mean: 0.2, high: 0.4, p: 0.2};
    const found = recommendCount([row(1, 0), row(2, 0.3, {heldOut: {explained: 0.3, byChance}})], input);
    expect(found).toMatchObject({count: 1, reason: "no-evidence"});
    expect(found.sentence).toContain("maps laid anywhere do as well in 20 of 100 cases");
  });

  it("counts a composite for each part of a zone that one may speak for", () => {
    expect(row(2, 0.2).composites).toBe(4);
    expect(row(2, 0.2).cost).toBe(40);
  });

  it("puts fuzziness and entropy on one scale before adding them", () => {
    const rows = [
      row(1, 0),
      row(2, 0.2, {fpi: 0.4, entropyByLog: 0.1}),
      row(3, 0.3, {fpi: 0.1, entropyByLog: 0.12}),
      row(4, 0.4, {fpi: 0.39, entropyByLog: 0.4}),
    ];
    // Scaled: 1 + 0, 0 + 0.07, 0.97 + 1.
    expect(recommendCount(rows, input).preferred).toMatchObject({fpi: 3, entropyByLog: 2, fpiAndEntropy: 3});
  });
});

describe("the other half of the field", () => {
  it("is foretold when the same kinds lie in both", () => {
    const matrix = featureMatrix(field, grid, features);
    expect(otherHalfShare(grid, matrix, 3, {seed: 1, restarts: 5, mostIterations: 100})).toBeGreaterThan(0.8);
    expect(otherHalfShare(grid, matrix, 1, {seed: 1, restarts: 5, mostIterations: 100})).toBe(0);
  });

  it("is foretold less well than the half that kinds were found in", () => {
    // Noise in eight dimensions on few cells: kinds fit their own cells only.
    const small = fieldFrom(box(0, 0, 200, 150), 10);
    const noisy = Array.from(
      {length: 8},
      (_, i): Feature => ({layer: layerFrom(small.grid, `n${i}`, () => random.normal()), theme: "soil"}),
    );
    const matrix = featureMatrix(small.field, small.grid, noisy, {}, {dropNoise: false});
    const own = kMeans(matrix, 8, {seed: 1});
    const total = kMeans(matrix, 1, {seed: 1}).inertia;
    const other = otherHalfShare(small.grid, matrix, 8, {seed: 1, restarts: 10, mostIterations: 100});
    expect(other).toBeLessThan(0.75 * (1 - own.inertia / total));
  });
});

describe("impossible requests", () => {
  const code = (more: CountOptions): unknown => {
    try {
      chooseCount({field, grid, features}, more);
    } catch (error) {
      return (error as {code: string}).code;
    }
    return undefined;
  };

  it("are refused with a code", () => {
    expect(code({most: 1})).toBe("zones/counts");
    expect(code({most: 13})).toBe("zones/counts");
    expect(code({draws: 5})).toBe("zones/counts");
    expect(code({sampling: {composite: -1}})).toBe("zones/counts");
    expect(code({sampling: {maxArea: squareMetres(0)}})).toBe("zones/counts");
  });

  it("stop at as many kinds as the layers tell apart", () => {
    const two = layerFrom(grid, "two", (x) => (x < 200 ? 1 : 2));
    const {rows, recommended} = chooseCount({field, grid, features: [{layer: two, theme: "yield"}]}, options);
    expect(rows.map(({count}) => count)).toEqual([1, 2]);
    expect(recommended.count).toBe(2);
    expect(recommended.sentence).toContain("more were not tried");
  });

  it("of a random field come out as a whole number with a sentence", () => {
    const layers = [1, 2, 3].map((i) => randomLayer(grid, `w${i}`, seededRandom(i, "waves")));
    const {recommended, rows} = chooseCount(
      {field, grid, features: layers.map((layer) => ({layer, theme: "soil"}))},
      {most: 5},
    );
    expect(rows.some(({count}) => count === recommended.count)).toBe(true);
    expect(recommended.sentence).toMatch(/^(Make \d zones|Do not zone this field): .*\.$/);
    expect(rows.every(({areas}) => Math.abs(areas.reduce((a, b) => a + b, 0) / ACRE - 29.65) < 0.01)).toBe(true);
  });
});
