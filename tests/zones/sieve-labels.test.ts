import {existsSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {labelRegions} from "../../src/grid/label-regions.ts";
import {sieveLabels} from "../../src/zones/sieve-labels.ts";
import {box, fieldFrom} from "./fields.ts";

describe("sieved labels", () => {
  const {grid} = fieldFrom(box(0, 0, 25, 15));
  const labels = (...rows: string[]): Uint8Array => Uint8Array.from(rows.join(""), Number);

  it("lose patches under the minimum area to the neighbour around them", () => {
    const map = labels("11111", "12111", "11133");
    expect([...sieveLabels(grid, map, 50)]).toEqual([...labels("11111", "11111", "11133")]);
    expect([...sieveLabels(grid, map, 25)]).toEqual([...map]); // 25 m² is one cell
  });

  it("keep the outside out, and a part of the field by itself however small", () => {
    const map = labels("22020", "22000", "22001");
    expect([...sieveLabels(grid, map, 100)]).toEqual([...map]);
  });

  it("prefer the neighbour that suits", () => {
    const map = labels("11133", "11233", "11133");
    const cells = Int32Array.of(7);
    const to = (one: number, three: number): number | undefined =>
      sieveLabels(grid, map, 50, {cells, values: Float64Array.of(one, 0, three)})[7];
    expect(to(1, 1)).toBe(1); // three sides of four
    expect(to(3, 1)).toBe(3); // ln 3 = 1.0986 is what two more sides are worth
    expect(to(2, 1)).toBe(1);
    expect(to(Number.NaN, Number.NaN)).toBe(1);
  });
});

const shared = new URL("../../../shared/data/reference/zones/", import.meta.url);
const read = (file: string): Uint8Array =>
  Uint8Array.from(
    readFileSync(new URL(file, shared), "utf8").trim().split("\n").join(",").split(","),
    (v) => Number(v) + 1,
  );

describe.skipIf(!existsSync(shared))("a reference raster, sieved (skipped: no shared data)", () => {
  it("has about the patches that GDAL leaves", () => {
    // gdal_sieve.py 3.6.2 -st 40 -4 leaves 22 patches. Its rule is the largest neighbour, ours the longest border,
    // and it does not merge on until nothing small is left, so a few cells in a hundred may differ.
    const {grid} = fieldFrom(box(0, 0, 805, 805));
    const ours = sieveLabels(grid, read("zones161_raw_labels.csv"), 40 * 25);
    const gdal = read("zones161_sieved40_labels.csv");
    const {cells} = labelRegions(grid, ours);
    expect(Math.min(...cells)).toBeGreaterThanOrEqual(40);
    expect(Math.abs(cells.length - 22)).toBeLessThanOrEqual(2);
    const different = ours.reduce((sum, label, i) => sum + (label === gdal[i] ? 0 : 1), 0);
    expect(different / ours.length).toBeLessThan(0.02);
  });
});
