import {describe, expect, it} from "vitest";
import {normalQuantile, studentQuantile} from "../../src/stats/student-t.ts";

describe("Student's t", () => {
  it("with 1 degree of freedom is the tangent, with 2 a root", () => {
    for (const p of [0.001, 0.2, 0.5, 0.7, 0.975, 0.9999]) {
      // Closed forms: tan(π (p − ½)) and (2p − 1) / √(2 p (1 − p)).
      expect(studentQuantile(p, 1) / Math.tan(Math.PI * (p - 0.5)) || 1).toBeCloseTo(1, 10);
      expect(studentQuantile(p, 2)).toBeCloseTo((2 * p - 1) / Math.sqrt(2 * p * (1 - p)), 9);
    }
  });

  it("agrees with printed tables", () => {
    // Two-sided 95 % and 80 %, 20 degrees of freedom; 95 %, 3 and 120 (any table of t).
    expect(studentQuantile(0.975, 20)).toBeCloseTo(2.08596, 5);
    expect(studentQuantile(0.9, 20)).toBeCloseTo(1.32534, 5);
    expect(studentQuantile(0.975, 3)).toBeCloseTo(3.1824, 4);
    expect(studentQuantile(0.975, 120)).toBeCloseTo(1.9799, 4);
  });

  it("agrees with SciPy 1.17.1 stats.t.ppf", () => {
    const rows: [number, number, number][] = [
      [0.0005, 5, -6.86882662588111],
      [0.975, 29, 2.045229642132703],
      [0.6, 98, 0.2540359814457237],
      [0.9995, 999, 3.3002924403987666],
    ];
    for (const [p, df, expected] of rows) expect(studentQuantile(p, df) / expected).toBeCloseTo(1, 10);
  });

  it("is odd about one half, and nears the normal", () => {
    for (const df of [1, 4, 9, 50]) expect(studentQuantile(0.2, df)).toBeCloseTo(-studentQuantile(0.8, df), 12);
    expect(studentQuantile(0.5, 7)).toBeCloseTo(0, 12);
    expect(studentQuantile(0.975, Infinity)).toBe(normalQuantile(0.975));
    expect(studentQuantile(0.975, 100_001) - normalQuantile(0.975)).toBeLessThan(3e-5);
  });

  it("has no quantile outside 0 to 1, nor for half degrees", () => {
    expect(() => studentQuantile(1, 5)).toThrow("probability");
    expect(() => studentQuantile(0.5, 2.5)).toThrow("degrees of freedom");
    expect(() => normalQuantile(0)).toThrow("probability");
  });
});

describe("the normal quantile", () => {
  it("agrees with the values printed with AS 241", () => {
    // Wichura (1988): z(0.25), z(0.001) and z(1e-20).
    expect(normalQuantile(0.25)).toBeCloseTo(-0.6744897501960817, 15);
    expect(normalQuantile(0.001)).toBeCloseTo(-3.090232306167814, 14);
    expect(normalQuantile(1e-20)).toBeCloseTo(-9.26234008979841, 13);
  });
});
