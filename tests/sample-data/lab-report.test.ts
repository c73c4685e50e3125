import {describe, expect, it} from "vitest";
import {kilnForty} from "../../sample-data/make/farm.ts";
import {type Bag, labReport} from "../../sample-data/make/lab-report.ts";
import {type SoilTruth, truthAt} from "../../sample-data/make/truth.ts";

const even: SoilTruth = {pPpm: 30, kPpm: 150, ph: 6.2, bufferPh: 6.8, omPct: 3, cecMeq: 16};
const bags = (count: number, cores: number): Bag[] =>
  Array.from({length: count}, (_, i) => ({
    id: `T${String(i + 1).padStart(4, "0")}`,
    cores: Array.from({length: cores}, (__, k) => ({x: k, y: i})),
  }));
const rowsOf = (csv: string): string[][] =>
  csv
    .trimEnd()
    .split("\n")
    .map((line) => line.split(","));
const column = (rows: string[][], name: string): number[] => {
  const at = (rows[0] ?? []).indexOf(name);
  return rows.slice(1).map((row) => Number(row[at]));
};
const mean = (v: number[]): number => v.reduce((sum, x) => sum + x, 0) / v.length;
const cv = (v: number[]): number => Math.sqrt(mean(v.map((x) => (x - mean(v)) ** 2))) / mean(v);

describe("a lab report on known soil", () => {
  const rows = rowsOf(labReport(() => even, bags(2000, 12), 7));

  it("says what was measured, how and in which unit", () => {
    expect(rows[0]).toEqual([
      "Sample ID",
      "Depth (in)",
      "pH",
      "Buffer pH",
      "OM (%)",
      "CEC (meq/100 g)",
      "P M3-ICP (ppm)",
      "K M3 (ppm)",
      "Ca M3 (ppm)",
      "Mg M3 (ppm)",
    ]);
    expect(rows[1]?.slice(0, 2)).toEqual(["T0001", "8"]);
  });

  it("is right on average", () => {
    // 2000 bags, each off by 9 % at most: the mean is known to 0.2 %, printing in whole ppm adds nothing to it.
    expect(mean(column(rows, "P M3-ICP (ppm)")) / 30).toBeCloseTo(1, 2);
    expect(mean(column(rows, "K M3 (ppm)")) / 150).toBeCloseTo(1, 2);
    expect(mean(column(rows, "pH"))).toBeCloseTo(6.2, 2);
  });

  it("repeats as badly as sampling and lab allow: sqrt(CV_core² / n + CV_lab²)", () => {
    // P: sqrt(0.15² / 12 + 0.08²) = 9.1 %, and whole ppm add 0.29 / 30 = 1 % (in quadrature 0.05). 2000 bags: ± 0.15.
    expect(100 * cv(column(rows, "P M3-ICP (ppm)"))).toBeCloseTo(9.1, 0);
    // K: sqrt(0.09² / 12 + 0.08²) = 8.4 %.
    expect(100 * cv(column(rows, "K M3 (ppm)"))).toBeCloseTo(8.4, 0);
  });

  it("adds its cations and acidity up to its CEC", () => {
    const [p, ca, mg, k, ph] = ["Buffer pH", "Ca M3 (ppm)", "Mg M3 (ppm)", "K M3 (ppm)", "pH"].map((name) =>
      column(rows, name),
    ) as [number[], number[], number[], number[], number[]];
    column(rows, "CEC (meq/100 g)").forEach((cec, i) => {
      const acid = (ph[i] as number) >= 6.8 ? 0 : 12 * (7 - (p[i] as number));
      const sum = (ca[i] as number) / 200 + (mg[i] as number) / 120 + (k[i] as number) / 390 + acid;
      expect(Math.abs(sum - cec)).toBeLessThan(0.051); // one printed decimal
    });
    expect(mean(column(rows, "CEC (meq/100 g)"))).toBeCloseTo(16, 0);
  });

  it("leaves the buffer out where the soil is not acid", () => {
    const sweet = rowsOf(labReport(() => ({...even, ph: 7.2, bufferPh: 7}), bags(20, 5), 7));
    expect(sweet.slice(1).map((row) => row[3])).toEqual(Array.from({length: 20}, () => ""));
  });
});

describe("a report's luck", () => {
  const truth = (x: number, y: number): SoilTruth => truthAt(kilnForty, x, y);

  it("is the same for the same seed and another for another", () => {
    expect(labReport(truth, bags(30, 8), 7)).toBe(labReport(truth, bags(30, 8), 7));
    expect(labReport(truth, bags(30, 8), 7)).not.toBe(labReport(truth, bags(30, 8), 8));
  });

  it("belongs to the bag, whatever else is in the box", () => {
    const whole = labReport(truth, bags(30, 8), 7).split("\n");
    const half = labReport(truth, bags(15, 8), 7).split("\n");
    expect(half.slice(0, 16)).toEqual(whole.slice(0, 16));
  });
});
