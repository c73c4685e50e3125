import {createHash} from "node:crypto";
import {readdirSync, readFileSync} from "node:fs";
import {join} from "node:path";
import {beforeAll, describe, expect, it} from "vitest";
import {elevation} from "../../sample-data/make/elevation.ts";
import {FIELDS, kilnForty} from "../../sample-data/make/farm.ts";
import {filesOf} from "../../sample-data/make/files.ts";
import {delineations} from "../../sample-data/make/soil-map.ts";
import {groundAt, terrainAt} from "../../sample-data/make/truth.ts";
import {transformBetween, WGS84} from "../../src/geo/crs.ts";
import {makeField} from "../../src/geo/field.ts";
import {coverageIsValid, difference, loadGeos} from "../../src/geo/geos.ts";
import {areaM2, boxOf, contains} from "../../src/geo/measure.ts";
import type {LonLat, LonLatPolygon} from "../../src/geo/shapes.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";

const SAMPLES = new URL("../../sample-data", import.meta.url).pathname;
const sha256 = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");

beforeAll(loadGeos);

const boundaryOf = (id: string): LonLatPolygon =>
  JSON.parse(readFileSync(join(SAMPLES, id, "boundary.geojson"), "utf8")).features[0].geometry.coordinates;

describe("the committed files of Sedgewater Farm", () => {
  it("are what the generator makes again, byte for byte (Kiln Forty)", () => {
    for (const [name, bytes] of filesOf(kilnForty)) {
      expect(`${name} ${sha256(bytes)}`).toBe(`${name} ${sha256(readFileSync(join(SAMPLES, kilnForty.id, name)))}`);
    }
  });

  it("stay small: 4 MB a file, 12 MB in all", () => {
    const sizes = FIELDS.flatMap(({id}) =>
      readdirSync(join(SAMPLES, id)).map((name) => readFileSync(join(SAMPLES, id, name)).length),
    );
    expect(Math.max(...sizes)).toBeLessThan(4e6);
    expect(sizes.reduce((sum, size) => sum + size, 0)).toBeLessThan(12e6);
  });

  it.each([
    ["millrace", 154, 2],
    ["kiln-forty", 38, 1],
  ])("bound %s: %d acres, %d rings, no remark", (id, acres, rings) => {
    const {field, issues} = makeField(id, id, [boundaryOf(id)]);
    expect(issues).toEqual([]);
    expect(Math.abs(field.area / SQUARE_METRES_PER_ACRE - acres)).toBeLessThan(0.5); // "about"
    expect(field.boundary[0]).toHaveLength(rings);
  });
});

describe.each(FIELDS.map((field) => [field.name, field] as const))("the soil map of %s", (_, field) => {
  it("is a coverage of the field and 100 m around it", () => {
    const map = delineations(field);
    const polygons = map.map(({polygon}) => polygon);
    expect(coverageIsValid(polygons, 0.05)).toBe(true);
    const box = boxOf(polygons);
    const inner = boxOf(field.outline);
    expect(Math.min(inner.west - box.west, box.east - inner.east)).toBeGreaterThanOrEqual(100);
    expect(Math.min(inner.south - box.south, box.north - inner.north)).toBeGreaterThanOrEqual(100);
    // Dissolved faces tile the sheet: their areas add up to it (to a rounding of 1 m2 in 1e6).
    expect(Math.abs(areaM2(polygons) - (box.east - box.west) * (box.north - box.south))).toBeLessThan(1);
    expect(areaM2(difference(field.outline, polygons))).toBeLessThan(1);
  });

  it("is right about most of the ground and wrong about some", () => {
    const map = delineations(field);
    const box = boxOf(field.outline);
    let right = 0;
    let all = 0;
    for (let x = box.west + 5; x < box.east; x += 10) {
      for (let y = box.south + 5; y < box.north; y += 10) {
        if (!contains(field.outline, x, y)) continue;
        const {wet, knoll, sand, muck} = groundAt(field, x, y);
        const truth = muck > 0.5 ? "Ha" : sand > 0.5 ? "Sb" : wet > 0.5 ? "Wa" : knoll > 0.5 ? "Kc2" : "Fb1";
        if (map.find(({polygon}) => contains([polygon], x, y))?.unit.unit === truth) right++;
        all++;
      }
    }
    expect(right / all).toBeGreaterThan(0.7);
    expect(right / all).toBeLessThan(0.95);
  });
});

describe.each(FIELDS.map((field) => [field.name, field] as const))("the elevation of %s", (_, field) => {
  const raster = elevation(field);
  const heights = [...raster.values];

  it("covers the field and at least 100 m around it", () => {
    const utm = transformBetween(WGS84.definition, raster.crs.definition);
    for (const [lon, lat] of (boundaryOf(field.id)[0] ?? []) as LonLat[]) {
      const [e, n] = utm.forward(lon, lat);
      expect(e - raster.west).toBeGreaterThan(100);
      expect(raster.north - n).toBeGreaterThan(100);
      expect(raster.west + raster.cols * raster.cellWidth - e).toBeGreaterThan(100);
      expect(n - (raster.north - raster.rows * raster.cellHeight)).toBeGreaterThan(100);
    }
  });

  it("has the few metres of relief of a till plain under a few centimetres of tillage and noise", () => {
    const relief = heights.reduce((a, h) => Math.max(a, h)) - heights.reduce((a, h) => Math.min(a, h));
    expect(relief).toBeGreaterThan(2);
    expect(relief).toBeLessThan(7);
    expect(raster.values).toHaveLength(raster.cols * raster.rows);
    const {heightAt} = terrainAt(field);
    const utm = transformBetween(WGS84.definition, raster.crs.definition);
    const local = transformBetween(
      WGS84.definition,
      `+proj=tmerc +lat_0=${field.frame.lat} +lon_0=${field.frame.lon} +k=1 +datum=WGS84`,
    );
    const off: number[] = [];
    for (let i = 0; i < heights.length; i += 501) {
      const easting = raster.west + ((i % raster.cols) + 0.5) * raster.cellWidth;
      const northing = raster.north - (Math.floor(i / raster.cols) + 0.5) * raster.cellHeight;
      const [x, y] = local.forward(...utm.inverse(easting, northing));
      off.push((heights[i] as number) - heightAt(x, y));
    }
    const rms = Math.sqrt(off.reduce((sum, d) => sum + d * d, 0) / off.length);
    expect(rms).toBeGreaterThan(0.01);
    expect(rms).toBeLessThan(0.05);
  });
});
