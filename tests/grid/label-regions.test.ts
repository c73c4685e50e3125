import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {labelRegions, regionBorders} from "../../src/grid/label-regions.ts";

/** A grid drawn in digits. */
function drawn(...rows: string[]): {cols: number; rows: number; labels: Uint8Array} {
  return {
    cols: rows[0]?.length ?? 0,
    rows: rows.length,
    labels: Uint8Array.from(rows.join(""), Number),
  };
}

describe("patches of cells", () => {
  it("hang together by sides, not by corners", () => {
    const map = drawn("12", "21");
    const {labels, cells} = labelRegions(map, map.labels);
    expect([...labels]).toEqual([1, 2, 2, 1]);
    expect([...cells]).toEqual([1, 1, 1, 1]);
  });

  it("are numbered in reading order and leave the outside out", () => {
    const map = drawn("0110", "2112", "2002");
    const {owner, labels, cells} = labelRegions(map, map.labels);
    expect([...owner]).toEqual([-1, 0, 0, -1, 1, 0, 0, 2, 1, -1, -1, 2]);
    expect([...labels]).toEqual([1, 2, 2]);
    expect([...cells]).toEqual([4, 2, 2]);
  });

  it("do not run on from the end of one row to the start of the next", () => {
    const map = drawn("21", "12");
    expect(labelRegions(map, map.labels).cells).toHaveLength(4);
  });

  it("know how many cell sides they share", () => {
    const map = drawn("111", "121", "113");
    const borders = regionBorders(map, labelRegions(map, map.labels)).map((own) => [...own].sort());
    expect(borders).toEqual([
      [
        [1, 4],
        [2, 2],
      ],
      [[0, 4]],
      [[0, 2]],
    ]);
  });

  it("are filled without running out of stack on a large field", () => {
    const labels = new Uint8Array(1_000_000).fill(1);
    expect([...labelRegions({cols: 1000, rows: 1000}, labels).cells]).toEqual([1_000_000]);
  });
});

const shared = new URL("../../../shared/data/reference/zones/zones161_raw_labels.csv", import.meta.url);

describe.skipIf(!existsSync(shared))("patches of a reference raster (skipped: no shared data)", () => {
  it("are as many as SciPy finds", () => {
    // scipy.ndimage.label 1.10.1 with 4-connectivity, per class: 180 patches; cells per class as numpy counts them.
    const rows = readFileSync(shared, "utf8").trim().split("\n");
    const labels = Uint8Array.from(rows.join(",").split(","), (v) => Number(v) + 1);
    const regions = labelRegions({cols: 161, rows: 161}, labels);
    expect(regions.labels).toHaveLength(180);
    const perClass = [1, 2, 3, 4, 5].map((label) =>
      regions.cells.reduce((sum, n, i) => sum + (regions.labels[i] === label ? n : 0), 0),
    );
    expect(perClass).toEqual([4086, 5861, 2100, 6226, 7648]);
  });
});
