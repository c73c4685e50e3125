import {describe, expect, it} from "vitest";
import {agreement, duplicateSd, predictionEfficiencyPct, predictionError} from "../../src/stats/prediction-error.ts";

describe("prediction error", () => {
  it("by hand: errors 1, −1, 3 have a mean of 1, 5/3 without sign, √(11/3) squared", () => {
    const {count, meanError, meanAbsoluteError, rootMeanSquareError} = predictionError([11, 9, 13], [10, 10, 10]);
    expect(count).toBe(3);
    expect(meanError).toBeCloseTo(1, 12);
    expect(meanAbsoluteError).toBeCloseTo(5 / 3, 12);
    expect(rootMeanSquareError).toBeCloseTo(Math.sqrt(11 / 3), 12);
  });

  it("leaves out pairs with a gap on either side", () => {
    expect(predictionError([1, Number.NaN, 3], [1, 2, Number.NaN])).toMatchObject({count: 1, meanError: 0});
    expect(predictionError([], []).rootMeanSquareError).toBeNaN();
  });

  it("a strategy as wrong as the field mean has an efficiency of 0, one half as wrong of 75 %", () => {
    expect(predictionEfficiencyPct(7, 7)).toBe(0);
    expect(predictionEfficiencyPct(3.5, 7)).toBe(75);
    expect(predictionEfficiencyPct(14, 7)).toBe(-300);
    expect(predictionEfficiencyPct(1, 0)).toBeNaN();
  });
});

describe("agreement of classes", () => {
  // Cohen (1960) as worked in textbooks: 20 yes-yes, 5 yes-no, 10 no-yes, 15 no-no: 0.7 agree, kappa 0.4.
  const rows: [string, string, number][] = [
    ["yes", "yes", 20],
    ["yes", "no", 5],
    ["no", "yes", 10],
    ["no", "no", 15],
  ];
  const a = rows.flatMap(([x, , n]) => Array<string>(n).fill(x));
  const b = rows.flatMap(([, y, n]) => Array<string>(n).fill(y));

  it("gives the textbook's 0.7 and kappa 0.4", () => {
    const {count, same, kappa} = agreement(a, b);
    expect(count).toBe(50);
    expect(same).toBeCloseTo(0.7, 12);
    expect(kappa).toBeCloseTo(0.4, 12);
  });

  it("has no kappa where there is only one class, and skips what has no class", () => {
    expect(agreement(["x", "x", undefined], ["x", "x", "y"])).toMatchObject({count: 2, same: 1, kappa: Number.NaN});
  });
});

describe("duplicates", () => {
  it("by hand: differences 2 and 4 give √(20 / 4)", () => {
    expect(
      duplicateSd([
        [10, 12],
        [20, 16],
      ]),
    ).toBeCloseTo(Math.sqrt(5), 12);
    expect(duplicateSd([])).toBeNaN();
  });
});
