import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {readPlainPoints} from "../../src/formats/read-plain-points.ts";
import {readPoints} from "../../src/formats/read-points.ts";
import {readTable} from "../../src/formats/read-table.ts";

const bytes = (text: string) => new TextEncoder().encode(text);
const MAPPING = {
  x: "lon",
  y: "lat",
  columns: {value: {column: "ec", as: "number" as const}, swath: {column: "Swath (ft)", as: "length" as const}},
};
const HEADER = "lon,lat,note,ec,Swath (ft)";
const quick = (text: string, mapping = MAPPING) => readPlainPoints(bytes(text), "ec.csv", mapping);
const long = (text: string, mapping = MAPPING) => {
  const {value, issues} = readTable(bytes(text), "ec.csv");
  const read = readPoints(value, mapping);
  return {value: read.value, issues: [...issues, ...read.issues]};
};

const number = fc.oneof(
  fc.double({min: -1e6, max: 1e6, noNaN: true}).map((v) => v.toFixed(7)),
  fc.integer({min: -1e9, max: 1e9}).map(String),
  fc.constantFrom("0", "-0.0", "+5", "00012.50", ".5", "7.", " 3.25 ", "123456789012345.6"),
);
const row = fc
  .tuple(
    fc.double({min: -179, max: -1, noNaN: true}),
    fc.double({min: 1, max: 80, noNaN: true}),
    fc.constantFrom("", "wet", "-", "ä"),
    number,
    number,
  )
  .map(([lon, lat, note, ec, swath]) => [lon.toFixed(9), lat.toFixed(9), note, ec, swath]);

describe("a plain file of numbers", () => {
  it("reads exactly as the long way does, whatever the delimiter and the line end", () => {
    fc.assert(
      fc.property(
        fc.array(row, {minLength: 1, maxLength: 30}),
        fc.constantFrom(",", ";", "\t", "|"),
        fc.constantFrom("\n", "\r\n"),
        fc.constantFrom("", "\n", "\r\n\n"),
        fc.constantFrom("", "\ufeff"),
        (rows, sign, end, tail, mark) => {
          const text = mark + [HEADER.split(",").join(sign), ...rows.map((cells) => cells.join(sign))].join(end) + tail;
          const found = quick(text);
          if (found) expect(found).toEqual(long(text));
        },
      ),
      {numRuns: 300},
    );
  });

  it("is read the quick way where it is what it says", () => {
    const text = `${HEADER}\n-86.4,40.55,wet,12.5,30\n-86.401,40.551,,13,30\n`;
    expect(quick(text)).toEqual(long(text));
    expect(quick(text)?.value.numbers.value).toEqual(Float64Array.of(12.5, 13));
    expect(quick(text)?.value.numbers.swath?.[0]).toBeCloseTo(9.144, 12);
  });

  it("of many rows equals the long way to the last bit", () => {
    const rows = Array.from({length: 5000}, (_, i) =>
      [(-86.4 + i * 1.2345e-6).toFixed(9), (40.55 + i * 9.87e-7).toFixed(8), "", (i * 0.1).toFixed(3), 30].join(","),
    );
    const text = [HEADER, ...rows].join("\n");
    expect(quick(text)).toEqual(long(text));
  });

  it.each([
    ["a quote", `${HEADER}\n-86.4,40.55,"wet, cold",12.5,30\n`],
    ["a gap", `${HEADER}\n-86.4,40.55,wet,,30\n`],
    ["a word for missing", `${HEADER}\n-86.4,40.55,wet,NA,30\n`],
    ["a power of ten", `${HEADER}\n-86.4,40.55,wet,1e3,30\n`],
    ["a group mark", `${HEADER}\n-86.4,40.55,wet,12'500,30\n`],
    ["a short row", `${HEADER}\n-86.4,40.55,wet,12.5\n`],
    ["a blank row", `${HEADER}\n-86.4,40.55,wet,12.5,30\n\n-86.4,40.55,wet,12.5,30\n`],
    ["a position at zero", `${HEADER}\n0,0,wet,12.5,30\n-86.4,40.55,wet,12.5,30\n`],
    ["more digits than a number holds", `${HEADER}\n-86.4,40.55,wet,12345678901234567890,30\n`],
    ["decimal commas", `${HEADER.replaceAll(",", ";")}\n-86,4;40,55;wet;12,5;30\n`],
  ])("with %s goes the long way", (_, text) => {
    expect(quick(text)).toBeUndefined();
  });

  it.each([
    ["a long row", `${HEADER}\n-86.4,40.55,wet,12.5,30,1\n`],
    ["a letterhead", `Our lab\n${HEADER}\n-86.4,40.55,wet,12.5,30\n`],
  ])("with %s is refused in the same words", (_, text) => {
    const said = (read: (text: string) => unknown): string => {
      try {
        read(text);
        return "";
      } catch (error) {
        return (error as Error).message;
      }
    };
    expect(said(quick)).not.toBe("");
    expect(said(quick)).toBe(said(long));
  });

  it("refuses columns and units as the long way does", () => {
    const text = `${HEADER}\n-86.4,40.55,wet,12.5,30\n`;
    expect(() => quick(text, {...MAPPING, x: "east"})).toThrow(/east/);
  });
});
