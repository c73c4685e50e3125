import {existsSync, readFileSync} from "node:fs";
import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {adjustedRandIndex, crossTable, matchLabels} from "../../src/stats/adjusted-rand.ts";
import {kMeans} from "../../src/stats/kmeans.ts";

const labels = fc
  .integer({min: 2, max: 60})
  .chain((n) =>
    fc.tuple(
      fc.array(fc.integer({min: 0, max: 5}), {minLength: n, maxLength: n}),
      fc.array(fc.integer({min: 0, max: 5}), {minLength: n, maxLength: n}),
    ),
  );

describe("the adjusted Rand index", () => {
  it("has its values by hand", () => {
    // Hubert and Arabie's formula: (1 − 1/3) / (1.5 − 1/3) and (0 − 2/3) / (2 − 2/3).
    expect(adjustedRandIndex([0, 0, 1, 1], [0, 0, 1, 2])).toBeCloseTo(0.571428571, 9);
    expect(adjustedRandIndex([0, 0, 1, 1], [0, 1, 0, 1])).toBeCloseTo(-0.5, 12);
  });

  it("is 1 for the same division, whatever its labels are called", () => {
    expect(adjustedRandIndex([0, 0, 1, 2, 2], [2, 2, 0, 1, 1])).toBe(1);
    expect(adjustedRandIndex([0, 0, 0], [0, 0, 0])).toBe(1);
    expect(adjustedRandIndex([0, 1, 2], [2, 1, 0])).toBe(1);
  });

  it("does not depend on which labelling comes first, and is never over 1", () => {
    fc.assert(
      fc.property(labels, ([a, b]) => {
        expect(adjustedRandIndex(a, b)).toBeCloseTo(adjustedRandIndex(b, a), 12);
        expect(adjustedRandIndex(a, b)).toBeLessThanOrEqual(1);
      }),
    );
  });
});

describe("labels matched to labels", () => {
  it("keep the most things in place", () => {
    const table = crossTable([0, 0, 0, 1, 1, 2], [1, 1, 0, 0, 0, 2]);
    expect([...matchLabels(table)]).toEqual([1, 0, 2]);
  });

  it("leave the surplus without a match", () => {
    expect([...matchLabels(crossTable([0, 0, 0, 0], [0, 1, 1, 2]))]).toEqual([-1, 0, -1]);
  });

  it("are as good as trying every naming", () => {
    fc.assert(
      fc.property(labels, ([a, b]) => {
        const table = crossTable(a, b);
        const kept = (rowOf: ArrayLike<number>): number =>
          Array.from(rowOf).reduce(
            (sum, row, column) => sum + (row < 0 ? 0 : (table.counts[row * table.columns + column] ?? 0)),
            0,
          );
        const best = (column: number, free: readonly number[]): number =>
          column === table.columns
            ? 0
            : Math.max(
                best(column + 1, free),
                ...free.map(
                  (row) =>
                    (table.counts[row * table.columns + column] as number) +
                    best(
                      column + 1,
                      free.filter((other) => other !== row),
                    ),
                ),
              );
        expect(kept(matchLabels(table))).toBe(
          best(
            0,
            Array.from({length: table.rows}, (_, row) => row),
          ),
        );
      }),
      {numRuns: 50},
    );
  });
});

const shared = new URL("../../../shared/data/reference/clust/", import.meta.url).pathname;
describe.skipIf(!existsSync(shared))("clusters of published data (skipped: no shared data)", () => {
  it("agree with their species as scikit-learn 1.2.1 has it", () => {
    const rows = readFileSync(`${shared}iris.csv`, "utf8")
      .trim()
      .split("\n")
      .slice(1)
      .map((line) => line.split(","));
    const values = Float64Array.from(rows.flatMap((row) => row.slice(0, 4).map(Number)));
    const species = [...new Set(rows.map((row) => row[4]))];
    const {labels} = kMeans({values, dims: 4}, 3, {restarts: 10, mostIterations: 300, seed: 1});
    const index = adjustedRandIndex(
      labels,
      rows.map((row) => species.indexOf(row[4])),
    );
    expect(index).toBeCloseTo(0.7302382722834697, 12);
  });
});
