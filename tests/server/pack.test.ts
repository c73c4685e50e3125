import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {pack, unpack} from "../../src/server/pack.ts";

describe("packed data", () => {
  it("comes back as it was: numbers JSON does not know, maps, arrays of every kind", () => {
    const values = Float64Array.of(1 / 3, Number.NaN, -0, 1e300);
    const given = {
      values,
      again: {values},
      bytes: Uint8Array.of(1, 2, 3),
      halves: Float32Array.of(0.1),
      counts: Int16Array.of(-7),
      empty: new Int32Array(0),
      map: new Map<unknown, unknown>([
        ["a", {deep: new Map([["b", Number.POSITIVE_INFINITY]])}],
        [2, Number.NaN],
      ]),
      minusNothing: -0,
      text: "ä\u2028\u0000",
      no: null,
    };
    const back = unpack(pack(given)) as typeof given;
    expect(back).toEqual(given);
    expect(Object.is(back.minusNothing, -0)).toBe(true);
    // Met twice, there once.
    expect(back.again.values).toBe(back.values);
  });

  it("takes part of a larger array without the rest of it", () => {
    const all = Float64Array.of(1, 2, 3, 4);
    expect(unpack(pack({middle: all.subarray(1, 3)}))).toEqual({middle: Float64Array.of(2, 3)});
  });

  it("comes back whatever plain data it is", () => {
    const word = fc.letrec((tie) => ({
      any: fc.oneof(
        {depthSize: "small"},
        fc.double(),
        fc.string(),
        fc.boolean(),
        fc.constant(null),
        fc.float64Array(),
        fc.uint8Array(),
        fc.array(tie("any"), {maxLength: 4}),
        fc.dictionary(
          fc.string().filter((key) => key !== "\u0000" && key !== "__proto__"),
          tie("any"),
          {maxKeys: 4, noNullPrototype: true},
        ),
        fc.array(fc.tuple(fc.string(), tie("any")), {maxLength: 3}).map((entries) => new Map(entries)),
      ),
    })).any;
    fc.assert(
      fc.property(word, (value) => {
        expect(unpack(pack({value}))).toEqual({value});
      }),
      {numRuns: 200},
    );
  });

  it("refuses what would not come back, and bytes that were not packed", () => {
    expect(() => pack({view: new DataView(new ArrayBuffer(4))})).toThrow("cannot be packed");
    expect(() => unpack(Uint8Array.of(1, 2, 3))).toThrow();
  });
});
