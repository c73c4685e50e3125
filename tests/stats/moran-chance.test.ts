import {describe, expect, it} from "vitest";
import {moran, rookNeighbours} from "../../src/stats/moran.ts";
import {moranChance} from "../../src/stats/moran-chance.ts";
import {seededRandom} from "../../src/stats/random.ts";

describe("Moran's I of layers without a pattern", () => {
  it("has the mean and spread that shuffled cells have, gaps in the field and all", () => {
    const random = seededRandom(2, "noise");
    const cols = 15;
    const values = Float64Array.from({length: cols * 12}, (_, i) => (i % 7 === 3 || i === 0 ? Number.NaN : 0));
    const neighbours = rookNeighbours(values, cols);
    const {mean, sd} = moranChance(neighbours);
    const found = Array.from({length: 3000}, () => {
      const noise = values.map((v) => v + random.normal());
      return moran(noise, neighbours).i;
    });
    const average = found.reduce((a, b) => a + b, 0) / found.length;
    const spread = Math.sqrt(found.reduce((a, b) => a + (b - average) ** 2, 0) / found.length);
    // Of 3,000 draws the mean is known to 1/55 of the spread and the spread to 1/77: four times that.
    expect(Math.abs(average - mean)).toBeLessThan(0.073 * sd);
    expect(Math.abs(spread / sd - 1)).toBeLessThan(0.052);
  });

  it("is by hand for four cells in a ring: two neighbours each, weights of a half", () => {
    // s0 = 4, s1 = ½ · 8 · 1 = 4, s2 = 4 · 4 = 16: (16·4 - 4·16 + 3·16) / (15·16) - 1/9.
    const {mean, sd} = moranChance(rookNeighbours([1, 2, 3, 4], 2));
    expect(mean).toBeCloseTo(-1 / 3, 12);
    expect(sd ** 2).toBeCloseTo(48 / 240 - 1 / 9, 12);
  });
});
