import {execFileSync} from "node:child_process";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {unzipSync} from "fflate";
import {afterAll, beforeAll, describe, expect, test} from "vitest";
import type {Comparison} from "../../src/compare/comparison.ts";
import {type LocalFrame, multiPolygonToPlane} from "../../src/geo/frame.ts";
import {geodesicAreaM2} from "../../src/geo/geodesic.ts";
import {coverageIsValid} from "../../src/geo/geos.ts";
import {perimeterM} from "../../src/geo/measure.ts";
import type {LonLatMultiPolygon, MultiPolygon} from "../../src/geo/shapes.ts";
import type {Job} from "../../src/pipeline/job.ts";
import type {RunResult} from "../../src/pipeline/run.ts";
import {rateColumn} from "../../src/pipeline/to-features.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {metres} from "../../src/units/quantity.ts";
import {jsonOf, runJobFile} from "../jobs/run-job.ts";
import {type GdalFeature, gdalFeatures, gdalVersion, ogrinfo, polygonsOf, systemPython} from "./gdal.ts";

// What another program gets out of our files: GDAL opens every polygon file of both sample jobs.

/** Corners are rounded to 9 decimals of a degree, 0.08 mm at most: an edge that moves by that sweeps this much. */
const CORNER_M = 1e-4;
const HAND_OVER: NonNullable<Job["handOver"]> = {
  formats: ["geojson", "shapefile", "geopackage"],
  task: {cell: metres(10), units: "us", edition: 4},
  folder: false,
  paper: "letter",
};
const STRATEGIES = ["whole-field", "grid", "zone"] as const;

console.log(gdalVersion());

describe.each(["millrace", "kiln-forty"])("the files of %s", (name) => {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-outputs-"));
  let run: RunResult;

  beforeAll(async () => {
    run = await runJobFile(`sample-data/${name}/job.json`, (job) => ({...job, handOver: HAND_OVER}));
    for (const [file, bytes] of run.outputs) writeFileSync(join(folder, file), bytes);
  });
  afterAll(() => rmSync(folder, {recursive: true, force: true}));

  const read = (file: string): GdalFeature[] => gdalFeatures(join(folder, file));
  const ours = (strategy: (typeof STRATEGIES)[number]) => {
    const found = run.strategies.find(({plan}) => plan.strategy === strategy);
    if (!found) throw new Error(`the run has no strategy ${strategy}`);
    return found;
  };

  /** Same count, each polygon's geodesic area, validity. */
  function expectShapes(
    found: readonly GdalFeature[],
    shapes: readonly MultiPolygon[],
    areas: readonly number[],
  ): void {
    expect(found).toHaveLength(shapes.length);
    found.forEach((feature, i) => {
      expect(feature.valid).toBe(true);
      const area = areas[i] as number;
      const allowed = 1e-6 * area + CORNER_M * perimeterM(shapes[i] as MultiPolygon);
      expect(Math.abs(geodesicAreaM2(polygonsOf(feature)) - area)).toBeLessThanOrEqual(allowed);
    });
  }

  /** Together they tile the field: no gap, no overlap, no lost square metre. */
  function expectCoverage(found: readonly GdalFeature[]): void {
    const parts = found.flatMap((feature) => multiPolygonToPlane(run.field.frame, polygonsOf(feature)));
    expect(coverageIsValid(parts, 0.1)).toBe(true);
    const total = found.reduce((sum, feature) => sum + geodesicAreaM2(polygonsOf(feature)), 0);
    const allowed = 1e-6 * run.field.area + CORNER_M * perimeterM(run.field.outline);
    expect(Math.abs(total - run.field.area)).toBeLessThanOrEqual(allowed);
  }

  test("GDAL reads the zones: count, areas, validity, ring order, and they tile the field", () => {
    const zones = run.zoneMap?.zones ?? [];
    const found = read("zones.geojson");
    expect(zones.length).toBeGreaterThan(1);
    expectShapes(
      found,
      zones.map(({shape}) => shape),
      zones.map(({area}) => area),
    );
    expectRingOrder(found);
    expectCoverage(found);
  });

  test.each(STRATEGIES)("GDAL reads the sampling units of the %s plan, and they tile the field", (strategy) => {
    const {units} = ours(strategy).plan;
    const found = read(`plan-${strategy}-units.geojson`);
    expectShapes(
      found,
      units.map(({shape}) => shape),
      units.map(({area}) => area),
    );
    expect(found.map(({properties}) => properties.sample)).toEqual(units.map(({id}) => id));
    expectRingOrder(found);
    expectCoverage(found);
  });

  test.each(STRATEGIES)("GDAL reads every core of the %s plan", (strategy) => {
    const cores = ours(strategy).plan.units.flatMap(({id, cores}) => cores.map(({number}) => [id, number]));
    const found = read(`plan-${strategy}-cores.geojson`);
    expect(found.map(({properties}) => [properties.sample, properties.core])).toEqual(cores);
  });

  describe.each(STRATEGIES)("rates of the %s strategy", (strategy) => {
    test.each(["geojson", "zip", "gpkg"])(
      "GDAL reads the %s: polygons, areas, units and rates as decided",
      (ending) => {
        const {prescriptions} = ours(strategy);
        const [first] = prescriptions;
        const polygons = first?.polygons ?? [];
        const found = read(`rates-${strategy}.${ending}`);
        expectShapes(
          found,
          polygons.map(({polygon}) => [polygon]),
          polygons.map(({area}) => area),
        );
        expect(found.map(({properties}) => properties.UNIT)).toEqual(polygons.map(({unit}) => unit));
        const gdalAreas = gdalAreasM2(join(folder, `rates-${strategy}.${ending}`), run.field.frame);
        polygons.forEach(({polygon, area}, i) => {
          const allowed = 1e-6 * area + CORNER_M * perimeterM([polygon]);
          expect(Math.abs((gdalAreas[i] as number) - area)).toBeLessThanOrEqual(allowed);
        });
        expect(prescriptions).toHaveLength(2);
        for (const {product, polygons: decided} of prescriptions) {
          expect(found.map(({properties}) => properties[rateColumn(product.code)])).toEqual(
            decided.map(({rateLbPerAcre}) => rateLbPerAcre),
          );
        }
        expectCoverage(found);
      },
    );

    test.each(["zip", "gpkg", "geojson"])(
      "GDAL sees polygons on WGS 84 in the %s, and nothing to warn of",
      (ending) => {
        const text = ogrinfo(join(folder, `rates-${strategy}.${ending}`));
        expect(text).toMatch(/Geometry: .*Polygon/);
        expect(text).toContain("WGS 84");
        expect(text).not.toMatch(/warning|error/i);
      },
    );

    test("the GeoPackage conforms to the standard, by the validator that comes with GDAL", () => {
      const file = join(folder, `rates-${strategy}.gpkg`);
      // It ends with another code than 0, and so throws, at the first rule that is broken.
      execFileSync(systemPython(), ["-m", "osgeo_utils.samples.validate_gpkg", file], {stdio: "pipe"});
    });

    test("outer rings run counter-clockwise in the GeoJSON and clockwise in the shapefile", () => {
      expectRingOrder(read(`rates-${strategy}.geojson`));
      // GDAL turns rings as it reads: the order in the file is read off its bytes.
      const zip = unzipSync(run.outputs.get(`rates-${strategy}.zip`) as Uint8Array);
      const shp = Object.entries(zip).find(([member]) => member.endsWith(".shp"))?.[1] as Uint8Array;
      const records = shpRings(shp);
      expect(records).toHaveLength(ours(strategy).prescriptions[0]?.polygons.length ?? 0);
      for (const rings of records) {
        rings.forEach((ring, i) => {
          expect(Math.sign(signedArea(ring))).toBe(i === 0 ? -1 : 1);
        });
      }
    });

    test("area times rate, as GDAL reads every file, is the product total of the ledger within 0.01 %", () => {
      // Nothing of ours stands between the file and the sum.
      const {comparison} = jsonOf(run, "comparison.json") as {comparison: Comparison};
      const products = comparison.rows.find((row) => row.strategy === strategy)?.products ?? [];
      expect(products).toHaveLength(2);
      // A product may rightly come to nothing everywhere; not both.
      expect(Math.max(...products.map(({totalLb}) => totalLb))).toBeGreaterThan(0);
      for (const ending of ["geojson", "zip", "gpkg"]) {
        const file = `rates-${strategy}.${ending}`;
        const areas = gdalAreasM2(join(folder, file), run.field.frame);
        const found = read(file);
        expect(areas).toHaveLength(found.length);
        for (const {code, totalLb} of products) {
          const rates = found.map(({properties}) => properties[rateColumn(code)] as number);
          const spread = areas.reduce(
            (sum, area, i) => sum + (area / SQUARE_METRES_PER_ACRE) * (rates[i] as number),
            0,
          );
          expect(Math.abs(spread - totalLb)).toBeLessThanOrEqual(1e-4 * totalLb);
        }
      }
    });
  });
});

/**
 * Areas by GDAL and PROJ alone: each polygon in the Lambert equal-area projection about the field. Straight lines there
 * stand in for geodesics, which over a field's edges changes areas by less than one in ten million.
 */
function gdalAreasM2(path: string, {lon, lat}: LocalFrame): number[] {
  const script = `
import json, sys
from osgeo import ogr, osr
ogr.UseExceptions()
osr.UseExceptions()
degrees = osr.SpatialReference()
degrees.ImportFromEPSG(4326)
degrees.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
plane = osr.SpatialReference()
plane.ImportFromProj4("+proj=laea +lat_0=${lat} +lon_0=${lon} +datum=WGS84 +units=m")
turn = osr.CoordinateTransformation(degrees, plane)
source = ogr.Open(sys.argv[1])
areas = []
for feature in source.GetLayer(0):
    geometry = feature.GetGeometryRef().Clone()
    geometry.Transform(turn)
    areas.append(geometry.GetArea())
print(json.dumps(areas))
`;
  const source = path.endsWith(".zip") ? `/vsizip/${path}` : path;
  return JSON.parse(execFileSync(systemPython(), ["-c", script, source], {encoding: "utf8"})) as number[];
}

/** RFC 7946: outer rings counter-clockwise, holes clockwise. GDAL hands GeoJSON rings on as they stand. */
function expectRingOrder(found: readonly GdalFeature[]): void {
  for (const feature of found) {
    for (const polygon of polygonsOf(feature)) {
      polygon.forEach((ring, i) => {
        expect(Math.sign(signedArea(ring))).toBe(i === 0 ? 1 : -1);
      });
    }
  }
}

/** Square degrees, positive when counter-clockwise. */
function signedArea(ring: LonLatMultiPolygon[number][number]): number {
  // Taken from the first corner: far from zero the products would cancel.
  const [lon0, lat0] = ring[0] as readonly [number, number];
  let twice = 0;
  for (let i = 0; i + 1 < ring.length; i++) {
    const [a, b] = ring[i] as readonly [number, number];
    const [c, d] = ring[i + 1] as readonly [number, number];
    twice += (a - lon0) * (d - lat0) - (c - lon0) * (b - lat0);
  }
  return twice / 2;
}

/** Rings of every record, in the order of the bytes: ESRI Shapefile Technical Description, 1998, polygon record. */
function shpRings(shp: Uint8Array): (readonly (readonly [number, number])[])[][] {
  const view = new DataView(shp.buffer, shp.byteOffset, shp.byteLength);
  const records: [number, number][][][] = [];
  for (let at = 100; at < shp.length; ) {
    const bytes = 2 * view.getInt32(at + 4);
    const content = at + 8;
    expect(view.getInt32(content, true)).toBe(5);
    const parts = view.getInt32(content + 36, true);
    const points = view.getInt32(content + 40, true);
    const starts = Array.from({length: parts}, (_, i) => view.getInt32(content + 44 + 4 * i, true));
    const xy = content + 44 + 4 * parts;
    records.push(
      starts.map((start, i) =>
        Array.from({length: (starts[i + 1] ?? points) - start}, (_, k): [number, number] => [
          view.getFloat64(xy + 16 * (start + k), true),
          view.getFloat64(xy + 16 * (start + k) + 8, true),
        ]),
      ),
    );
    at = content + bytes;
  }
  return records;
}
