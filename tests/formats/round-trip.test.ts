import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {readGeoJson} from "../../src/formats/read-geojson.ts";
import {readShapefile} from "../../src/formats/read-shapefile.ts";
import {writeGeoJson} from "../../src/formats/write-geojson.ts";
import {writeShapefile} from "../../src/formats/write-shapefile.ts";
import type {Feature, FeatureSet} from "../../src/geo/features.ts";
import type {LonLat, LonLatPolygon} from "../../src/geo/shapes.ts";

// Polygons with holes and several parts, of any odd coordinates: star-shaped about centres that stand apart.

const degrees = (least: number, most: number) => fc.double({min: least, max: most, noNaN: true});

/** A ring about a centre, counter-clockwise: radii at even angles. */
const ring = (lon: number, lat: number, radii: readonly number[]): LonLat[] => {
  const points = radii.map((radius, i): LonLat => {
    const angle = (2 * Math.PI * i) / radii.length;
    return [lon + radius * Math.cos(angle), lat + radius * Math.sin(angle)];
  });
  return [...points, points[0] as LonLat];
};

const radii = (least: number, most: number) => fc.array(degrees(least, most), {minLength: 3, maxLength: 9});

/** One part fills its place of 0.01 degree; holes stay within a third of it, left and right of the middle. */
const part = (lon: number, lat: number) =>
  fc.tuple(radii(0.003, 0.0045), fc.array(radii(0.0001, 0.0003), {maxLength: 2})).map(
    ([outer, holes]): LonLatPolygon => [
      ring(lon, lat, outer),
      // Nearer to the middle than any edge of the outer ring can come, when it has five corners or more.
      ...(outer.length < 5
        ? []
        : holes.map((hole, i) => ring(lon + (i === 0 ? -0.0008 : 0.0008), lat, hole).reverse())),
    ],
  );

const geometry = fc
  .tuple(degrees(-170, 170), degrees(-80, 80), fc.integer({min: 1, max: 4}))
  .chain(([lon, lat, parts]) =>
    fc
      .tuple(...Array.from({length: parts}, (_, i) => part(lon + 0.01 * i, lat)))
      .map((polygons): Feature["geometry"] =>
        polygons.length === 1
          ? {type: "Polygon", coordinates: polygons[0] as LonLatPolygon}
          : {type: "MultiPolygon", coordinates: polygons},
      ),
  );

const rates = fc.integer({min: -9_999_999, max: 99_999_999}).map((n) => n / 100);
const note = fc
  .string({unit: "grapheme-composite", maxLength: 8})
  .map((text) => text.replace(/\s/g, "_").replaceAll("\0", ""));
const features = fc
  .array(fc.tuple(geometry, rates, note), {minLength: 1, maxLength: 5})
  .map((rows) => rows.map(([shape, rate, text]): Feature => ({geometry: shape, properties: {RATE: rate, NOTE: text}})));

const COLUMNS = [
  {name: "RATE", type: "N", width: 12, decimals: 2},
  {name: "NOTE", type: "C", width: 254},
] as const;

const round = (value: number): number => Number(value.toFixed(9)) + 0;
const rounded = (shape: Feature["geometry"]): Feature["geometry"] =>
  JSON.parse(JSON.stringify(shape), (_, value: unknown) => (typeof value === "number" ? round(value) : value));

describe("polygons with holes and parts come back exactly to nine decimals", () => {
  it("from GeoJSON and from a shapefile, with equal numbers in both", async () => {
    await fc.assert(
      fc.asyncProperty(features, async (list) => {
        const set: FeatureSet = {name: "x", features: list};
        const expected = list.map(({geometry: shape, properties}) => ({geometry: rounded(shape), properties}));
        const fromJson = await readGeoJson(writeGeoJson(set), "x.geojson");
        expect(fromJson.value.features).toEqual(expected);
        expect(fromJson.issues).toEqual([]);
        const zip = writeShapefile(set, COLUMNS).value.zip;
        const fromShape = readShapefile(new Map([["x.zip", zip]]), "x.zip");
        expect(fromShape.issues).toEqual([]);
        // A table holds no empty text: blank is nothing.
        expect(fromShape.value.features).toEqual(
          expected.map((f) => ({...f, properties: {...f.properties, NOTE: f.properties.NOTE || null}})),
        );
      }),
      {numRuns: 150},
    );
  });

  it("whatever way round they are given", async () => {
    await fc.assert(
      fc.asyncProperty(geometry, async (shape) => {
        const turned = JSON.parse(JSON.stringify(shape)) as {type: string; coordinates: LonLat[][] | LonLat[][][]};
        const polygons = (turned.type === "Polygon" ? [turned.coordinates] : turned.coordinates) as LonLat[][][];
        for (const rings of polygons) for (const one of rings) one.reverse();
        const set = {name: "x", features: [{geometry: turned as Feature["geometry"], properties: {RATE: 1, NOTE: ""}}]};
        const straight = {name: "x", features: [{geometry: shape, properties: {RATE: 1, NOTE: ""}}]};
        expect(writeGeoJson(set)).toEqual(writeGeoJson(straight));
        expect(writeShapefile(set, COLUMNS).value.zip).toEqual(writeShapefile(straight, COLUMNS).value.zip);
      }),
      {numRuns: 50},
    );
  });

  it("points too", async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(fc.tuple(degrees(-180, 180), degrees(-84, 84)), {minLength: 1}), async (points) => {
        const set: FeatureSet = {
          name: "x",
          features: points.map((p) => ({geometry: {type: "Point", coordinates: p}, properties: {RATE: 1, NOTE: "a"}})),
        };
        const expected = points.map(([lon, lat]) => [round(lon), round(lat)]);
        const zip = writeShapefile(set, COLUMNS).value.zip;
        const shapes = readShapefile(new Map([["x.zip", zip]]), "x.zip").value.features;
        expect(shapes.map((f) => f.geometry.coordinates)).toEqual(expected);
        const json = (await readGeoJson(writeGeoJson(set), "x")).value.features;
        expect(json.map((f) => f.geometry.coordinates)).toEqual(expected);
      }),
      {numRuns: 50},
    );
  });
});
