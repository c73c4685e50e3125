import {describe, expect, it} from "vitest";
import {seededRandom} from "../../src/stats/random.ts";
import {truthDrawer} from "../../src/stats/redraw-means.ts";

function varianceOf(values: ArrayLike<number>): number {
  const list = Array.from(values);
  const mean = list.reduce((a, b) => a + b, 0) / list.length;
  return list.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (list.length - 1);
}

describe("draws of what the truth may have been", () => {
  it("spread as the truth does, not as readings with their noise do", () => {
    const random = seededRandom(4, "test");
    const n = 2000;
    const readings = Float64Array.from({length: n}, () => 3 + 0.5 * random.normal() + 0.3 * random.normal());
    const drawn = new Float64Array(n);
    truthDrawer(readings, new Float64Array(n).fill(0.3))(random, drawn);
    expect(varianceOf(readings)).toBeCloseTo(0.34, 1);
    // 0.25 is the truth's; 2000 values leave about 3 % of doubt.
    expect(Math.abs(varianceOf(drawn) - 0.25)).toBeLessThan(0.025);
  });

  it("stay on readings without error, and have the error's spread where readings are few", () => {
    const exact = new Float64Array(3);
    truthDrawer(Float64Array.of(1, 2, 3), new Float64Array(3))(seededRandom(1, "x"), exact);
    expect([...exact]).toEqual([1, 2, 3]);
    const many = new Float64Array(12);
    truthDrawer(
      Float64Array.from({length: 12}, (_, i) => i),
      new Float64Array(12),
    )(seededRandom(1, "x"), many);
    expect([...many]).toEqual(Array.from({length: 12}, (_, i) => i));

    const random = seededRandom(2, "y");
    const draw = truthDrawer(Float64Array.of(5), Float64Array.of(0.2));
    const draws = Float64Array.from({length: 4000}, () => {
      const into = new Float64Array(1);
      draw(random, into);
      return into[0] as number;
    });
    expect(Math.abs(Math.sqrt(varianceOf(draws)) - 0.2)).toBeLessThan(0.01);
  });

  it("collapse to the mean when readings differ by no more than their noise", () => {
    const readings = Float64Array.from({length: 20}, (_, i) => (i % 2 === 0 ? 1 : 1.01));
    const into = new Float64Array(20);
    truthDrawer(readings, new Float64Array(20).fill(0.5))(seededRandom(1, "z"), into);
    expect(new Set(into).size).toBe(1);
  });
});
