import {existsSync, readdirSync, readFileSync} from "node:fs";
import {describe, expect, it} from "vitest";
import {readGeoJson} from "../../src/formats/read-geojson.ts";
import {readGeoTiff} from "../../src/formats/read-geotiff.ts";
import {readPoints} from "../../src/formats/read-points.ts";
import {readShapefile} from "../../src/formats/read-shapefile.ts";
import {readTable} from "../../src/formats/read-table.ts";
import {crsFromEpsg, transformBetween, WGS84} from "../../src/geo/crs.ts";
import type {FeatureSet} from "../../src/geo/features.ts";
import type {Raster} from "../../src/grid/raster.ts";

// Files other programs made. Where numbers are expected, GDAL 3.6.2 (ogrinfo, gdalinfo -stats) printed them.

const SHARED = "../shared/data";
const bytes = (path: string): Uint8Array => new Uint8Array(readFileSync(`${SHARED}/${path}`));
const inFolder = (folder: string): string[] => readdirSync(`${SHARED}/${folder}`).sort();
const filesOf = (folder: string): Map<string, Uint8Array> =>
  new Map(inFolder(folder).map((name) => [name, bytes(`${folder}/${name}`)]));

describe.skipIf(!existsSync(SHARED))("open sample files (skipped: no shared data)", () => {
  describe("GeoJSON", () => {
    const documents = (folder: string): string[] =>
      inFolder(`geojson/${folder}`).flatMap((kind) =>
        inFolder(`geojson/${folder}/${kind}`).map((name) => `geojson/${folder}/${kind}/${name}`),
      );

    it("reads every valid document", async () => {
      const all = documents("schema_valid");
      expect(all.length).toBeGreaterThan(20);
      for (const path of all) {
        const {value} = await readGeoJson(bytes(path), path);
        if (!/empty|null-geometry/.test(path)) expect([path, value.features.length > 0]).toEqual([path, true]);
      }
      expect((await readGeoJson(bytes("geojson/rio_issue1446.geojson"), "x")).value.features.length).toBeGreaterThan(0);
    });

    it("refuses every invalid one with its place", async () => {
      const all = documents("schema_invalid");
      expect(all.length).toBeGreaterThan(30);
      for (const path of all) {
        const error = await readGeoJson(bytes(path), path).then(
          () => undefined,
          (e: unknown) => e as {code: string; message: string},
        );
        expect([path, error?.code]).toEqual([path, "geojson/not-valid"]);
        expect(error?.message).toMatch(/is |are /);
      }
    });

    it("reads a soil survey and a field boundary", async () => {
      const survey = await readGeoJson(bytes("soil_survey/co671_mapunits.geojson"), "survey");
      expect(survey.value.features).toHaveLength(22);
      const boundary = await readGeoJson(bytes("cook_farm/boundary.geojson"), "boundary");
      expect(boundary.value.features.length).toBeGreaterThan(0);
    });
  });

  describe("shapefiles", () => {
    /** The sample's own JSON, winding and empty attributes aside. */
    const expected = (json: string): unknown[] =>
      (JSON.parse(json) as {features: {geometry: unknown; properties: Record<string, unknown>}[]}).features
        .filter(({geometry}) => geometry !== null)
        .map(({geometry, properties}) => ({geometry: unwound(geometry), properties: isoDates(properties)}));
    const found = (set: FeatureSet): unknown[] =>
      set.features.map(({geometry, properties}) => ({
        geometry: unwound(geometry),
        properties: Object.fromEntries(Object.entries(properties).filter(([, value]) => value !== null)),
      }));

    it("read as their authors say", () => {
      const files = filesOf("shapefile/mini_bsd");
      const names = [...files.keys()].filter((name) => name.endsWith(".shp") && name !== "empty.shp");
      expect(names.length).toBeGreaterThan(15);
      for (const name of names) {
        const json = new TextDecoder().decode(files.get(name.replace(".shp", ".json")));
        const options = files.has(name.replace(".shp", ".prj")) ? {} : {crs: WGS84};
        const {value} = readShapefile(files, name, options);
        // The samples leave out the running number that stands for a table without columns.
        const plain = found(value).map((f) => ({...(f as object), properties: withoutFid(f as Feature)}));
        expect([name, plain]).toEqual([name, expected(json)]);
      }
      const empty = new Map([...files].filter(([name]) => name.startsWith("empty.")));
      expect(readShapefile(empty, "empty.shp").value.features).toEqual([]);
    });

    it("read as GDAL reads them", async () => {
      const files = filesOf("shapefile/shapelib");
      const counties = readShapefile(files, "CoHI_GCS12.shp").value;
      expect(counties.features).toHaveLength(4);
      expect(extent(counties)).toEqual([-160.555771, 18.917466, -154.809379, 22.23317]);
      expect(counties.features[0]?.properties).toMatchObject({atlas_stco: "15001", atlas_area: 4028.437, cntyn: 1});
      const utm = await crsFromEpsg(32615);
      expect(readShapefile(files, "csah.shp", {crs: utm}).value.features).toHaveLength(100); // and 24 null shapes
      const california = await crsFromEpsg(2227); // any system in feet: only counts are compared
      expect(readShapefile(files, "brklinz.shp", {crs: california}).value.features).toHaveLength(122);
      expect(readShapefile(files, "masspntz.shp", {crs: california}).value.features).toHaveLength(815);
      expect(readShapefile(files, "multipnt.shp", {crs: utm}).value.features).toHaveLength(1);
      // Its index points twice at one record, and surfaces are no shapes of ours.
      expect(() => readShapefile(files, "3dpoints.shp", {crs: WGS84})).toThrow(
        expect.objectContaining({code: "shp/index"}),
      );
      expect(() => readShapefile(files, "multipatch.shp", {crs: WGS84})).toThrow(
        expect.objectContaining({code: "shp/type"}),
      );
    });

    it("of one farm lie on its boundary file", async () => {
      const boundary = extent((await readGeoJson(bytes("cook_farm/boundary.geojson"), "b")).value);
      const strips = readShapefile(filesOf("cook_farm/strips_shp"), "strips.shp").value;
      const soils = readShapefile(filesOf("cook_farm/grids/soil_mapunits_shp"), "soil_mapunits.shp").value;
      expect(strips.features).toHaveLength(25);
      expect(soils.features).toHaveLength(16);
      for (const set of [strips, soils]) {
        // Within 0.003 degree, about 300 m: a wrong zone or datum is off by far more.
        extent(set).forEach((side, i) => {
          expect(Math.abs(side - (boundary[i] as number))).toBeLessThan(0.003);
        });
      }
    });
  });

  describe("tables", () => {
    it("of raw yield logs", () => {
      const corn = readTable(bytes("minnesota_corn/yield_log_2011.csv"), "corn").value;
      expect(corn.rows).toHaveLength(4949);
      const {value, issues} = readPoints(corn, {
        x: "lon",
        y: "lat",
        columns: {
          flow: {column: "flow_lb_s", as: "mass flow", unit: "lb/s"},
          distance: {column: "distance_in", as: "length", unit: "in"},
          moisture: {column: "moisture_pct", as: "percent", unit: "%"},
        },
      });
      expect(issues).toEqual([]);
      expect(value.numbers.flow?.[0]).toBeCloseTo(16.54 * 0.45359237, 12);
      expect(value.numbers.distance?.[0]).toBeCloseTo(116 * 0.0254, 12);
      expect(value.lon[0]).toBe(-93.97842);
    });

    it("in projected coordinates that fall on the same field as its longitudes", async () => {
      const read = (name: string) => readTable(bytes(`montana_wheat/${name}`), name).value;
      const yields = readPoints(read("yield_2018.csv"), {x: "lon", y: "lat", columns: {}}).value;
      const crs = await crsFromEpsg(32612);
      const applied = readPoints(read("n_applied_2018_utm12n.csv"), {x: "x", y: "y", crs, columns: {}}).value;
      const mean = (values: Float64Array): number => values.reduce((sum, v) => sum + v, 0) / values.length;
      expect(Math.abs(mean(yields.lon) - mean(applied.lon))).toBeLessThan(0.002);
      expect(Math.abs(mean(yields.lat) - mean(applied.lat))).toBeLessThan(0.002);
    });
  });

  describe("rasters", () => {
    it.each<[path: string, cols: number, rows: number, valid: number, least: number, most: number]>([
      ["cook_farm/grids/dem_10m.tif", 100, 58, 3865, 773.785, 817.658],
      ["cook_farm/grids/mapunit_10m.tif", 100, 58, 3865, 1, 6],
      ["dem/nrw_dom1_1m_400x400.tif", 400, 400, 160_000, 113.04, 167.74],
      ["geotiff/LisbonElevation.tif", 547, 421, 230_287, -6.829, 217.941],
      ["geotiff/rio_all-nodata.tif", 71, 2475, 0, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY],
    ])("%s", async (path, cols, rows, valid, least, most) => {
      const {value} = await readGeoTiff(bytes(path), path);
      const numbers = value.values.filter((v) => !Number.isNaN(v));
      expect([value.cols, value.rows, numbers.length]).toEqual([cols, rows, valid]);
      expect(round3(numbers.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY))).toBe(least);
      expect(round3(numbers.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY))).toBe(most);
    });

    it("in a projection that only WKT describes", async () => {
      const {value} = await readGeoTiff(bytes("geotiff/rio_test_esri_wkt.tif"), "x");
      expect(value.crs.name).toBe("USA_Contiguous_Albers_Equal_Area_Conic_USGS_version");
      const [lon, lat] = transformBetween(value.crs.definition, WGS84.definition).forward(value.west, value.north);
      // gdalinfo, upper left: 96d10'36.46"W, 44d18'24.14"N
      expect(lon).toBeCloseTo(-(96 + 10 / 60 + 36.46 / 3600), 5);
      expect(lat).toBeCloseTo(44 + 18 / 60 + 24.14 / 3600, 5);
    });

    it.each([
      ["geotiff/rio_byte.tif", "crs/unknown-datum"], // NAD27
      ["geotiff/rio_cogeo.tif", "tif/picture"],
      ["geotiff/utm.tif", "tif/picture"], // a palette
      ["geotiff/rio_float32.tif", "tif/no-crs"],
      ["geotiff/rio_float_raster_with_nodata.tif", "tif/no-crs"], // a projection without code that is not supported
    ])("%s is refused: %s", async (path, code) => {
      await expect(readGeoTiff(bytes(path), path)).rejects.toMatchObject({name: "FieldError", code});
    });

    it("the same cells in a window as in the whole", async () => {
      const path = "cook_farm/grids/dem_10m.tif";
      const {value: whole} = await readGeoTiff(bytes(path), path);
      const within = {west: -117.085, south: 46.78, east: -117.083, north: 46.781};
      const {value: part} = await readGeoTiff(bytes(path), path, {within});
      expect(part.cols * part.rows).toBeLessThan(whole.cols * whole.rows);
      for (let row = 0; row < part.rows; row++) {
        for (let col = 0; col < part.cols; col++)
          expect(cellAt(whole, part, col, row)).toBe(part.values[row * part.cols + col]);
      }
    });
  });
});

interface Feature {
  readonly properties: Record<string, unknown>;
}

function withoutFid({properties}: Feature): Record<string, unknown> {
  const {FID, ...rest} = properties;
  return FID === undefined || Object.keys(rest).length > 0 ? properties : rest;
}

/** Dates as we write them: the samples keep eight digits. */
function isoDates(properties: Record<string, unknown>): Record<string, unknown> {
  return Object.fromEntries(
    Object.entries(properties)
      .filter(([key, value]) => value !== null && key !== "FID")
      .map(([key, value]) => [
        key,
        key === "date" ? String(value).replace(/^(\d{4})(\d\d)(\d\d)$/, "$1-$2-$3") : value,
      ]),
  );
}

/** Rings as sets of corners, so that neither start nor direction counts. */
function unwound(geometry: unknown): unknown {
  const {type, coordinates} = geometry as {type: string; coordinates: unknown};
  const ring = (corners: unknown): unknown => (corners as unknown[]).map((c) => JSON.stringify(c)).sort();
  if (type === "Polygon") return {type, coordinates: (coordinates as unknown[]).map(ring)};
  if (type === "MultiPolygon") return {type, coordinates: (coordinates as unknown[][]).map((part) => part.map(ring))};
  return {type, coordinates};
}

function extent(set: FeatureSet): number[] {
  const flat = set.features.flatMap(({geometry}) => (geometry.coordinates as unknown[]).flat(3)) as number[];
  const lons = flat.filter((_, i) => i % 2 === 0);
  const lats = flat.filter((_, i) => i % 2 === 1);
  const round6 = (v: number): number => Math.round(v * 1e6) / 1e6;
  return [Math.min(...lons), Math.min(...lats), Math.max(...lons), Math.max(...lats)].map(round6);
}

const round3 = (value: number): number => (Number.isFinite(value) ? Math.round(value * 1000) / 1000 : value);

function cellAt(whole: Raster, part: Raster, col: number, row: number): number | undefined {
  const left = Math.round((part.west - whole.west) / whole.cellWidth);
  const top = Math.round((whole.north - part.north) / whole.cellHeight);
  return whole.values[(top + row) * whole.cols + left + col];
}
