import fc from "fast-check";
import {describe, expect, it} from "vitest";
import type {Issue} from "../../src/errors.ts";
import {frameAt} from "../../src/geo/frame.ts";
import {gridOver} from "../../src/grid/grid.ts";
import type {Layer} from "../../src/grid/layer.ts";
import {averageSeasons, normaliseSeason, percentOfGroupMean} from "../../src/layers/seasons.ts";

const frame = frameAt(-93.6, 42.02);
const rowOf = (cells: number) => gridOver(frame, {west: 0, south: 0, east: 10 * cells, north: 10}, 10);

function season(year: number, values: readonly number[]): Layer<"t/ha"> {
  return {
    id: `yield-${year}`,
    label: `Corn yield ${year}`,
    unit: "t/ha",
    grid: rowOf(values.length),
    values: Float64Array.from(values),
    madeFrom: {step: "test", inputs: [], options: {}},
  };
}
const relative = (...seasons: readonly (readonly number[])[]): Layer<"% of mean">[] =>
  seasons.map((values, i) => normaliseSeason(season(2020 + i, values)).layer);
const nan = Number.NaN;

describe("a season as percent of its mean", () => {
  it("has a mean of 100", () => {
    const {layer} = normaliseSeason(season(2020, [8, 10, 12, 9, 11, nan]));
    expect([...layer.values]).toEqual([80, 100, 120, 90, 110, nan]);
    expect(layer).toMatchObject({id: "yield-2020-relative", unit: "% of mean"});
  });

  it("is taken per group where strips differ", () => {
    const {layer} = normaliseSeason(season(2020, [2, 4, 2, 4, 3, 8, 12, 10, 8, 12]), [1, 1, 1, 1, 1, 2, 2, 2, 2, 2]);
    expect(layer.values[0]).toBeCloseTo(200 / 3, 12);
    expect(layer.values[5]).toBeCloseTo(80, 12);
  });

  it("leaves groups out that have no mean to divide by", () => {
    const issues: Issue[] = [];
    const values = Float64Array.of(5, 5, 5, 5, 5, 0, 0, 0, 0, 0, 9);
    const groups = ["a", "a", "a", "a", "a", "b", "b", "b", "b", "b", "c"];
    const percent = percentOfGroupMean(values, groups, issues);
    expect([percent[0], percent[5], percent[10]]).toEqual([100, nan, nan]);
    expect(issues.map((issue) => issue.message)).toEqual([
      'Group "b" has a mean of zero; its values were left out.',
      'Group "c" has 1 values, too few for a mean; they were left out.',
    ]);
  });
});

describe("several seasons", () => {
  // Enough cells for a group of five: the worked example, twice.
  const twice = (values: readonly number[]): number[] => [...values, ...values];

  it("average to 70, 95 and 135 in the worked example", () => {
    // Seasons 8, 10, 12 and 6, 9, 15, both with a mean of 10.
    const {mean, spread} = averageSeasons(relative(twice([8, 10, 12]), twice([6, 9, 15])));
    expect([...mean.values.slice(0, 3)].map((v) => Math.round(v * 1e9) / 1e9)).toEqual([70, 95, 135]);
    [14.142136, 7.071068, 21.213203].forEach((sd, i) => {
      expect(spread.values[i]).toBeCloseTo(sd, 6);
    });
  });

  it("use the seasons a cell has, and want half of them", () => {
    const a = [10, 10, 10, 10, 10, 10];
    const {mean, spread} = averageSeasons(
      relative(
        [...a, nan, nan],
        [...a, 10, nan],
        [...a, nan, nan].map((v) => 2 * v),
      ),
    );
    expect(mean.values[0]).toBeCloseTo(100, 9);
    expect(mean.values[6]).toBeNaN(); // one of three
    expect(mean.values[7]).toBeNaN();
    expect(spread.values[0]).toBeCloseTo(0, 9);
  });

  it("of which one covers the good half only do not pull that half down", () => {
    const truth = [6, 7, 8, 9, 10, 11, 12, 13, 14, 15];
    const goodHalf = truth.map((v, i) => (i < 5 ? nan : v));
    const {mean} = averageSeasons(relative(truth, goodHalf));
    const alone = relative(truth)[0] as Layer;
    alone.values.forEach((value, i) => {
      expect(mean.values[i]).toBeCloseTo(value, 6);
    });
  });

  it("do not depend on their order", () => {
    const yields = fc.array(fc.integer({min: 1, max: 20}), {minLength: 8, maxLength: 8});
    fc.assert(
      fc.property(yields, yields, yields, (a, b, c) => {
        const forward = averageSeasons(relative(a, b, c));
        const back = averageSeasons(relative(c, b, a));
        forward.mean.values.forEach((value, i) => {
          expect(back.mean.values[i]).toBeCloseTo(value, 6);
        });
      }),
    );
  });

  it("that agree say nothing, that disagree say so", () => {
    const rising = [1, 2, 3, 4, 5, 6, 7, 8];
    const mixed = [5, 1, 8, 3, 2, 7, 4, 6];
    const agreeing = averageSeasons(relative(rising, rising));
    expect(agreeing.meanCorrelation).toBeCloseTo(1, 12);
    expect(agreeing.issues).toEqual([]);
    const disagreeing = averageSeasons(relative(rising, mixed));
    expect(disagreeing.meanCorrelation).toBeCloseTo(disagreeing.correlation[0]?.[1] ?? nan, 12);
    expect(disagreeing.issues.map((issue) => issue.code)).toEqual(
      disagreeing.meanCorrelation < 0.2 ? ["seasons/disagree"] : [],
    );
    expect(averageSeasons(relative(rising, [...rising].reverse())).issues[0]?.code).toBe("seasons/disagree");
  });

  it("of one say nothing of what lasts", () => {
    const {mean, spread, issues} = averageSeasons(relative([8, 9, 10, 11, 12]));
    expect(mean.values[0]).toBe(80);
    expect(spread.values.every(Number.isNaN)).toBe(true);
    expect(issues.map((issue) => issue.code)).toEqual(["seasons/one-season"]);
  });
});
