import {describe, expect, it} from "vitest";
import {isFieldError} from "../../src/errors.ts";
import {joinSoilTable} from "../../src/layers/join-soil-table.ts";
import type {SoilPolygon} from "../../src/layers/soil-map.ts";
import type {Table} from "../../src/table.ts";

const polygon = (key: unknown): SoilPolygon => ({shape: [], properties: {mukey: key, name: `unit ${key}`}});
const table = (header: string[], ...rows: string[][]): Table => ({file: "soil/table.csv", header, rows, firstRow: 2});
const codeOf = (call: () => unknown): string => {
  try {
    call();
  } catch (error) {
    if (isFieldError(error)) return error.code;
    throw error;
  }
  return "none";
};
const keys = {on: "mukey", key: "mukey"};

describe("a table joined to a soil map", () => {
  it("adds its columns by key, whether the key is a number or text", () => {
    const {polygons, issues} = joinSoilTable([polygon(101), polygon("102")], {
      table: table(["mukey", "om", "drainage"], ["102", "2.5", "poor"], ["101", "3.5", "well"]),
      ...keys,
    });
    expect(polygons.map(({properties}) => properties)).toEqual([
      {mukey: 101, name: "unit 101", om: 3.5, drainage: "well"},
      {mukey: "102", name: "unit 102", om: 2.5, drainage: "poor"},
    ]);
    expect(issues).toEqual([]);
  });

  it("weighs several rows of a key by their share, over those that have a value", () => {
    // (70 × 3 + 20 × 6) / 90 = 3.667: the row of 10 % has no organic matter; the text is that of the 70 %.
    const {polygons} = joinSoilTable([polygon(1)], {
      table: table(
        ["mukey", "pct", "om", "drainage"],
        ["1", "20", "6", "poor"],
        ["1", "70", "3", "well"],
        ["1", "10", "", "water"],
      ),
      ...keys,
      share: "pct",
    });
    expect(polygons[0]?.properties.om).toBeCloseTo(330 / 90, 12);
    expect(polygons[0]?.properties.drainage).toBe("well");
  });

  it("refuses several rows of a key without their shares, naming the row", () => {
    const twice = table(["mukey", "om"], ["1", "3"], ["1", "4"]);
    expect(codeOf(() => joinSoilTable([polygon(1)], {table: twice, ...keys}))).toBe("soil-map/key-twice");
  });

  it("says which map units the table lacks, and leaves its columns out there", () => {
    const {polygons, issues} = joinSoilTable([polygon(1), polygon(9)], {
      table: table(["mukey", "om"], ["1", "3"]),
      ...keys,
    });
    expect(polygons[1]?.properties).toEqual({mukey: 9, name: "unit 9"});
    expect(issues[0]?.message).toBe(
      'soil/table.csv has no row for "9" of the soil map; its columns are missing there.',
    );
  });

  it("never overwrites an attribute of the map", () => {
    const {polygons} = joinSoilTable([polygon(1)], {table: table(["mukey", "name"], ["1", "Crosby"]), ...keys});
    expect(polygons[0]?.properties).toEqual({mukey: 1, name: "unit 1", "name (table.csv)": "Crosby"});
  });

  it("reads decimal commas and keeps a column with one word as words", () => {
    const {polygons} = joinSoilTable([polygon(1), polygon(2)], {
      table: table(["mukey", "om", "slope"], ["1", "2,5", "3"], ["2", "3,5", "steep"]),
      ...keys,
    });
    expect(polygons[0]?.properties).toMatchObject({om: 2.5, slope: "3"});
  });

  it("refuses wrong names and keys that never meet", () => {
    const one = table(["mukey", "om"], ["7", "3"]);
    expect(codeOf(() => joinSoilTable([polygon(1)], {table: one, ...keys}))).toBe("soil-map/no-match");
    expect(codeOf(() => joinSoilTable([polygon(1)], {table: one, on: "MUSYM", key: "mukey"}))).toBe("soil-map/no-key");
    expect(codeOf(() => joinSoilTable([polygon(1)], {table: one, on: "mukey", key: "key"}))).toBe("soil-map/no-key");
  });
});
