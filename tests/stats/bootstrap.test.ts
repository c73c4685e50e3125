import {describe, expect, it} from "vitest";
import {bootstrapInterval, bootstrapMeanOfSkewed} from "../../src/stats/bootstrap.ts";
import {middleOf} from "../../src/stats/interval.ts";
import {seededRandom} from "../../src/stats/random.ts";
import {studentQuantile} from "../../src/stats/student-t.ts";

const meanOf =
  (values: readonly number[]) =>
  (indexes: Int32Array): number =>
    indexes.reduce((sum, i) => sum + (values[i] as number), 0) / indexes.length;

describe("the middle of draws", () => {
  it("of 0 to 100 holds 5 to 95 at 90 %", () => {
    const {low, high} = middleOf(
      Float64Array.from({length: 101}, (_, i) => i),
      0.9,
    );
    expect(low).toBeCloseTo(5, 12);
    expect(high).toBeCloseTo(95, 12);
  });
});

describe("bootstrap intervals", () => {
  it("of a mean of 12 are as wide as Student's, give or take a tenth", () => {
    const random = seededRandom(3, "test/values");
    const values = Array.from({length: 12}, () => 50 + 10 * random.normal());
    const {low, high} = bootstrapInterval(12, meanOf(values), 0.9, 4000, seededRandom(1, "test"));
    const mean = values.reduce((a, b) => a + b) / 12;
    const sd = Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / 11);
    const student = (2 * studentQuantile(0.95, 11) * sd) / Math.sqrt(12);
    expect((high - low) / student).toBeGreaterThan(0.9);
    expect((high - low) / student).toBeLessThan(1.1);
  });

  it("hold the true mean about nine times in ten, also for ten values", () => {
    const random = seededRandom(8, "test/coverage");
    let held = 0;
    const runs = 400;
    for (let run = 0; run < runs; run++) {
      const values = Array.from({length: 10}, () => random.normal());
      const {low, high} = bootstrapInterval(10, meanOf(values), 0.9, 300, random);
      if (low <= 0 && 0 <= high) held++;
    }
    // 360 expected; a binomial of 400 has a standard deviation of 6.
    expect(held / runs).toBeGreaterThan(0.86);
    expect(held / runs).toBeLessThan(0.94);
  });

  it("are the same for the same seed and none for one value", () => {
    const values = [1, 5, 2, 8];
    const once = bootstrapInterval(4, meanOf(values), 0.9, 200, seededRandom(5, "a"));
    expect(bootstrapInterval(4, meanOf(values), 0.9, 200, seededRandom(5, "a"))).toEqual(once);
    expect(bootstrapInterval(1, meanOf([1]), 0.9, 200, seededRandom(5, "a")).low).toBeNaN();
  });
});

describe("means of skewed values", () => {
  it("are held more often than by percentiles: squares of normal values, sixteen at a time", () => {
    const random = seededRandom(12, "test/skewed");
    let [held, plain] = [0, 0];
    const runs = 300;
    for (let run = 0; run < runs; run++) {
      const values = Float64Array.from({length: 16}, () => random.normal() ** 2);
      const skewed = bootstrapMeanOfSkewed(values, 0.9, 300, random);
      const percentile = bootstrapInterval(16, meanOf([...values]), 0.9, 300, random);
      if (skewed.low <= 1 && 1 <= skewed.high) held++;
      if (percentile.low <= 1 && 1 <= percentile.high) plain++;
    }
    expect(held / runs).toBeGreaterThan(0.86);
    expect(held / runs).toBeLessThan(0.95);
    expect(held).toBeGreaterThan(plain);
  });

  it("are the mean itself when all values are alike", () => {
    const {low, high} = bootstrapMeanOfSkewed(Float64Array.of(4, 4, 4), 0.9, 50, seededRandom(1, "x"));
    expect(low).toBeCloseTo(4, 12);
    expect(high).toBeCloseTo(4, 12);
    expect(bootstrapMeanOfSkewed(Float64Array.of(4), 0.9, 50, seededRandom(1, "x")).low).toBeNaN();
  });
});
