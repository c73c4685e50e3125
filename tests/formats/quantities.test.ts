import {describe, expect, it} from "vitest";
import {isUnitOf, type Quantity, toSi} from "../../src/formats/quantities.ts";

const AT = {file: "log.csv", column: "A"};

describe("a unit of a column", () => {
  it.each([
    ["yield", "bu/ac", 56, 0.06276766469],
    ["yield", "bu/ac", 60, 0.06725106937],
    ["yield", "kg/ha", undefined, 0.001],
    ["yield", "lb/ac", undefined, 0.00112085115619],
    ["mass flow", "lb/s", undefined, 0.45359237],
    ["mass", "lb", undefined, 0.45359237],
    ["length", "in", undefined, 0.0254],
    ["length", "ft", undefined, 0.3048],
    ["speed", "mph", undefined, 0.44704],
    ["speed", "km/h", undefined, 1 / 3.6],
    ["percent", "fraction", undefined, 100],
  ] as const)("of %s in %s is turned by its definition", (quantity, unit, bushelPounds, factor) => {
    expect(toSi(quantity, unit, {...AT, bushelPounds})).toBeCloseTo(factor, 9);
  });

  it("is known as one or not, whatever its case and spaces", () => {
    expect([isUnitOf("length", " FT "), isUnitOf("yield", "Bu / Ac"), isUnitOf("length", "furlong")]).toEqual([
      true,
      true,
      false,
    ]);
  });

  it.each([
    ["length", "furlong", "Use one of: m, cm, ft, us-ft, in."],
    ["mass flow", "lb", "kg/s, lb/s"],
    ["time", "fortnight", "y-m-d, m/d/y, d/m/y, h:m:s"],
  ] as const)("of %s that is none, as %s, is refused with the choices", (quantity, unit, choices) => {
    const refuse = (): number => toSi(quantity as Quantity, unit, AT);
    expect(refuse).toThrow(
      expect.objectContaining({code: "points/unknown-unit", hint: expect.stringContaining(choices)}),
    );
  });

  it("missing, or of bushels without a weight, is asked for", () => {
    expect(() => toSi("yield", undefined, AT)).toThrow('Column "A" of log.csv has no unit for a yield.');
    expect(() => toSi("yield", "bu/ac", AT)).toThrow("bushels of unknown weight");
  });
});
