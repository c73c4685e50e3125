import {beforeAll, describe, expect, it} from "vitest";
import {type HoldOutInput, judgeByHoldOuts, valuesAt} from "../../src/compare/hold-out.ts";
import {loadGeos} from "../../src/geo/geos.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {ACRE_SIDE_M, strips} from "../prescription/fields.ts";

beforeAll(loadGeos);

const input = (
  found: number[],
  predictions: Record<string, number[]>,
  more: Partial<HoldOutInput> = {},
): HoldOutInput => ({
  what: "soil-test P",
  unit: "ppm",
  found,
  strategies: Object.entries(predictions).map(([strategy, predicted]) => ({
    strategy: strategy as "grid",
    predicted,
  })),
  baseline: "whole-field",
  seed: 1,
  ...more,
});

describe("hold-out samples", () => {
  it("by hand: found 10, 20, 30 against a mean of 20 and a grid off by one each time", () => {
    const [whole, grid] = judgeByHoldOuts(
      input([10, 20, 30], {"whole-field": [20, 20, 20], grid: [11, 21, 31]}),
    ).strategies;
    expect(whole?.meanError).toBeCloseTo(0, 12);
    expect(whole?.rootMeanSquareError).toBeCloseTo(Math.sqrt(200 / 3), 12);
    expect(whole?.efficiencyPct).toBeUndefined();
    expect(whole?.rankCorrelation).toBeNaN();
    expect(grid).toMatchObject({meanError: 1, meanAbsoluteError: 1, rootMeanSquareError: 1, rankCorrelation: 1});
    expect(grid?.efficiencyPct).toBeCloseTo(100 * (1 - 3 / 200), 12);
  });

  it("fewer than ten are reported and rank nobody", () => {
    const {ranked, differences, notes, strategies} = judgeByHoldOuts(
      input([10, 20, 30], {"whole-field": [20, 20, 20], grid: [10, 20, 30]}),
    );
    expect(ranked).toBe(false);
    expect(strategies).toHaveLength(2);
    expect(differences.map(({verdict}) => verdict)).toEqual(["too few to rank"]);
    expect(notes[0]).toContain("3 hold-out samples are too few");
  });

  it("sixteen tell a good map from the mean, and find no difference between two alike", () => {
    const random = seededRandom(4, "test");
    const found = Array.from({length: 16}, () => 25 + 12 * random.normal());
    const errors = found.map(() => 3 * random.normal());
    const {differences, ranked} = judgeByHoldOuts(
      input(found, {
        "whole-field": found.map(() => 25),
        grid: found.map((v, i) => v + (errors[i] ?? 0)),
        // The same errors at other places: as good a map, and another one.
        zone: found.map((v, i) => v + (errors[15 - i] ?? 0)),
      }),
    );
    expect(ranked).toBe(true);
    expect(differences.map(({strategy, against, verdict}) => `${strategy}/${against} ${verdict}`)).toEqual([
      "grid/whole-field less",
      "zone/whole-field less",
      "zone/grid no clear difference",
    ]);
  });

  it("takes class agreement with kappa, and the floor that duplicates set", () => {
    const result = judgeByHoldOuts(
      input(
        [10, 30, 50, 10],
        {"whole-field": [25, 25, 25, 25], grid: [12, 31, 35, 9]},
        {
          foundClasses: ["low", "mid", "high", "low"],
          strategies: [
            {strategy: "whole-field", predicted: [25, 25, 25, 25], classes: ["mid", "mid", "mid", "mid"]},
            {strategy: "grid", predicted: [12, 31, 35, 9], classes: ["low", "mid", "mid", "low"]},
          ],
          duplicates: [
            [10, 12],
            [20, 16],
          ],
        },
      ),
    );
    expect(result.strategies.map(({sameClass}) => sameClass)).toEqual([0.25, 0.75]);
    expect(result.strategies[0]?.kappa).toBeCloseTo(0, 12);
    // 3 of 4 agree; by chance 2/4 x 2/4 + 2/4 x 1/4 = 3/8.
    expect(result.strategies[1]?.kappa).toBeCloseTo((0.75 - 0.375) / 0.625, 12);
    expect(result.noiseFloor).toBeCloseTo(Math.sqrt(5), 12);
  });

  it("judges all strategies by the same hold-outs", () => {
    const result = judgeByHoldOuts(input([10, 20, 30], {"whole-field": [20, 20, 20], grid: [10, Number.NaN, 30]}));
    expect(result.strategies.map(({count}) => count)).toEqual([2, 2]);
    expect(result.notes.join(" ")).toContain("1 of 3 hold-out samples were left out");
  });

  it("refuses predictions that do not match the hold-outs", () => {
    expect(() => judgeByHoldOuts(input([10, 20], {"whole-field": [1]}))).toThrow("has 1 predictions for 2");
  });

  it("reads the value of the part each place lies in", () => {
    const parts = strips("AB").map(({shape}, i) => ({shape, value: 10 * (i + 1)}));
    const half = ACRE_SIDE_M / 2;
    const places = [half, 3 * half, 9 * half].map((x) => ({x, y: half}));
    expect(valuesAt(parts, places)).toEqual([10, 20, Number.NaN]);
  });
});
