import {beforeAll, describe, expect, it} from "vitest";
import type {Field} from "../../src/geo/field.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {areaM2, contains} from "../../src/geo/measure.ts";
import type {MultiPolygon} from "../../src/geo/shapes.ts";
import {centreX, centreY, type Grid} from "../../src/grid/grid.ts";
import type {Layer} from "../../src/grid/layer.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {buildZones} from "../../src/zones/build-zones.ts";
import type {Feature} from "../../src/zones/feature-matrix.ts";
import type {ZoneOptions} from "../../src/zones/zone-options.ts";
import {box, classLayerFrom, fieldFrom, layerFrom, randomLayer, ring} from "./fields.ts";

beforeAll(loadGeos);

const {field, grid} = fieldFrom(box(0, 0, 400, 300));
const yieldOf = (layer: Layer): Feature => ({layer, theme: "yield"});
const codes = (issues: readonly {code: string}[]): string[] => issues.map(({code}) => code);

describe("zones of a field by hand", () => {
  // 3 t/ha west of 160 m, 9 t/ha east of it.
  const halves = yieldOf(layerFrom(grid, "yield", (x) => (x < 160 ? 3 : 9)));

  it("are its two halves, the poor one first", () => {
    const map = buildZones({field, grid, features: [halves]}, {count: 2});
    expect(map.zones.map(({id, label}) => [id, label])).toEqual([
      [1, "Zone 1"],
      [2, "Zone 2"],
    ]);
    expect(map.zones.map(({area}) => area)).toEqual([160 * 300, 240 * 300].map((v) => expect.closeTo(v, 6)));
    expect(map.zones.map(({means}) => means.yield)).toEqual([3, 9]);
    expect(map.varianceExplained).toEqual({clustered: expect.closeTo(1, 12), tidied: expect.closeTo(1, 12)});
    expect(map.issues).toEqual([]);
    expect(map.cells[0]).toBe(1);
    expect(map.cells[79]).toBe(2);
  });

  it("are numbered by the yield layer wherever it stands among the others", () => {
    const height = layerFrom(grid, "height", (x) => (x < 160 ? 250 : 240));
    const by = (features: Feature[]): unknown =>
      buildZones({field, grid, features}, {count: 2}).zones.map(({means}) => means.height);
    expect(by([{layer: height, theme: "terrain"}, halves])).toEqual([250, 240]);
    expect(by([{layer: height, theme: "terrain"}])).toEqual([240, 250]);
  });

  it("follow a soil map alone, with the share of each class", () => {
    const soil = classLayerFrom(grid, "soil", ["clay", "loam", "sand"], (x) => (x < 100 ? 2 : x < 250 ? 0 : 1));
    const map = buildZones({field, grid, features: [{layer: soil, theme: "soil"}]}, {count: 3});
    expect(map.zones.map(({classShares}) => classShares?.soil)).toEqual([{clay: 1}, {loam: 1}, {sand: 1}]);
    expect(map.zones.map(({means}) => means)).toEqual([{}, {}, {}]);
    expect(map.zones.map(({area}) => area / 300)).toEqual([150, 150, 100].map((v) => expect.closeTo(v, 6)));
  });

  it("are one zone with the whole field when one is asked for", () => {
    const map = buildZones({field, grid, features: [halves]}, {count: 1});
    expect(map.zones).toHaveLength(1);
    expect(map.zones[0]?.area).toBeCloseTo(120_000, 6);
    expect(map.varianceExplained.tidied).toBeCloseTo(0, 12);
    expect(map.zones[0]?.means.yield).toBeCloseTo(0.4 * 3 + 0.6 * 9, 9);
  });

  it("record what they were made from, defaults included", () => {
    const {madeFrom} = buildZones({field, grid, features: [halves]}, {count: 2, seed: 9});
    expect(madeFrom).toEqual({
      step: "zones/build",
      inputs: ["yield"],
      seed: 9,
      options: {
        count: 2,
        // 400 m by 300 m is 29.65 ac, a twentieth of it 1.48 ac.
        minArea: expect.closeTo(120_000 / 20, 6),
        smoothing: 15,
        weights: {},
        restarts: 10,
        mostIterations: 300,
        seed: 9,
        layers: [{id: "yield", theme: "yield", weight: 1}],
      },
    });
  });
});

describe("cells without data", () => {
  const west = (x: number): number => (x < 200 ? 2 : 8);

  it("are compared by the layers they have", () => {
    // Two layers in two themes of weight 2 and 1: 67 % present where the second has a gap.
    const gap = layerFrom(grid, "b", (x, y) => (y > 200 ? Number.NaN : west(x)));
    const features: Feature[] = [yieldOf(layerFrom(grid, "a", west)), {layer: gap, theme: "terrain"}];
    const map = buildZones({field, grid, features}, {count: 2, weights: {yield: 2}});
    expect(map.zones.map(({area}) => area)).toEqual([60_000, 60_000].map((v) => expect.closeTo(v, 6)));
    expect(map.issues).toEqual([]);
  });

  it("take the zone of the nearest cell when too little is left, and are counted", () => {
    const hole = layerFrom(grid, "a", (x, y) => (x > 60 && x < 140 && y > 100 && y < 200 ? Number.NaN : west(x)));
    const map = buildZones({field, grid, features: [yieldOf(hole)]}, {count: 2});
    expect(map.zones.map(({area}) => area)).toEqual([60_000, 60_000].map((v) => expect.closeTo(v, 6)));
    expect(map.zones[0]?.means.a).toBe(2);
    expect(map.issues).toEqual([
      {
        code: "zones/cells-without-data",
        severity: "warning",
        message:
          "320 of 4,800 cells (6.7 %) lack over 40 % of the layers' weight; they are in the zone of the nearest cell that has it.",
      },
    ]);
  });
});

describe("pieces that are too small", () => {
  // A spot of 60 m by 60 m, 0.9 ac.
  const spot = yieldOf(layerFrom(grid, "yield", (x, y) => (Math.abs(x - 200) < 30 && Math.abs(y - 150) < 30 ? 9 : 3)));

  it("go, and a zone that has no other with them", () => {
    const map = buildZones(
      {field, grid, features: [spot]},
      {count: 2, minArea: squareMetres(4000), smoothing: metres(0)},
    );
    expect(map.zones).toHaveLength(1);
    expect(map.issues).toEqual([
      {
        code: "zones/zone-merged-away",
        severity: "warning",
        message: "1 of 2 zones had no piece of at least 1.0 ac (0.40 ha) and went to their neighbours; 1 zone remains.",
        hint: "Lower the smallest piece of a zone, or ask for fewer zones.",
      },
    ]);
    expect(map.varianceExplained.clustered).toBeCloseTo(1, 9);
    expect(map.varianceExplained.tidied).toBeCloseTo(0, 9);
  });

  it("stay when they reach the minimum", () => {
    const map = buildZones(
      {field, grid, features: [spot]},
      {count: 2, minArea: squareMetres(3000), smoothing: metres(0)},
    );
    expect(map.zones.map(({means}) => Math.round(means.yield as number))).toEqual([3, 9]);
    // The square's corners are rounded.
    expect(map.zones[1]?.area).toBeGreaterThan(3300);
    expect(map.zones[1]?.area).toBeLessThan(3601);
  });

  it("are named when they are a part of the field by themselves", () => {
    const two = fieldFrom([...box(0, 0, 200, 200), ...box(220, 0, 250, 30)]);
    const features = [yieldOf(layerFrom(two.grid, "yield", (x) => x))];
    const map = buildZones({...two, features}, {count: 2, minArea: squareMetres(2000)});
    expect(codes(map.issues)).toEqual(["zones/piece-under-minimum"]);
    expect(map.issues[0]?.message).toBe(
      "1 piece is under 0.5 ac (0.20 ha): it is a part of the field without a neighbour to join.",
    );
  });
});

describe("doubtful and impossible requests", () => {
  const slope = yieldOf(layerFrom(grid, "yield", (x) => x));
  const code = (options: ZoneOptions): unknown => {
    try {
      buildZones({field, grid, features: [slope]}, options);
    } catch (error) {
      return (error as {code: string}).code;
    }
    return undefined;
  };

  it("are refused with a code", () => {
    for (const count of [0, 13, 2.5, Number.NaN]) expect(code({count})).toBe("zones/count");
    expect(code({minArea: squareMetres(-1)})).toBe("zones/option");
    expect(code({smoothing: metres(Number.NaN)})).toBe("zones/option");
    expect(code({restarts: 0})).toBe("zones/option");
    expect(code({mostIterations: 1.5})).toBe("zones/option");
    expect(code({seed: 0.5})).toBe("zones/option");
    const small = fieldFrom(box(0, 0, 20, 5), 5);
    const features = [yieldOf(layerFrom(small.grid, "yield", (x) => x))];
    expect(() => buildZones({...small, features}, {count: 5})).toThrow("4 cells of the field have data in every layer");
  });

  it("give fewer zones when the layers tell fewer kinds apart", () => {
    const map = buildZones({field, grid, features: [yieldOf(layerFrom(grid, "yield", (x) => (x < 160 ? 3 : 9)))]});
    expect(map.zones).toHaveLength(2);
    expect(codes(map.issues)).toEqual(["zones/fewer-kinds"]);
  });

  it("say when k-means was stopped early", () => {
    const map = buildZones({field, grid, features: [slope]}, {count: 5, mostIterations: 1, restarts: 1});
    expect(codes(map.issues)).toContain("zones/not-settled");
  });
});

describe("the default minimum area", () => {
  const minAcres = (acres: number): number => {
    const side = Math.sqrt(acres * SQUARE_METRES_PER_ACRE);
    const made = fieldFrom(box(0, 0, side, side), 10);
    const features = [yieldOf(layerFrom(made.grid, "yield", (x) => x))];
    return (buildZones({...made, features}, {count: 2}).madeFrom.options.minArea as number) / SQUARE_METRES_PER_ACRE;
  };

  it("is 2 ac, a twentieth of a smaller field, and 0.5 ac at least", () => {
    expect([160, 40, 20, 5].map(minAcres)).toEqual([2, 2, 1, 0.5].map((v) => expect.closeTo(v, 9)));
  });
});

describe("a field of 160 ac with five layers", () => {
  const large = fieldFrom(box(0, 0, 804.67, 804.67));
  const random = seededRandom(4, "large");
  const features: Feature[] = [
    {layer: randomLayer(large.grid, "y1", random), theme: "yield"},
    {layer: randomLayer(large.grid, "y2", random), theme: "yield"},
    {layer: randomLayer(large.grid, "y3", random), theme: "yield"},
    {layer: randomLayer(large.grid, "height", random), theme: "terrain"},
    {layer: randomLayer(large.grid, "sensed", random), theme: "sensed"},
  ];

  it("has zones that hold their cells, alike inputs giving alike bytes", () => {
    const map = buildZones({...large, features}, {count: 5});
    expect(buildZones({...large, features}, {count: 5})).toEqual(map);
    expectCellsInShapes(map.cells, map.zones, large);
    // Five unlike layers, so five zones tell a third or so of them; tidying to 2 ac keeps most of that.
    expect(map.varianceExplained.clustered).toBeGreaterThan(0.3);
    expect(map.varianceExplained.tidied).toBeLessThan(map.varianceExplained.clustered);
    expect(map.varianceExplained.tidied).toBeGreaterThan(0.75 * map.varianceExplained.clustered);
    const means = map.zones.map(({means: m}) => m.y1 as number);
    expect(means).toEqual([...means].sort((a, b) => a - b));
  });

  it("leaves the layers given untouched", () => {
    const before = features.map(({layer}) => layer.values.slice());
    buildZones({...large, features}, {count: 3, restarts: 2});
    features.forEach(({layer}, i) => {
      expect(layer.values).toEqual(before[i]);
    });
  });
});

/** Every cell of the field is in the zone whose polygon holds its centre. */
function expectCellsInShapes(
  cells: Uint8Array,
  zones: readonly {id: number; shape: MultiPolygon}[],
  made: {field: Field; grid: Grid},
): void {
  const mask = maskOf(made.grid, made.field.outline);
  const wrong = [...cells].filter((zone, i) => {
    if (mask[i] === 0) return zone !== 0;
    const [x, y] = [centreX(made.grid, i % made.grid.cols), centreY(made.grid, Math.floor(i / made.grid.cols))];
    const shape = zones[zone - 1]?.shape;
    return !shape || !contains(shape, x, y);
  });
  expect(wrong).toEqual([]);
}

describe("a field with a hole, a neck and a second part", () => {
  it("has zones with the area of the field", () => {
    const outline: MultiPolygon = [
      [
        ring(
          [0, 0],
          [300, 0],
          [300, 140],
          [420, 145],
          [420, 0],
          [700, 0],
          [650, 300],
          [420, 300],
          [420, 155],
          [300, 150],
          [300, 300],
          [0, 320],
        ),
        ring([100, 100], [90, 200], [180, 210], [190, 90]),
      ],
      ...box(0, 340, 250, 420),
    ];
    const made = fieldFrom(outline);
    const random = seededRandom(2, "neck");
    const features = [
      yieldOf(randomLayer(made.grid, "yield", random)),
      {layer: randomLayer(made.grid, "height", random), theme: "terrain"} as const,
    ];
    const map = buildZones({...made, features});
    const total = map.zones.reduce((sum, {area}) => sum + area, 0);
    expect(Math.abs(total / areaM2(outline) - 1)).toBeLessThan(1e-9);
    expectCellsInShapes(map.cells, map.zones, made);
  });
});
