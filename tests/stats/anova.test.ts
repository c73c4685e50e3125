import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {anova} from "../../src/stats/anova.ts";
import {
  meanDifferences,
  studentizedRangeProbability,
  studentizedRangeQuantile,
} from "../../src/stats/anova-differences.ts";
import {seededRandom} from "../../src/stats/random.ts";

describe("the analysis of variance of 1 to 9 in three groups", () => {
  const found = anova([1, 2, 3, 4, 5, 6, 7, 8, 9], [0, 0, 0, 1, 1, 1, 2, 2, 2]);

  it("has its values by hand", () => {
    // SSB 54, SSW 6: F = 27 / 1; 54/60; (54 − 2) / 61; 1 − 1/7.5.
    expect(found.f).toBeCloseTo(27, 9);
    expect(found.eta2).toBeCloseTo(0.9, 12);
    expect(found.omega2).toBeCloseTo(0.852459016, 9);
    expect(found.epsilon2).toBeCloseTo(0.866666667, 9);
    expect([...found.means]).toEqual([2, 5, 8]);
    // Ranks 1 to 9: 12/90 × (36 + 225 + 576)/3 − 30.
    expect(found.kruskalWallis).toBeCloseTo(7.2, 12);
  });

  it("passes over what is not known and groups without values", () => {
    const gaps = anova([1, 2, 3, Number.NaN, 7, 8, 9], [0, 0, 0, 1, 3, 3, 3]);
    expect(gaps.groups).toBe(2);
    expect(gaps.count).toBe(6);
    expect([...gaps.sizes]).toEqual([3, 0, 0, 3]);
    expect(gaps.eta2).toBeCloseTo(54 / 58, 12);
  });
});

it("groups by chance explain (k − 1) / (n − 1) of the variance", () => {
  const random = seededRandom(5, "random labels");
  const [n, k, runs] = [150, 3, 2000];
  let sum = 0;
  for (let run = 0; run < runs; run++) {
    const values = Array.from({length: n}, () => random.normal());
    sum += anova(
      values,
      values.map(() => random.integer(k)),
    ).eta2;
  }
  // 2/149 = 0.01342; the mean of 2000 such shares is known to 0.0003.
  expect(Math.abs(sum / runs - (k - 1) / (n - 1))).toBeLessThan(0.001);
});

// R 4.2 qtukey and ptukey.
describe("the studentized range", () => {
  it("has the quantiles of R 4.2", () => {
    expect(studentizedRangeQuantile(0.95, 3, 147)).toBeCloseTo(3.348424062, 6);
    expect(studentizedRangeQuantile(0.95, 4, 60)).toBeCloseTo(3.737089227, 6);
    expect(studentizedRangeProbability(3.5, 3, 20)).toBeCloseTo(0.94410815, 7);
  });

  it("of two means is √2 times Student's t", () => {
    // t(0.975, 10) = 2.228139 in printed tables.
    expect(studentizedRangeQuantile(0.95, 2, 10)).toBeCloseTo(Math.SQRT2 * 2.228138852, 6);
  });
});

const shared = new URL("../../../shared/data/", import.meta.url).pathname;
describe.skipIf(!existsSync(shared))("the analysis of variance of published data (skipped: no shared data)", () => {
  const table = (file: string): string[][] =>
    readFileSync(`${shared}${file}`, "utf8")
      .trim()
      .split("\n")
      .slice(1)
      .map((line) => line.split(",").map((cell) => cell.replaceAll('"', "")));

  it("agrees with R 4.2 on iris", () => {
    const rows = table("reference/clust/iris.csv");
    const species = [...new Set(rows.map((row) => row[4]))];
    const found = anova(
      rows.map((row) => Number(row[0])),
      rows.map((row) => species.indexOf(row[4])),
    );
    expect(found.f).toBeCloseTo(119.264502185, 8);
    expect(found.eta2).toBeCloseTo(0.618705731, 9);
    expect(found.omega2).toBeCloseTo(0.6119308039, 9);
    expect(found.epsilon2).toBeCloseTo(0.6135180536, 9);
    expect(found.welchF).toBeCloseTo(138.908285269, 8);
    expect(found.welchDf).toBeCloseTo(92.21114532, 7);
    expect(found.kruskalWallis).toBeCloseTo(96.937436, 5);
    // TukeyHSD of R 4.2.
    const [first] = meanDifferences(found, 0.95);
    expect(first?.low).toBeCloseTo(0.686227294, 7);
    expect(first?.high).toBeCloseTo(1.173772706, 7);
  });

  it("agrees with TukeyHSD of R 4.2 on zinc along the Meuse", () => {
    const rows = table("soil_samples/meuse.csv");
    const found = anova(
      rows.map((row) => Math.log(Number(row[5]))),
      rows.map((row) => Number(row[9]) - 1),
    );
    expect(found.eta2).toBeCloseTo(0.253078036, 9);
    const [first] = meanDifferences(found, 0.95);
    expect(first?.difference).toBeCloseTo(-0.764154643, 8);
    expect(first?.low).toBeCloseTo(-1.033090062, 7);
    expect(first?.high).toBeCloseTo(-0.495219223, 7);
  });
});
