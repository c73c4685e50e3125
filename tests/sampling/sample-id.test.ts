import {describe, expect, it} from "vitest";
import {idPrefix, sampleIds} from "../../src/sampling/sample-id.ts";

describe("sample ids", () => {
  it("name field, strategy and number, padded so that they sort as they are walked", () => {
    expect(sampleIds("KF", "grid", 2)).toEqual(["KFG01", "KFG02"]);
    expect(sampleIds("KF", "whole-field", 1)).toEqual(["KFW01"]);
    expect(sampleIds("KF", "zone", 1)).toEqual(["KFZ01"]);
    const many = sampleIds("ABC", "grid", 120);
    expect(many[0]).toBe("ABCG001");
    expect([...many].sort()).toEqual(many);
    for (const id of many) expect(id.length).toBeLessThanOrEqual(8);
  });

  it("take their prefix from the field's name, without I and O", () => {
    expect(idPrefix(undefined, "Kiln Forty")).toBe("KF");
    expect(idPrefix(undefined, "Millrace")).toBe("MLR");
    expect(idPrefix(undefined, "old ivy bottom")).toBe("LVB");
    expect(idPrefix(undefined, "Grüne Äcker 12")).toBe("GA");
    expect(idPrefix(undefined, "12")).toBe("F");
  });

  it("take a prefix as given, and refuse what could be misread", () => {
    expect(idPrefix(" mr ", "Millrace")).toBe("MR");
    for (const bad of ["", "OK", "IN", "ABCD", "A1", "A-"]) {
      expect(() => idPrefix(bad, "Millrace")).toThrow(expect.objectContaining({code: "sampling/prefix"}));
    }
  });
});
