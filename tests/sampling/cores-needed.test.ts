import {describe, expect, it} from "vitest";
import {compositeCvPct, coresNeeded, expectedErrorPct} from "../../src/sampling/cores-needed.ts";

describe("cores needed for one bag", () => {
  it.each([
    // confidence, CV %, error %, spread known, spread from the cores; (z CV / E)² worked by hand, t from printed tables
    [0.95, 35, 15, 21, 24],
    [0.95, 30, 15, 16, 18],
    [0.95, 50, 20, 25, 27],
    [0.95, 60, 15, 62, 64],
    [0.95, 100, 20, 97, 99],
    [0.9, 35, 15, 15, 17],
    [0.8, 35, 15, 9, 11],
    [0.8, 50, 20, 11, 12],
  ])("at %f confidence, CV %i %%, within %i %%: %i, or %i by Student's t", (confidence, cv, error, known, student) => {
    expect(coresNeeded(cv, error, confidence, true)).toBe(known);
    expect(coresNeeded(cv, error, confidence)).toBe(student);
  });

  it("are one when cores do not differ and the spread is known, two when it must be judged", () => {
    expect(coresNeeded(0, 10, 0.95, true)).toBe(1);
    expect(coresNeeded(0, 10, 0.95)).toBe(2);
  });
});

describe("the error to expect", () => {
  it("falls with the square root of the cores", () => {
    // 1.95996 · 35 % / √n: 68.60, 24.25 and 21.69.
    expect(expectedErrorPct(35, 1, 0.95)).toBeCloseTo(68.6, 1);
    expect(expectedErrorPct(35, 8, 0.95)).toBeCloseTo(24.25, 2);
    expect(expectedErrorPct(35, 10, 0.95)).toBeCloseTo(21.69, 2);
  });

  it("has the laboratory's own as its floor", () => {
    // √(35² / 15 + 8²)
    expect(compositeCvPct(35, 15, 8)).toBeCloseTo(12.069, 3);
    expect(compositeCvPct(35, 1e9, 8)).toBeCloseTo(8, 3);
  });
});
