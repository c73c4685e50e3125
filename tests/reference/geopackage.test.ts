import {execFileSync} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {listGeoPackage, readGeoPackage} from "../../src/formats/geopackage/read-geopackage.ts";
import type {SqliteHost} from "../../src/formats/geopackage/sqlite.ts";
import type {GeoPackageTable} from "../../src/formats/geopackage/tables.ts";
import {writeGeoPackage} from "../../src/formats/geopackage/write-geopackage.ts";
import {writeGeoJson} from "../../src/formats/write-geojson.ts";
import type {Feature, FeatureSet} from "../../src/geo/features.ts";
import type {LonLatPolygon} from "../../src/geo/shapes.ts";
import {nodeHost} from "../formats/geopackage/host.ts";
import {box} from "../formats/iso11783/plans.ts";
import {gdalFeatures, gdalVersion, ogrinfo, polygonsOf, systemPython} from "./gdal.ts";

// GDAL reads what we write and writes what we read; its GeoPackage validator checks the file against the standard.

const folder = mkdtempSync(join(tmpdir(), "loamwright-gpkg-"));
afterAll(() => rmSync(folder, {recursive: true, force: true}));
let host: SqliteHost;
beforeAll(async () => {
  host = await nodeHost();
  console.log(`compared with ${gdalVersion()}`);
});

const hole = box(-92.997, 42.003, -92.993, 42.007)[0]?.toReversed() ?? [];
const holed: LonLatPolygon = [...box(-93, 42, -92.99, 42.01), hole];
const zones: FeatureSet = {
  name: "zones",
  features: [
    {geometry: {type: "Polygon", coordinates: holed}, properties: {zone: 1, name: "Höhe", rate: 180.5, limed: true}},
    {
      geometry: {type: "MultiPolygon", coordinates: [box(-92.98, 42, -92.97, 42.01), box(-92.96, 42, -92.95, 42.01)]},
      properties: {zone: 2, name: null, rate: 200, limed: false},
    },
  ],
};
const tables: GeoPackageTable[] = [
  zones,
  {
    name: "Soil samples",
    columns: [
      {name: "id", type: "TEXT"},
      {name: "pulled", type: "DATE"},
      {name: "read", type: "DATETIME"},
    ],
    features: [
      {
        geometry: {type: "Point", coordinates: [-92.995, 42.005]},
        properties: {id: "007", pulled: "2026-04-15", read: "2026-04-20T08:00:00.000Z"},
      },
    ],
  },
  {
    name: "route",
    features: [
      {
        geometry: {
          type: "LineString",
          coordinates: [
            [-93, 42],
            [-92.99, 42.01],
          ],
        },
        properties: {},
      },
    ],
  },
  {
    name: "mixed",
    features: [...zones.features, {geometry: {type: "Point", coordinates: [-93, 42]}, properties: {zone: 3}}],
  },
  {name: "nothing", features: []},
  {name: "settings", rows: [{key: "seed", value: "1"}]},
];

function write(name: string, ...content: GeoPackageTable[]): string {
  const path = join(folder, name);
  writeFileSync(path, writeGeoPackage(host, content).value);
  return path;
}

/** Exit code and words of the validator that comes with GDAL. */
function validate(path: string): {code: number; says: string} {
  try {
    return {
      code: 0,
      says: execFileSync(systemPython(), ["-m", "osgeo_utils.samples.validate_gpkg", path], {
        encoding: "utf8",
        stdio: "pipe",
      }),
    };
  } catch (error) {
    const {status, stdout, stderr} = error as {status: number; stdout: string; stderr: string};
    return {code: status, says: stdout + stderr};
  }
}

/** One statement by the SQLite of Debian's Python. */
function sql(path: string, statement: string): void {
  const script =
    "import sqlite3, sys; c = sqlite3.connect(sys.argv[1]); c.execute(sys.argv[2]).fetchall(); c.commit(); c.close()";
  execFileSync(systemPython(), ["-c", script, path, statement]);
}

describe("our GeoPackage in GDAL's hands", () => {
  it("conforms to the standard, with every kind of table in it", () => {
    expect(validate(write("all.gpkg", ...tables))).toMatchObject({code: 0});
  });

  it("is checked by a validator that would notice", () => {
    const path = write("bad.gpkg", zones);
    sql(path, "UPDATE gpkg_geometry_columns SET geometry_type_name = 'POLYGON'");
    expect(validate(path).code).not.toBe(0);
  });

  it("holds the same shapes and attributes", () => {
    const [first, second] = gdalFeatures(write("zones.gpkg", zones));
    expect(first?.properties).toEqual({zone: 1, name: "Höhe", rate: 180.5, limed: true});
    expect(second?.properties).toEqual({zone: 2, name: null, rate: 200, limed: false});
    expect(first && polygonsOf(first)).toEqual([holed]);
    expect(second && polygonsOf(second)).toEqual(zones.features[1]?.geometry.coordinates);
    expect([first?.valid, second?.valid]).toEqual([true, true]);
    // 1e-4 square degrees less the hole's 1.6e-5; two squares of 1e-4.
    expect(first?.degreeArea).toBeCloseTo(8.4e-5, 12);
    expect(second?.degreeArea).toBeCloseTo(2e-4, 12);
  });

  it("shows its tables, types, extent and coordinate system", () => {
    const text = ogrinfo(write("all.gpkg", ...tables));
    expect(text).not.toMatch(/warning|error/i);
    expect(text).toMatch(
      /Layer name: zones\s[\s\S]*?Geometry: Multi Polygon\s+Feature Count: 2\s+Extent: \(-93\.000000, 42\.000000\) - \(-92\.950000, 42\.010000\)/,
    );
    expect(text).toContain("pulled: Date (0.0)");
    expect(text).toContain("read: DateTime (0.0)");
    expect(text).toContain("limed: Integer(Boolean) (0.0)");
    expect(text).toMatch(/Layer name: settings\s+Geometry: None/);
    expect(text.match(/ID\["EPSG",4326\]/g)).toHaveLength(5);
  });
});

describe("GDAL's GeoPackage in our hands", () => {
  const convert = (name: string, ...options: string[]): Uint8Array => {
    const source = join(folder, "source.geojson");
    writeFileSync(source, writeGeoJson(zones));
    const path = join(folder, name);
    execFileSync("ogr2ogr", ["-f", "GPKG", path, source, "-nln", "zones", "-nlt", "MULTIPOLYGON", ...options], {
      stdio: "pipe",
    });
    return new Uint8Array(readFileSync(path));
  };
  const expected = (feature: Feature): unknown =>
    feature.geometry.type === "Polygon" ? [feature.geometry.coordinates] : feature.geometry.coordinates;

  it("with a spatial index is read whole", async () => {
    const bytes = convert("gdal.gpkg", "-lco", "SPATIAL_INDEX=YES");
    expect(new TextDecoder("latin1").decode(bytes)).toContain("rtree_zones_geom");
    const {value, issues} = await readGeoPackage(host, bytes, "gdal.gpkg");
    expect(issues).toEqual([]);
    expect(value.features.map((feature) => feature.geometry.coordinates)).toEqual(zones.features.map(expected));
    expect(value.features.map((feature) => feature.properties)).toEqual(
      zones.features.map((feature) => feature.properties),
    );
    expect(listGeoPackage(host, bytes, "gdal.gpkg").value).toMatchObject([
      {name: "zones", kind: "features", geometry: "MULTIPOLYGON", count: 2},
    ]);
  });

  it.each(["EPSG:26915", "EPSG:32615", "EPSG:5070", "EPSG:3857"])(
    "in %s comes back to the same degrees",
    async (crs) => {
      const bytes = convert(`gdal-${crs.slice(5)}.gpkg`, "-t_srs", crs);
      const {value} = await readGeoPackage(host, bytes, "gdal.gpkg");
      value.features.forEach((feature, i) => {
        const given = (expected(zones.features[i] as Feature) as number[][][][]).flat(3);
        const got = (feature.geometry.coordinates as unknown as number[][][][]).flat(3);
        expect(got).toHaveLength(given.length);
        // A hundredth of a millimetre: two independent implementations of the projection, there and back.
        for (const [k, degrees] of got.entries()) expect(Math.abs(degrees - (given[k] as number))).toBeLessThan(1e-10);
      });
    },
  );

  it("with heights loses them with a note", async () => {
    const {value, issues} = await readGeoPackage(host, convert("gdal-z.gpkg", "-dim", "XYZ"), "gdal.gpkg");
    expect(issues.map((issue) => issue.code)).toEqual(["geopackage/third-dimension"]);
    expect(value.features[0]?.geometry.coordinates).toEqual([holed]);
  });

  it("left in write-ahead mode by SQLite itself is read with a note", async () => {
    convert("gdal-wal.gpkg");
    const path = join(folder, "gdal-wal.gpkg");
    sql(path, "PRAGMA journal_mode = WAL");
    const {value, issues} = await readGeoPackage(host, new Uint8Array(readFileSync(path)), "gdal.gpkg");
    expect(value.features).toHaveLength(2);
    expect(issues.map((issue) => issue.code)).toEqual(["geopackage/write-ahead"]);
  });

  it("of the older and newer editions is read", async () => {
    for (const version of ["1.0", "1.1", "1.2", "1.3"]) {
      const bytes = convert(`gdal-${version}.gpkg`, "-dsco", `VERSION=${version}`);
      expect((await readGeoPackage(host, bytes, "gdal.gpkg")).value.features).toHaveLength(2);
    }
  });
});
