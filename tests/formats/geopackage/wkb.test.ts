import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {decodeBlob, encodeBlob} from "../../../src/formats/geopackage/blob.ts";
import {decodeWkb, encodeWkb} from "../../../src/formats/geopackage/wkb.ts";
import type {Geometry} from "../../../src/geo/features.ts";
import {bytes, hex} from "../iso11783/plans.ts";

const square: Geometry = {
  type: "Polygon",
  coordinates: [
    [
      [-93, 42],
      [-92.99, 42],
      [-92.99, 42.01],
      [-93, 42.01],
      [-93, 42],
    ],
  ],
};

// Bytes made with GDAL 3.6.2 and checked by hand against the standard.
describe("well-known binary", () => {
  it("of a point is 21 bytes, x before y", () => {
    expect(hex(encodeWkb({type: "Point", coordinates: [-93, 42]}))).toBe(
      "01 01 00 00 00 00 00 00 00 00 40 57 c0 00 00 00 00 00 00 45 40",
    );
  });

  it("of a polygon starts with its ring and point counts", () => {
    expect(hex(encodeWkb(square).subarray(0, 13))).toBe("01 03 00 00 00 01 00 00 00 05 00 00 00");
    expect(hex(encodeWkb({type: "MultiPolygon", coordinates: [square.coordinates]}).subarray(0, 9))).toBe(
      "01 06 00 00 00 01 00 00 00",
    );
  });

  it("is read in the other byte order too", () => {
    expect(decodeWkb(bytes("00 00 00 00 01 c0 57 40 00 00 00 00 00 40 45 00 00 00 00 00 00"))).toEqual({
      geometry: {type: "Point", coordinates: [-93, 42]},
      hadThirdNumber: false,
    });
  });

  it.each([
    ["Z", "01 e9 03 00 00", 1],
    ["M", "01 d1 07 00 00", 1],
    ["ZM", "01 b9 0b 00 00", 2],
  ])("drops the numbers after x and y of a point %s", (_, head, extra) => {
    const more = "00 00 00 00 00 00 f0 3f ".repeat(extra);
    expect(decodeWkb(bytes(`${head} 00 00 00 00 00 40 57 c0 00 00 00 00 00 00 45 40 ${more}`))).toEqual({
      geometry: {type: "Point", coordinates: [-93, 42]},
      hadThirdNumber: true,
    });
  });

  it.each([
    ["cut short", "01 01 00 00 00 00 00 00 00 00 40 57 c0", "is cut short"],
    ["empty", "", "is cut short"],
    ["with a forged count of rings", "01 03 00 00 00 ff ff ff ff", "is cut short"],
    ["with a coordinate system inside", "01 03 00 00 20 e6 10 00 00", "is of a kind not read here (code 536870915)"],
    ["of a collection", "01 07 00 00 00 00 00 00 00", "is of a kind not read here (code 7)"],
    ["of a circular string", "01 08 00 00 00 00 00 00 00", "is of a kind not read here (code 8)"],
    [
      "with a line among polygons",
      "01 06 00 00 00 01 00 00 00 01 02 00 00 00 00 00 00 00",
      "has a LineString where it cannot stand",
    ],
    [
      "with NaN",
      "01 01 00 00 00 00 00 00 00 00 00 f8 7f 00 00 00 00 00 00 f8 7f",
      "has a coordinate that is not a number",
    ],
  ])("%s is not read", (_, data, why) => {
    expect(decodeWkb(data === "" ? new Uint8Array(0) : bytes(data))).toBe(why);
  });

  it("comes back the same for every kind of shape", () => {
    const position = fc.tuple(
      fc.double({noNaN: true, noDefaultInfinity: true}),
      fc.double({noNaN: true, noDefaultInfinity: true}),
    );
    const line = fc.array(position, {maxLength: 8});
    const lines = fc.array(line, {maxLength: 4});
    const geometry: fc.Arbitrary<Geometry> = fc.oneof(
      fc.record({type: fc.constant("Point" as const), coordinates: position}),
      fc.record({type: fc.constant("LineString" as const), coordinates: line}),
      fc.record({type: fc.constant("MultiPoint" as const), coordinates: line}),
      fc.record({type: fc.constant("Polygon" as const), coordinates: lines}),
      fc.record({type: fc.constant("MultiLineString" as const), coordinates: lines}),
      fc.record({type: fc.constant("MultiPolygon" as const), coordinates: fc.array(lines, {maxLength: 3})}),
    );
    fc.assert(
      fc.property(geometry, (given) => {
        expect(decodeWkb(encodeWkb(given))).toEqual({geometry: given, hadThirdNumber: false});
      }),
      {numRuns: 300},
    );
  });

  it("never crashes on bytes of any kind", () => {
    fc.assert(
      fc.property(fc.uint8Array({maxLength: 60}), (noise) => {
        decodeWkb(noise);
        decodeBlob(noise);
      }),
      {numRuns: 2000},
    );
  });
});

describe("the geometry of a GeoPackage", () => {
  it("has an envelope in the order west, east, south, north", () => {
    const blob = encodeBlob(square, 4326);
    expect(blob).toHaveLength(133);
    expect(hex(blob.subarray(0, 40))).toBe(
      "47 50 00 03 e6 10 00 00 00 00 00 00 00 40 57 c0 8f c2 f5 28 5c 3f 57 c0 00 00 00 00 00 00 45 40 e1 7a 14 ae 47 01 45 40",
    );
  });

  it("has no envelope for a point", () => {
    expect(hex(encodeBlob({type: "Point", coordinates: [-93, 42]}, 4326))).toBe(
      "47 50 00 01 e6 10 00 00 01 01 00 00 00 00 00 00 00 00 40 57 c0 00 00 00 00 00 00 45 40",
    );
  });

  it("says so when it is empty", () => {
    const blob = encodeBlob({type: "MultiPolygon", coordinates: []}, 4326);
    expect(blob[3]).toBe(0x11);
    expect(decodeBlob(blob)).toBe("empty");
    expect(
      decodeBlob(bytes("47 50 00 11 e6 10 00 00 01 01 00 00 00 00 00 00 00 00 00 f8 7f 00 00 00 00 00 00 f8 7f")),
    ).toBe("empty");
  });

  it("is read with a header in one byte order and a body in the other", () => {
    const body = "01 01 00 00 00 00 00 00 00 00 40 57 c0 00 00 00 00 00 00 45 40";
    expect(decodeBlob(bytes(`47 50 00 00 00 00 10 e6 ${body}`))).toMatchObject({geometry: {coordinates: [-93, 42]}});
  });

  it.each([
    ["another header", "47 51 00 01 e6 10 00 00", "has no GeoPackage header"],
    ["a header cut short", "47 50 00", "has no GeoPackage header"],
    ["an unknown envelope", "47 50 00 0b e6 10 00 00", "has an unknown envelope"],
    ["an extended kind", "47 50 00 21 e6 10 00 00", "is of an extended kind"],
    ["an envelope cut short", "47 50 00 03 e6 10 00 00 00", "is cut short"],
  ])("with %s is not read", (_, data, wrong) => {
    expect(decodeBlob(bytes(data))).toEqual({wrong});
  });
});
