import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {decimalMarkOf, parseNumber} from "../../src/units/number.ts";

describe("a number in a text", () => {
  it.each([
    ["1", 1],
    [" 12.50 ", 12.5],
    ["-.5", -0.5],
    ["5.", 5],
    ["+3", 3],
    ["1e3", 1000],
    ["1.2E-3", 0.0012],
    ["007", 7],
    ["\u22123.5", -3.5], // the typographic minus sign
    ["1,234.5", 1234.5],
    ["1,234,567", 1234567],
    ["1 234", 1234],
    ["1\u00a0234\u202f567", 1234567],
    ["1'234.5", 1234.5],
    ["-86.4000001", -86.4000001],
  ])("%j is %d", (text, value) => expect(parseNumber(text)).toBe(value));

  it.each([
    ["1,5", 1.5],
    ["1.234,5", 1234.5],
    ["1.234.567", 1234567],
    ["1 234,5", 1234.5],
    [",5", 0.5],
    ["12", 12],
    ["-0,25", -0.25],
    ["1,5e3", 1500],
  ])("%j with a decimal comma is %d", (text, value) => expect(parseNumber(text, ",")).toBe(value));

  it("is none where only a part of the text is one, or two readings are possible", () => {
    const none = [
      "",
      " ",
      ".",
      "-",
      "e5",
      "12abc",
      "12 lb",
      "0x1F",
      " 0x1F",
      "0b1",
      "0o7",
      "1_000",
      "Infinity",
      "NaN",
      "1e400",
    ];
    const unclear = ["1,234", "1,5", "1,23,456", "1.234,5", "1.2.3", "--5", "- 5", "12,34,567", "1 23"];
    for (const text of [...none, ...unclear]) expect([text, parseNumber(text)]).toEqual([text, Number.NaN]);
    for (const text of ["1.5", "1.234", "1,2,3", "1,234.5"])
      expect([text, parseNumber(text, ",")]).toEqual([text, Number.NaN]);
  });

  it("is read back from what the language prints, whichever the mark", () => {
    fc.assert(
      fc.property(fc.double({noNaN: true, noDefaultInfinity: true}), (any) => {
        const value = any + 0; // minus zero prints as zero
        expect(parseNumber(String(value))).toBe(value);
        expect(parseNumber(String(value).replace(".", ","), ",")).toBe(value);
      }),
    );
  });
});

describe("the decimal mark of a column", () => {
  it("is a comma only where some cell needs one and none forbids it", () => {
    expect(decimalMarkOf(["1,5", "2", ""])).toBe(",");
    expect(decimalMarkOf(["12,25", "1,234"])).toBe(",");
    expect(decimalMarkOf(["1,5", "2.5"])).toBe(".");
    expect(decimalMarkOf(["1.5", "x"])).toBe(".");
    expect(decimalMarkOf(["1,234", "12"])).toBe(".");
    expect(decimalMarkOf([])).toBe(".");
  });
});
