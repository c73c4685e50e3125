import {describe, expect, it} from "vitest";
import {K_ICP, P_ICP, readTable} from "./lab-table.ts";

const one = (entry: object) => ({analytes: [{...P_ICP, ...entry}]});
const refusal = (code: string, hint?: string) =>
  expect.objectContaining({name: "FieldError", code, ...(hint && {hint: expect.stringContaining(hint)})});

describe("a number without its method does not exist", () => {
  it.each([
    ["no method", {method: undefined}, "lab/no-method", "mehlich-3 icp, mehlich-3, mehlich-3 colorimetric, bray-1"],
    ["a blank method", {method: " "}, "lab/no-method", "olsen"],
    ["an unknown method", {method: "saturated paste"}, "lab/no-method", "bray-1"],
    ["a method of another analyte", {method: "loss on ignition"}, "lab/no-method", "bray-1"],
    ["no unit", {unit: undefined}, "lab/no-unit", "ppm (mg/kg), lb/ac, %"],
    ["an unknown unit", {unit: "index"}, "lab/no-unit", "ppm (mg/kg)"],
    ["a unit of another analyte", {unit: "meq/100 g"}, "lab/no-unit", "lb/ac"],
    ["an unknown analyte", {analyte: "Phosphate"}, "lab/no-analyte", "P, K, Ca"],
    // Soil tests are elemental (agronomy.md check G02; Ohio State University Extension ANR-75).
    ["P as an oxide", {analyte: "P2O5"}, "lab/oxide", "elemental"],
    ["an oxide in the unit", {unit: "ppm P2O5"}, "lab/oxide", "elemental"],
  ])("%s is refused, naming what is accepted", (_, entry, code, hint) => {
    expect(() => readTable("ID|P\nA1|12", one(entry))).toThrow(refusal(code, hint));
  });

  it("knows methods and units however they are spelled", () => {
    const spelled = {method: "Mehlich-3 ICP", unit: "PPM"};
    expect(readTable("ID|P\nA1|12", one(spelled)).tests[0]).toMatchObject({unit: "mg/kg", method: "mehlich-3 icp"});
    expect(readTable("ID|P\nA1|12", one({method: "BRAY 1", unit: "lbs / A"})).tests[0]).toMatchObject({
      unit: "lb/ac",
      method: "bray-1",
    });
  });

  it("refuses a depth that is none", () => {
    expect(() => readTable("ID|P\nA1|12", {...one({}), depthM: Number.NaN})).toThrow(refusal("lab/bad-depth"));
    expect(() => readTable("ID|P\nA1|12", {...one({}), depthM: 8})).toThrow(refusal("lab/bad-depth")); // inches
  });
});

describe("the file has the last word on its own columns", () => {
  it.each([
    ["the heading names another unit", "P (lb/ac)", {}, "12", "lab/unit-differs"],
    ["the heading names another unit after an underscore", "P_lbs/A", {}, "12", "lab/unit-differs"],
    ["the heading names another extractant", "Bray P1 ppm", {}, "12", "lab/method-differs"],
    ["the heading says Olsen", "P-Olsen", {}, "12", "lab/method-differs"],
    ["the heading says colorimetric", "M3 P colorimetric", {}, "12", "lab/method-differs"],
    ["the heading is an oxide", "P2O5", {}, "12", "lab/oxide"],
    ["a row of units says lb/ac", "P", {}, "lb/ac", "lab/unit-differs"],
    ["a row of units is an oxide", "P", {}, "ppm P2O5", "lab/oxide"],
    ["the column holds ratings", "P", {}, "Very Low", "lab/not-numbers"],
  ])("%s", (_, column, entry, cell, code) => {
    const text = `ID|${column}\nA1|${cell}\n${/^\d/.test(cell) || code === "lab/not-numbers" ? "" : "A2|12"}`;
    expect(() => readTable(text, one({column, ...entry}))).toThrow(refusal(code));
  });

  it("agrees when the heading says the same", () => {
    expect(readTable("ID|Mehlich-3 P (ppm), ICP\nA1|12", one({column: "Mehlich-3 P (ppm), ICP"})).issues).toEqual([]);
  });

  it.each([
    ["a column that is not there", "ID|Phos\nA1|12", one({}), "lab/no-column"],
    ["an id column that is not there", "Samp|P\nA1|12", one({}), "lab/no-column"],
    ["two columns of one name", "ID|P|P\nA1|12|14", one({}), "lab/column-twice"],
    ["no columns asked for", "ID|P\nA1|12", {analytes: []}, "lab/no-analyte"],
    ["one column for two analytes", "ID|P\nA1|12", {analytes: [P_ICP, {...K_ICP, column: "P"}]}, "lab/analyte-twice"],
    ["one analyte twice", "ID|P|P1\nA1|12|13", {analytes: [P_ICP, {...P_ICP, column: "P1"}]}, "lab/analyte-twice"],
    ["no rows at all", "ID|P", one({}), "lab/no-rows"],
    ["only a footer", "ID|P\nAverage|12", one({}), "lab/no-rows"],
    ["no row of the field asked for", "ID|P\nA1|12", {...one({}), only: [{column: "ID", is: "B1"}]}, "lab/no-rows"],
  ])("stops at %s", (_, text, more, code) => {
    expect(() => readTable(text, more)).toThrow(refusal(code));
  });

  it("finds a column whose heading differs in case and outer spaces only", () => {
    expect(readTable(" id |p \nA1|12", one({})).tests).toHaveLength(1);
  });

  it("helps with a misspelled column", () => {
    expect(() => readTable("ID|Phosphorus\nA1|12", one({column: "Phosphorous"}))).toThrow(
      refusal("lab/no-column", 'Did you mean "Phosphorus"?'),
    );
  });

  it("takes one analyte by two methods", () => {
    const analytes = [P_ICP, {...P_ICP, column: "P1", method: "bray-1"}];
    expect(readTable("ID|P|P1\nA1|20|14", {analytes}).tests.map(({method}) => method)).toEqual([
      "mehlich-3 icp",
      "bray-1",
    ]);
  });
});
