import {beforeAll, describe, expect, it} from "vitest";
import {loadGeos} from "../../src/geo/geos.ts";
import {blurCells} from "../../src/grid/blur-cells.ts";
import type {Grid} from "../../src/grid/grid.ts";
import type {Layer} from "../../src/grid/layer.ts";
import {maskOf} from "../../src/grid/rasterize.ts";
import {anova} from "../../src/stats/anova.ts";
import {type Random, seededRandom} from "../../src/stats/random.ts";
import {metres, squareMetres} from "../../src/units/quantity.ts";
import {buildZones} from "../../src/zones/build-zones.ts";
import type {Feature} from "../../src/zones/feature-matrix.ts";
import {judgeZones} from "../../src/zones/judge/judge-zones.ts";
import {trendShare} from "../../src/zones/judge/trend-share.ts";
import {labelCells} from "../../src/zones/label-cells.ts";
import {profileZones} from "../../src/zones/profile.ts";
import {compareWithNull, drawShifts, explainedUnderShifts} from "../../src/zones/spatial-null.ts";
import {zoneStability} from "../../src/zones/stability.ts";
import {evidenceOf} from "../../src/zones/verdict.ts";
import {zoneSettings} from "../../src/zones/zone-options.ts";
import {box, classLayerFrom, fieldFrom, layerFrom, randomLayer} from "./fields.ts";

beforeAll(loadGeos);

const {field, grid} = fieldFrom(box(0, 0, 400, 300));
const yieldOf = (layer: Layer): Feature => ({layer, theme: "yield"});
const halves = yieldOf(layerFrom(grid, "yield", (x) => (x < 160 ? 3 : 9)));
const options = {count: 2, smoothing: metres(0)};

describe("zones judged by hand", () => {
  it("explain what differs between them and nothing else", () => {
    const map = buildZones({field, grid, features: [halves]}, options);
    // 4, 5, 6 by thirds from south to north in both zones: the mean is the same, so zones explain nothing.
    const across = layerFrom(grid, "across", (_, y) => 4 + Math.floor(y / 100));
    const step = layerFrom(grid, "step", (x) => (x < 160 ? 10 : 20));
    const {keptBack, madeFrom} = judgeZones({map, features: [halves], layers: [across, step]});
    expect(keptBack.map(({explained}) => explained)).toEqual([expect.closeTo(0, 12), expect.closeTo(1, 12)]);
    expect(keptBack[1]?.means).toEqual([10, 20]);
    expect(keptBack[0]?.byChance.p).toBe(1);
    expect(keptBack[1]?.byChance.p).toBeLessThan(0.05);
    expect(madeFrom.map(({explained}) => explained)).toEqual([expect.closeTo(1, 12)]);
  });

  it("have the adjusted shares of an analysis of variance, and differences of samples as Tukey has them", () => {
    const map = buildZones({field, grid, features: [halves]}, options);
    const cells = Int32Array.of(10, 900, 1700, 2500, 3300, 50, 950, 1750, 2550, 3350);
    const zones = Int32Array.from(cells, (cell) => (map.cells[cell] as number) - 1);
    const values = Float64Array.of(1, 2, 3, 2, 2, 4, 5, 6, 5, 5);
    const p = {id: "P", label: "P", unit: "mg/kg", cells, values};
    const [found] = judgeZones({map, features: [halves], samples: [p]}).keptBack;
    const {eta2, epsilon2, omega2} = anova(values, zones);
    expect([found?.explained, found?.adjusted, found?.omega2]).toEqual([eta2, epsilon2, omega2]);
    expect(found?.differences).toHaveLength(1);
    expect(found?.differences?.[0]?.difference).toBeCloseTo(3, 12);
    // Two means: Student's t of 8 degrees of freedom, 2.306, times √(0.5 × (1/5 + 1/5)).
    expect((found?.differences?.[0]?.high ?? 0) - 3).toBeCloseTo(2.306004 * Math.sqrt(0.2), 5);
  });

  it("are not judged by fewer than eight samples", () => {
    const map = buildZones({field, grid, features: [halves]}, options);
    const few = {
      id: "P",
      label: "P",
      unit: "mg/kg",
      cells: Int32Array.of(1, 2, 3, -1),
      values: Float64Array.of(1, 2, 3, 4),
    };
    const judged = judgeZones({map, features: [halves], samples: [few]});
    expect(judged.keptBack).toEqual([]);
    expect(judged.issues.map(({message}) => message)).toEqual([
      "3 samples of P lie in the zones, too few to judge them by.",
    ]);
    expect(judged.evidence).toBe("unknown");
    expect(judged.verdict[0]).toBe(
      "Whether these zones help cannot be told: nothing was kept back to judge them by. Add a second yield season, or soil tests at points.",
    );
  });

  it("warn where what was kept back is one slope from end to end", () => {
    const map = buildZones({field, grid, features: [halves]}, options);
    const random = seededRandom(12, "slope");
    const slope = layerFrom(grid, "slope", (x, y) => x + 2 * y + 20 * random.normal());
    const {issues} = judgeZones({map, features: [], layers: [slope, randomLayer(grid, "hills", random)]});
    expect(issues.map(({code, message}) => [code, message.split(":")[0]])).toEqual([["zones/strong-trend", "slope"]]);
  });

  it("are called what they are", () => {
    expect(evidenceOf(1, 0.9, 0.005)).toBe("unknown");
    expect(evidenceOf(3, 0.4, 0.2)).toBe("none");
    expect(evidenceOf(3, 0.04, 0.005)).toBe("none");
    expect([0.1, 0.2, 0.5].map((share) => evidenceOf(3, share, 0.01))).toEqual(["weak", "useful", "strong"]);
  });

  it("are refused a number of tries that tells nothing", () => {
    const map = buildZones({field, grid, features: [halves]}, options);
    expect(() => judgeZones({map, features: []}, {draws: 5})).toThrow(
      "5 is not a number of zone maps to lay by chance.",
    );
  });
});

it("a plane explains a plane, and half of a plane with as much noise", () => {
  const cells = Int32Array.from({length: grid.cols * grid.rows}, (_, i) => i);
  const placed = (values: Float64Array) => ({id: "", label: "", unit: "", cells, values});
  const plane = layerFrom(grid, "plane", (x, y) => 3 * x - y).values;
  expect(trendShare(grid, placed(plane))).toBeCloseTo(1, 12);
  const sd = Math.sqrt(
    plane.reduce((sum, v) => sum + v ** 2, 0) / plane.length - (plane.reduce((a, v) => a + v, 0) / plane.length) ** 2,
  );
  const random = seededRandom(13, "plane");
  // 4,800 values: the share is known to about 0.01.
  expect(trendShare(grid, placed(plane.map((v) => v + sd * random.normal())))).toBeCloseTo(0.5, 1);
  expect(trendShare(grid, placed(plane.map(() => 4)))).toBe(0);
});

describe("zone maps laid by chance", () => {
  it("count a tie as explaining as much", () => {
    expect(compareWithNull(0.5, Float64Array.of(0.1, 0.5, 0.6, 0.2))).toEqual({
      draws: 4,
      mean: 0.35,
      high: 0.6,
      p: 0.6,
    });
  });

  it("are the map itself when slid by nothing, and its mirror image when slid by its length", () => {
    const zones = Uint8Array.from({length: grid.cols * grid.rows}, (_, i) => (i % grid.cols < 20 ? 1 : 2));
    const cells = Int32Array.from(zones.keys());
    const ramp = {id: "x", label: "x", unit: "m", cells, values: Float64Array.from(cells, (c) => c % grid.cols)};
    const {found, slid} = explainedUnderShifts(
      grid,
      zones,
      [ramp],
      [
        {rows: 0, cols: 0},
        {rows: 7, cols: grid.cols},
      ],
    );
    // Zones of 20 and 60 columns of 80: means 9.5 and 49.5 about 39.5, so (20 × 30² + 60 × 10²) / (80 × (80² − 1)/12).
    expect(found[0]).toBeCloseTo(24_000 / ((80 * 6399) / 12), 12);
    expect([...(slid[0] ?? [])]).toEqual([
      expect.closeTo(found[0] as number, 12),
      expect.closeTo(found[0] as number, 12),
    ]);
  });

  it("are the same for the same seed, and other ones for another", () => {
    expect(drawShifts(grid, 50, 3)).toEqual(drawShifts(grid, 50, 3));
    expect(drawShifts(grid, 50, 3)).not.toEqual(drawShifts(grid, 50, 4));
  });
});

/** Noise smoothed under a bell, cut out of a wider plane so that it does not wrap around. */
function smoothValues(own: Grid, sigmaM: number, random: Random): Float64Array {
  const margin = Math.ceil((3 * sigmaM) / own.cellSize);
  const wide: Grid = {...own, cols: own.cols + 2 * margin, rows: own.rows + 2 * margin};
  const raw = Float64Array.from({length: wide.cols * wide.rows}, () => random.normal());
  const blurred = blurCells(wide, raw, sigmaM);
  return Float64Array.from({length: own.cols * own.rows}, (_, i) => {
    const [row, col] = [Math.floor(i / own.cols) + margin, (i % own.cols) + margin];
    return blurred[row * wide.cols + col] as number;
  });
}

// As in a simulation with wrapped layers (NumPy, 300 runs), where the analysis of variance on all cells erred in 99.7 % and
// shifts in 5.7 % of cases at 5 %; here the layers do not wrap around and the field is a triangle.
describe("a layer that has nothing to do with the zones", () => {
  it("is found significant by nearly every analysis of variance, and by about one in twenty comparisons with chance", () => {
    const corner = {x: 0, y: 0};
    const made = fieldFrom([[[corner, {x: 480, y: 0}, {x: 0, y: 480}, corner]]], 8);
    const mask = maskOf(made.grid, made.field.outline);
    const cells = Int32Array.from(mask.keys()).filter((cell) => mask[cell] === 1);
    const runs = 120;
    let byAnova = 0;
    let byShift = 0;
    for (let run = 0; run < runs; run++) {
      const random = seededRandom(run, "independent layers");
      const made1 = smoothValues(made.grid, 40, random);
      const other = smoothValues(made.grid, 40, random);
      const sorted = Float64Array.from(cells, (cell) => made1[cell] as number).sort();
      const [low, high] = [1 / 3, 2 / 3].map((p) => sorted[Math.floor(p * sorted.length)] as number) as [
        number,
        number,
      ];
      const zones = mask.map((inside, cell) => {
        const v = made1[cell] as number;
        return inside ? (v < low ? 1 : v < high ? 2 : 3) : 0;
      });
      const values = Float64Array.from(cells, (cell) => other[cell] as number);
      // 5 % of F with 2 and many degrees of freedom: 2.996 (printed tables).
      if (
        anova(
          values,
          Int32Array.from(cells, (cell) => zones[cell] as number),
        ).f > 2.996
      )
        byAnova++;
      const placed = {id: "other", label: "other", unit: "1", cells, values};
      const {found, slid} = explainedUnderShifts(made.grid, zones, [placed], drawShifts(made.grid, 99, run));
      if (compareWithNull(found[0] as number, slid[0] as Float64Array).p <= 0.05) byShift++;
    }
    expect(byAnova / runs).toBeGreaterThan(0.9);
    // 6 of 120 expected; 13 or more happen by chance once in 200 times.
    expect(byShift).toBeLessThan(13);
  });

  it("is found again when it is the layer that zones were made from", () => {
    const random = seededRandom(8, "found again");
    const layer = randomLayer(grid, "layer", random);
    const map = buildZones({field, grid, features: [yieldOf(layer)]}, {count: 3, minArea: squareMetres(2000)});
    const noisy = {...layer, id: "noisy", values: layer.values.map((v) => v + random.normal())};
    const {overall, verdict} = judgeZones({map, features: [yieldOf(layer)], layers: [noisy]});
    expect(overall[0]?.byChance.p).toBe(0.005);
    expect(verdict[0]).toMatch(/^The zones help/);
  });

  it("gives the verdict that nothing shows zones to help", () => {
    const random = seededRandom(9, "no help");
    const map = buildZones({field, grid, features: [yieldOf(randomLayer(grid, "a", random))]}, {count: 3});
    const {verdict, evidence} = judgeZones({map, features: [], layers: [randomLayer(grid, "other", random)]});
    expect(evidence).toBe("none");
    expect(verdict[0]).toBe("No evidence that zones help.");
    expect(verdict.at(-1)).toBe("Manage the field as one, or sample it by grid; better layers may make better zones.");
  });
});

describe("soil tests that zones do not tell apart though they do yields", () => {
  it("lead the verdict, with what to do", () => {
    const random = seededRandom(14, "apart");
    const map = buildZones({field, grid, features: [halves]}, options);
    const cells = Int32Array.from({length: 12}, () => random.integer(grid.cols * grid.rows));
    const p = {id: "P", label: "P", unit: "mg/kg", cells, values: Float64Array.from(cells, () => random.normal())};
    const season = layerFrom(grid, "2024", (x) => (x < 160 ? 3 : 9) + random.normal());
    const judged = judgeZones({map, features: [], seasonsLeftOut: [{layer: season, zones: map.cells}], samples: [p]});
    expect(judged.overall.map(({kind, evidence}) => [kind, evidence])).toEqual([
      ["samples", "none"],
      ["season", "strong"],
    ]);
    expect(judged.verdict[0]).toBe(
      "The zones tell yields apart, but there is no evidence that they tell soil tests apart.",
    );
    expect(judged.verdict.slice(-2)).toEqual([
      "12 samples show only large differences: more of them may show smaller ones.",
      "Take yield goals from these zones; sample the soil by grid, or within zones at more than one place.",
    ]);
  });
});

describe("seasons left out", () => {
  it("are judged by the zones that the others make, and these compared with the map", () => {
    const random = seededRandom(10, "seasons");
    const pattern = randomLayer(grid, "pattern", random, 200, 0);
    const season = (id: string): Layer => ({
      ...pattern,
      id,
      label: id,
      values: pattern.values.map((v) => v + random.normal()),
    });
    const seasons = ["2021", "2022", "2023"].map(season);
    const mean = (of: readonly Layer[]): Feature =>
      yieldOf({
        ...pattern,
        id: "mean",
        values: pattern.values.map((_, i) => of.reduce((sum, {values}) => sum + (values[i] as number), 0) / of.length),
      });
    const settings = zoneSettings(field.area, {count: 3});
    const map = buildZones({field, grid, features: [mean(seasons)]}, {count: 3});
    const seasonsLeftOut = seasons.map((layer) => ({
      layer,
      zones: labelCells(field, grid, [mean(seasons.filter((other) => other !== layer))], settings).labels,
    }));
    const judged = judgeZones({map, features: [mean(seasons)], seasonsLeftOut});
    expect(judged.keptBack.map(({kind, byChance}) => [kind, byChance.p])).toEqual(seasons.map(() => ["season", 0.005]));
    for (const {likeMap} of judged.keptBack) expect(likeMap).toBeGreaterThan(0.6);
    expect(judged.verdict[1]).toMatch(
      /^Of 2021, 2022 and 2023, kept back, each by the zones that the other seasons make, zones explain \d+ % of the variance; laid elsewhere on the field they explain [\d.]+ % on average, and as much in none of 199 tries \(p = 0\.005\)\.$/,
    );
    expect(judgeZones({map, features: [mean(seasons)], seasonsLeftOut})).toEqual(judged);
  });
});

describe("stability", () => {
  const settings = zoneSettings(field.area, options);

  it("is whole for a field of two plain halves", () => {
    const stable = zoneStability(grid, labelCells(field, grid, [halves], settings), settings, 20, 50);
    expect([stable.mean, stable.low, stable.high]).toEqual([1, 1, 1]);
    expect([...new Set(stable.agreement)]).toEqual([1]);
  });

  it("is poor where layers tell no kinds of ground apart", () => {
    const random = seededRandom(11, "flat");
    const even: Feature[] = ["a", "b", "c", "d"].map((id) => yieldOf(randomLayer(grid, id, random, 60, 0.5)));
    const four = zoneSettings(field.area, {count: 4, minArea: squareMetres(500)});
    const made = labelCells(field, grid, even, four);
    const shaky = zoneStability(grid, made, four, 20, 50);
    expect(shaky.mean).toBeLessThan(0.8);
    expect(zoneStability(grid, made, four, 20, 50)).toEqual(shaky);
    const unsure = shaky.agreement.filter((share) => share < 0.8).length;
    expect(unsure).toBeGreaterThan(0.05 * shaky.agreement.length);
  });
});

describe("the profile of zones", () => {
  it("has sizes, means, spreads, thirds and classes by hand", () => {
    const height = {...layerFrom(grid, "relative-elevation", (x) => x / 400), unit: "m"};
    const soil = classLayerFrom(grid, "soil", ["clay", "loam"], (x) => (x < 100 ? 0 : 1));
    const features: Feature[] = [
      halves,
      {layer: height, theme: "terrain", weight: 0},
      {layer: soil, theme: "soil", weight: 0},
    ];
    const map = buildZones({field, grid, features}, options);
    const [poor, good] = profileZones(map, features, 30);
    expect([poor?.share, good?.share]).toEqual([expect.closeTo(0.4, 9), expect.closeTo(0.6, 9)]);
    expect(poor?.layers.yield).toMatchObject({mean: 3, sd: 0, low: 3, high: 3});
    // Columns of 5 m centred on 2.5 … 157.5 m: mean 80 m.
    expect(poor?.layers["relative-elevation"]?.mean).toBeCloseTo(0.2, 12);
    // The lowest third of the field is its western 133 m, five sixths of the zone.
    expect(poor?.layers["relative-elevation"]?.thirds[0]).toBeCloseTo(27 / 32, 9);
    expect([poor?.position, good?.position]).toEqual(["low ground", "high ground"]);
    expect(poor?.classShares).toEqual({soil: {clay: 0.625, loam: 0.375}});
    // More than 30 m from the border at 160 m, centre to centre: columns whose centre is over 6 columns away.
    expect(poor?.core).toBeCloseTo(26 / 32, 9);
    expect(good?.core).toBeCloseTo(42 / 48, 9);
    expect(poor?.pieces).toBe(1);
  });
});
