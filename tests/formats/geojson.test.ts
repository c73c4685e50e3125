import {describe, expect, it} from "vitest";
import {readGeoJson} from "../../src/formats/read-geojson.ts";
import {writeGeoJson} from "../../src/formats/write-geojson.ts";
import {crsFromText, crsLocal} from "../../src/geo/crs.ts";
import type {Feature, FeatureSet} from "../../src/geo/features.ts";
import {bytes, coordinatesOf, join} from "./build-files.ts";

const read = (json: unknown, options = {}) => readGeoJson(bytes(JSON.stringify(json)), "field.geojson", options);
const feature = (geometry: unknown, properties: unknown = {}) => ({type: "Feature", geometry, properties});
const collection = (...features: unknown[]) => ({type: "FeatureCollection", features});
const point = {type: "Point", coordinates: [-93, 42]};
const square = [
  [-93, 42],
  [-92.99, 42],
  [-92.99, 42.01],
  [-93, 42.01],
  [-93, 42],
];
const hole = [
  [-92.997, 42.003],
  [-92.997, 42.007],
  [-92.993, 42.007],
  [-92.993, 42.003],
  [-92.997, 42.003],
];

async function refusal(work: Promise<unknown>): Promise<{code: string; message: string; hint?: string}> {
  const error = await work.then(
    () => undefined,
    (e: unknown) => e,
  );
  expect((error as Error)?.name).toBe("FieldError");
  return error as {code: string; message: string; hint?: string};
}

const twiceArea = (ring: readonly (readonly number[])[]): number =>
  ring.slice(1).reduce((sum, [x, y], i) => sum + (ring[i]?.[0] ?? 0) * (y ?? 0) - (x ?? 0) * (ring[i]?.[1] ?? 0), 0);

describe("GeoJSON is read", () => {
  it("as a collection, a feature or a bare geometry", async () => {
    for (const json of [collection(feature(point)), feature(point), point]) {
      const {value, issues} = await read(json);
      expect(value.features).toEqual([{geometry: point, properties: {}}]);
      expect(issues).toEqual([]);
    }
  });

  it("with a byte-order mark, in UTF-16, line by line, and as a text sequence", async () => {
    const one = JSON.stringify(feature(point, {n: 1}));
    const two = JSON.stringify(feature(point, {n: 2}));
    const utf16 = Uint8Array.from([0xff, 0xfe, ...[...one].flatMap((c) => [c.charCodeAt(0) & 255, 0])]);
    expect((await readGeoJson(join([0xef, 0xbb, 0xbf], bytes(one)), "a")).value.features).toHaveLength(1);
    expect((await readGeoJson(utf16, "a")).value.features).toHaveLength(1);
    expect((await readGeoJson(bytes(`${one}\n\n${two}\n`), "a")).value.features).toHaveLength(2);
    // RFC 8142: a record separator before, a line feed after each text.
    const sequence = await readGeoJson(bytes(`\u001e${one}\n\u001e${two}\n`), "a");
    expect(sequence.value.features.map((f) => f.properties.n)).toEqual([1, 2]);
  });

  it("with outer rings turned counter-clockwise and holes clockwise", async () => {
    const {value} = await read(feature({type: "Polygon", coordinates: [[...square].reverse(), [...hole].reverse()]}));
    const rings = coordinatesOf(value) as number[][][];
    // By hand: 0.01 x 0.01 degrees, and a hole of 0.004 x 0.004.
    expect(twiceArea(rings[0] as number[][]) / 2).toBeCloseTo(1e-4, 12);
    expect(twiceArea(rings[1] as number[][]) / 2).toBeCloseTo(-1.6e-5, 12);
  });

  it("with ids as text, and flat properties", async () => {
    const {value, issues} = await read({
      ...feature(point, {a: "x", b: 1.5, c: true, d: null, e: {f: [1]}}),
      id: 7,
    });
    expect(value.features[0]).toMatchObject({
      id: "7",
      properties: {a: "x", b: 1.5, c: true, d: null, e: '{"f":[1]}'},
    });
    expect(issues.map(({code}) => code)).toEqual(["geojson/nested-property"]);
  });

  it("without letting a property change what objects are", async () => {
    const text =
      '{"type":"Feature","geometry":{"type":"Point","coordinates":[1,2]},"properties":{"__proto__":{"x":1},"constructor":"c"}}';
    const {value, issues} = await readGeoJson(bytes(text), "a");
    expect(({} as {x?: number}).x).toBeUndefined();
    expect(Object.getPrototypeOf(value.features[0]?.properties)).toBe(Object.prototype);
    expect(Object.entries(value.features[0]?.properties ?? {})).toEqual([["constructor", "c"]]);
    expect(issues[0]?.code).toBe("geojson/property-name");
  });

  it("with remarks on what was left out or changed, one line each", async () => {
    const {value, issues} = await read(
      collection(
        feature(null),
        feature({type: "Polygon", coordinates: []}),
        feature({type: "GeometryCollection", geometries: [point, {type: "Point", coordinates: [1, 2, 300]}]}, {a: 1}),
        feature({type: "Polygon", coordinates: [square.slice(0, 4)]}),
      ),
    );
    expect(value.features.map((f) => f.geometry.type)).toEqual(["Point", "Point", "Polygon"]);
    expect(value.features[1]?.properties).toEqual({a: 1});
    expect((coordinatesOf(value, 2) as number[][][])[0]).toHaveLength(5);
    expect(issues.map(({code}) => code)).toEqual([
      "geojson/no-geometry",
      "geojson/empty-geometry",
      "geojson/collection",
      "geojson/third-dimension",
      "geojson/ring-closed",
    ]);
    expect(issues[0]?.message).toContain("feature 1");
  });

  it("from another coordinate system that the file or the user names", async () => {
    // PROJ 9.1.1: EPSG:26916 of -86.4, 40.55.
    const utm = {type: "Point", coordinates: [550802.6946, 4488977.6823]};
    const named = {...feature(utm), crs: {type: "name", properties: {name: "urn:ogc:def:crs:EPSG::26916"}}};
    for (const [json, options] of [
      [named, {}],
      [feature(utm), {crs: await crsFromText("EPSG:26916")}],
    ] as const) {
      const {value, issues} = await read(json, options);
      const [lon, lat] = coordinatesOf(value) as [number, number];
      expect(lon).toBeCloseTo(-86.4, 8);
      expect(lat).toBeCloseTo(40.55, 8);
      expect(issues.map(({code}) => code)).toContain("crs/datum-near-wgs84");
    }
    const local = await read(feature({type: "Point", coordinates: [0, 0]}), {crs: crsLocal(-86.4, 40.55)});
    expect((coordinatesOf(local.value) as number[])[0]).toBeCloseTo(-86.4, 10);
  });

  it("as it stands when the crs member says WGS 84", async () => {
    for (const name of ["urn:ogc:def:crs:OGC:1.3:CRS84", "EPSG:4326"]) {
      const {value, issues} = await read({...feature(point), crs: {type: "name", properties: {name}}});
      expect(value.features[0]?.geometry).toEqual(point);
      expect(issues).toEqual([]);
    }
    expect((await read({...feature(point), crs: null})).value.features).toHaveLength(1);
  });
});

describe("GeoJSON is refused", () => {
  it("naming the feature and the place in it", async () => {
    const error = await refusal(
      read(
        collection(
          feature(point),
          feature({type: "Polygon", coordinates: [[...square.slice(0, 3), ["x", 42], [-93, 42]]]}),
        ),
      ),
    );
    expect(error.code).toBe("geojson/not-valid");
    expect(error.message).toBe(
      "Feature 2 of field.geojson: geometry.coordinates[0][3] is not a position of two numbers.",
    );
    expect(error.hint).toBeTruthy();
  });

  it("with the line where it is no JSON", async () => {
    const error = await refusal(readGeoJson(bytes('{"type": "FeatureCollection",\n"features": [\n{]\n'), "a.geojson"));
    expect(error).toMatchObject({code: "geojson/not-json", place: {file: "a.geojson", row: 3}});
  });

  it("when degrees are projected, or swapped", async () => {
    const projected = await refusal(read(feature({type: "Point", coordinates: [465120, 4651200]})));
    expect(projected.code).toBe("crs/not-degrees");
    expect(projected.message).toContain("4,651,200");
    expect((await refusal(read(feature({type: "Point", coordinates: [42, -93.1]})))).code).toBe("crs/swapped");
  });
});

describe("GeoJSON is written", () => {
  const set: FeatureSet = {
    name: "rates",
    features: [
      {
        id: "Z1",
        geometry: {type: "Polygon", coordinates: [[...square].reverse(), hole] as never},
        properties: {rate: 200, note: 'a "b"', none: Number.NaN},
      },
      {geometry: {type: "Point", coordinates: [0.0000005, -1e-12]}, properties: {}},
    ],
  };

  it("one feature to a line, counter-clockwise, without exponents, the same bytes each time", () => {
    const text = new TextDecoder().decode(writeGeoJson(set, {loamwright: {rate: "lb/ac"}}));
    expect(text).toBe(`{
"type": "FeatureCollection",
"name": "rates",
"loamwright": {"rate":"lb/ac"},
"features": [
{"type":"Feature","id":"Z1","properties":{"rate":200,"note":"a \\"b\\"","none":null},"geometry":{"type":"Polygon","coordinates":[[[-93,42],[-92.99,42],[-92.99,42.01],[-93,42.01],[-93,42]],[[-92.997,42.003],[-92.997,42.007],[-92.993,42.007],[-92.993,42.003],[-92.997,42.003]]]}},
{"type":"Feature","properties":{},"geometry":{"type":"Point","coordinates":[0.0000005,0]}}
]
}
`);
    expect(writeGeoJson(set)).toEqual(writeGeoJson(set));
  });

  it("as an empty collection that reads back", async () => {
    const {value} = await readGeoJson(writeGeoJson({name: "none", features: []}), "none.geojson");
    expect(value.features).toEqual([]);
  });

  it("with nine decimals, and no corner twice after rounding", () => {
    const ring = [
      [0, 0],
      [1, 0],
      [1, 1e-10],
      [1, 1],
      [0, 1],
      [0, 0],
    ] as never;
    const text = new TextDecoder().decode(
      writeGeoJson({name: "x", features: [{geometry: {type: "Polygon", coordinates: [ring]}, properties: {}}]}),
    );
    expect(text).toContain("[[[0,0],[1,0],[1,1],[0,1],[0,0]]]");
  });

  it("never with a shape that has no extent or a number that is none", () => {
    const tiny = [
      [0, 0],
      [1e-11, 0],
      [0, 1e-11],
      [0, 0],
    ] as never;
    const one = (geometry: Feature["geometry"]) => () =>
      writeGeoJson({name: "x", features: [{geometry, properties: {}}]});
    expect(one({type: "Polygon", coordinates: [tiny]})).toThrow(/too small to write/);
    expect(one({type: "Point", coordinates: [Number.NaN, 0]})).toThrow();
  });
});
