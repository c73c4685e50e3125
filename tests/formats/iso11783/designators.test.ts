import {describe, expect, it} from "vitest";
import {designator, designators} from "../../../src/formats/iso11783/designators.ts";

describe("names on a terminal", () => {
  it("have at most 32 characters, and a second one alike gets a number", () => {
    const long = "x".repeat(33);
    expect(designators([long, long, long], "Zone")).toEqual([
      "x".repeat(32),
      `${"x".repeat(30)} 2`,
      `${"x".repeat(30)} 3`,
    ]);
  });

  it("are never cut inside a character", () => {
    const short = designator(`${"a".repeat(31)}\u{1f33d}\u{1f33d}`, "Zone");
    expect([...short]).toHaveLength(32);
    expect(short.endsWith("\u{1f33d}")).toBe(true);
  });

  it("are never empty and hold no line breaks", () => {
    expect(designators([" ", "", "Kiln\n\tForty"], "Field")).toEqual(["Field", "Field 2", "Kiln Forty"]);
  });

  it("do not collide with a name that already ends in a number", () => {
    expect(designators(["A", "A 2", "A"], "Zone")).toEqual(["A", "A 2", "A 3"]);
  });
});
