import {describe, expect, it} from "vitest";
import {frameAt} from "../../src/geo/frame.ts";
import {gridOver} from "../../src/grid/grid.ts";
import type {Layer} from "../../src/grid/layer.ts";
import {averageSeasons, normaliseSeason, type SeasonScale, zScoresOfGroup} from "../../src/layers/seasons.ts";
import {type SeasonStability, STABILITY_CLASSES, seasonStability} from "../../src/layers/seasons-stability.ts";

const frame = frameAt(-93.6, 42.02);
const nan = Number.NaN;
const season = (year: number, values: readonly number[]): Layer<"t/ha"> => ({
  id: `yield-${year}`,
  label: `Corn yield ${year}`,
  unit: "t/ha",
  grid: gridOver(frame, {west: 0, south: 0, east: 10 * values.length, north: 10}, 10),
  values: Float64Array.from(values),
  madeFrom: {step: "test", inputs: [], options: {}},
});
const average = (scale: SeasonScale, ...seasons: readonly (readonly number[])[]) =>
  averageSeasons(seasons.map((values, i) => normaliseSeason(season(2020 + i, values), undefined, scale).layer));
const named = ({classes}: SeasonStability): (string | undefined)[] =>
  Array.from(classes.values, (value) => (Number.isNaN(value) ? undefined : STABILITY_CLASSES[value]));

// Six cells with a mean of 10 each season: two good, two poor, two that change places.
const good = [
  [12, 12, 8, 8, 15, 5],
  [12, 12, 8, 8, 5, 15],
  [12, 12, 8, 8, 14, 6],
];

describe("a season in standard deviations from its mean", () => {
  it("has a mean of 0 and a standard deviation of 1", () => {
    // 8, 9, 10, 11, 12: mean 10, sample standard deviation the square root of 2.5.
    const {layer} = normaliseSeason(season(2020, [8, 9, 10, 11, 12, nan]), undefined, "z-score");
    expect(layer.unit).toBe("sd");
    [-2, -1, 0, 1, 2].forEach((d, i) => {
      expect(layer.values[i]).toBeCloseTo(d / Math.sqrt(2.5), 12);
    });
    expect(layer.values[5]).toBeNaN();
  });

  it("is taken per group, and left out where a group is the same everywhere", () => {
    const values = Float64Array.of(1, 2, 3, 4, 5, 7, 7, 7, 7, 7);
    const scores = zScoresOfGroup(values, [1, 1, 1, 1, 1, 2, 2, 2, 2, 2]);
    expect(scores[2]).toBe(0);
    expect(scores[7]).toBeNaN();
  });

  it("is averaged on that scale, and never mixed with percent", () => {
    const {mean} = average("z-score", [8, 9, 10, 11, 12], [16, 18, 20, 22, 24]);
    expect(mean.unit).toBe("sd");
    expect(mean.values[0]).toBeCloseTo(-2 / Math.sqrt(2.5), 12);
    const percent = normaliseSeason(season(2020, [8, 9, 10, 11, 12])).layer;
    const scores = normaliseSeason(season(2021, [8, 9, 10, 11, 12]), undefined, "z-score").layer;
    expect(() => averageSeasons<"sd" | "% of mean">([percent, scores])).toThrow("different scales");
  });

  it("of the good half alone does not pull that half down", () => {
    const truth = [6, 7, 8, 9, 10, 11, 12, 13, 14, 15];
    const {mean} = average(
      "z-score",
      truth,
      truth.map((v, i) => (i < 5 ? nan : v)),
    );
    // The half has a smaller spread of its own, so slopes differ; but its level is that of the whole.
    const upper = Array.from(mean.values).slice(5);
    const alone = Array.from(normaliseSeason(season(2020, truth), undefined, "z-score").layer.values).slice(5);
    const level = (v: readonly number[]): number => v.reduce((a, b) => a + b, 0) / v.length;
    expect(level(upper)).toBeCloseTo(level(alone), 6);
  });
});

describe("ground over several seasons", () => {
  it("is high and stable, low and stable, or unstable above 30 % of its mean", () => {
    const stability = seasonStability(average("percent of mean", ...good));
    expect(named(stability)).toEqual([
      "high and stable",
      "high and stable",
      "low and stable",
      "low and stable",
      "unstable",
      "unstable",
    ]);
    stability.sharesPct.forEach((share) => {
      expect(share).toBeCloseTo(100 / 3, 9);
    });
    expect(stability.classes.classes).toBe(STABILITY_CLASSES);
  });

  it("at exactly the mean is high, and at exactly the limit stable", () => {
    const flat = [10, 10, 10, 10, 10];
    expect(
      named(seasonStability(average("percent of mean", flat, flat, flat))).every((c) => c === "high and stable"),
    ).toBe(true);
    // 7, 10, 13 over seasons: mean 100, spread 30, which is not above 30.
    const around = [13, 7, 10, 10, 10];
    const back = [7, 13, 10, 10, 10];
    const middle = [10, 10, 10, 10, 10];
    expect(named(seasonStability(average("percent of mean", around, back, middle)))[0]).toBe("high and stable");
  });

  it("has no class where fewer than three seasons were harvested", () => {
    const gaps = good.map((values, t) => values.map((v, i) => (t === 2 && i === 0 ? nan : v)));
    expect(named(seasonStability(average("percent of mean", ...gaps)))[0]).toBeUndefined();
    expect(named(seasonStability(average("percent of mean", ...gaps), {leastSeasons: 2}))[0]).toBe("high and stable");
  });

  it("is set apart by the field's own limits when asked", () => {
    const calm = good.map((values) => values.map((v, i) => (i < 4 ? v + 0.01 * i : 10 + (v - 10) / 10)));
    const fixed = seasonStability(average("percent of mean", ...calm));
    expect(fixed.sharesPct[2]).toBe(0);
    expect(fixed.issues.map(({code}) => code)).toEqual(["seasons/all-stable"]);
    const own = seasonStability(average("percent of mean", ...calm), {unstableAbove: "median + MAD"});
    expect(named(own).slice(4)).toEqual(["unstable", "unstable"]);
    expect(own.issues).toEqual([]);
    expect(named(seasonStability(average("percent of mean", ...calm), {unstableAbove: "upper quartile"}))).toContain(
      "unstable",
    );
  });

  it("works on z-scores too, by the field's own limit", () => {
    const stability = seasonStability(average("z-score", ...good));
    expect(named(stability).slice(4)).toEqual(["unstable", "unstable"]);
    expect(named(stability).slice(0, 4)).toEqual([
      "high and stable",
      "high and stable",
      "low and stable",
      "low and stable",
    ]);
  });

  it("is refused a class from two seasons, or a percentage of nothing", () => {
    const two = average("percent of mean", ...good.slice(0, 2));
    expect(() => seasonStability(two)).toThrow("There are 2 seasons of yield; stability needs 3.");
    expect(() => seasonStability(average("z-score", ...good), {unstableAbove: {cvPct: 30}})).toThrow(
      "no coefficient of variation",
    );
  });
});
