import {describe, expect, it} from "vitest";
import {mergeSmall, type Patches} from "../../src/geo/merge-small.ts";

/** Patches in a row or otherwise, with borders given once. */
function patches(labels: number[], areasM2: number[], borders: [number, number, number][], misfit?: number[]): Patches {
  const maps = labels.map(() => new Map<number, number>());
  for (const [a, b, length] of borders) {
    maps[a]?.set(b, length);
    maps[b]?.set(a, length);
  }
  return {labels, areasM2, borders: maps, ...(misfit ? {misfit: Float64Array.from(misfit)} : {})};
}

describe("small patches", () => {
  it("go to the neighbour with the longest border", () => {
    const map = patches(
      [1, 2, 3],
      [100, 5, 100],
      [
        [0, 1, 4],
        [1, 2, 6],
      ],
    );
    expect([...mergeSmall(map, 10)]).toEqual([1, 3, 3]);
  });

  it("go to the first of two with equal borders", () => {
    const map = patches(
      [1, 2, 3],
      [100, 5, 100],
      [
        [0, 1, 4],
        [1, 2, 4],
      ],
    );
    expect([...mergeSmall(map, 10)]).toEqual([1, 1, 3]);
  });

  it("go to the one that suits better, against a longer border", () => {
    // Mean misfit of patch 1: 0.2 with label 1, 2 with label 3: 0.4 exp(-0.2) beats 0.6 exp(-2).
    const misfit = [0, 0, 0, 1, 0, 10, 0, 0, 0];
    const map = patches(
      [1, 2, 3],
      [100, 5, 100],
      [
        [0, 1, 4],
        [1, 2, 6],
      ],
      misfit,
    );
    expect([...mergeSmall(map, 10)]).toEqual([1, 1, 3]);
  });

  it("stay when they reach the minimum exactly", () => {
    expect([...mergeSmall(patches([1, 2], [100, 10], [[0, 1, 4]]), 10)]).toEqual([1, 2]);
  });

  it("stay when they have no neighbour", () => {
    expect([...mergeSmall(patches([1, 2], [100, 1], []), 10)]).toEqual([1, 2]);
  });

  it("are enough together when both have one label", () => {
    expect([
      ...mergeSmall(
        patches(
          [1, 2, 2],
          [100, 6, 6],
          [
            [0, 1, 3],
            [1, 2, 1],
          ],
        ),
        10,
      ),
    ]).toEqual([1, 2, 2]);
  });

  it("join two of their new kind into one", () => {
    // 1 (2 m²) between two patches of label 5 that are under the minimum alone (6 m²) but not with it (14 m²).
    const map = patches(
      [5, 9, 5, 7],
      [6, 2, 6, 100],
      [
        [0, 1, 2],
        [1, 2, 2],
        [0, 3, 1],
        [2, 3, 1],
      ],
    );
    expect([...mergeSmall(map, 10)]).toEqual([5, 5, 5, 7]);
  });

  it("go smallest first, and on until none is left", () => {
    // 3 goes to 4, which it makes large enough; 5 then still has to go.
    const map = patches(
      [1, 2, 3, 4],
      [100, 5, 3, 8],
      [
        [0, 1, 1],
        [1, 2, 1],
        [2, 3, 2],
      ],
    );
    expect([...mergeSmall(map, 10)]).toEqual([1, 1, 4, 4]);
    // A chain of crumbs ends in the one large patch.
    const chain = patches(
      [1, 2, 3, 4, 5],
      [1, 1, 1, 1, 50],
      [
        [0, 1, 1],
        [1, 2, 1],
        [2, 3, 1],
        [3, 4, 1],
      ],
    );
    expect(new Set(mergeSmall(chain, 10))).toEqual(new Set([5]));
  });

  it("become one field when the minimum is larger than the field", () => {
    const map = patches(
      [1, 2, 3],
      [10, 20, 30],
      [
        [0, 1, 1],
        [1, 2, 1],
      ],
    );
    expect(new Set(mergeSmall(map, 1000)).size).toBe(1);
  });

  it("leave the patches given untouched", () => {
    const map = patches(
      [1, 2, 3],
      [100, 5, 100],
      [
        [0, 1, 4],
        [1, 2, 6],
      ],
    );
    mergeSmall(map, 10);
    expect([...(map.borders[1] ?? [])]).toEqual([
      [0, 4],
      [2, 6],
    ]);
    expect(map.labels).toEqual([1, 2, 3]);
  });
});
