import {beforeAll, describe, expect, it} from "vitest";
import {listGeoPackage, readGeoPackage, readGeoPackageRows} from "../../../src/formats/geopackage/read-geopackage.ts";
import type {SqliteHost, SqlRow} from "../../../src/formats/geopackage/sqlite.ts";
import type {FeatureTable, GeoPackageTable} from "../../../src/formats/geopackage/tables.ts";
import {writeGeoPackage} from "../../../src/formats/geopackage/write-geopackage.ts";
import type {Feature} from "../../../src/geo/features.ts";
import {box, hex} from "../iso11783/plans.ts";
import {nodeHost} from "./host.ts";

let host: SqliteHost;
beforeAll(async () => {
  host = await nodeHost();
});

const hole = box(-92.997, 42.003, -92.993, 42.007)[0]?.toReversed() ?? [];
const zones: FeatureTable = {
  name: "Zones of Kiln Forty",
  description: "Management zones",
  features: [
    {
      geometry: {type: "Polygon", coordinates: [...box(-93, 42, -92.99, 42.01), hole]},
      properties: {zone: 1, name: "Höhe", rate: 180.5, limed: true},
    },
    {
      geometry: {type: "MultiPolygon", coordinates: [box(-92.98, 42, -92.97, 42.01)]},
      properties: {zone: 2, name: null, rate: 200, limed: false},
    },
  ],
};
const samples: FeatureTable = {
  name: "samples",
  columns: [
    {name: "id", type: "TEXT"},
    {name: "pulled", type: "DATE"},
    {name: "ph", type: "REAL"},
  ],
  features: [
    {geometry: {type: "Point", coordinates: [-92.995, 42.005]}, properties: {id: "007", pulled: "2026-04-15", ph: 6}},
    {
      geometry: {type: "Point", coordinates: [-92.994, 42.006]},
      properties: {id: "008", pulled: null, ph: Number.NaN, extra: 1},
    },
  ],
};
const settings: GeoPackageTable = {
  name: "Settings",
  rows: [
    {key: "seed", value: "1"},
    {key: "edition", value: 'a "b"'},
  ],
};

const write = (...tables: GeoPackageTable[]) => writeGeoPackage(host, tables);
const query = (bytes: Uint8Array, sql: string): SqlRow[] =>
  host.scratch(bytes, (path) => {
    const db = host.engine.open(path);
    const rows = db.all(sql);
    db.close();
    return rows;
  }).result;

describe("a GeoPackage as it is written", () => {
  it("names itself and its edition in the header, and leaves no journal mode behind", () => {
    const {value} = write(zones);
    expect(new TextDecoder().decode(value.subarray(0, 16))).toBe("SQLite format 3\0");
    expect(hex(value.subarray(60, 64))).toBe("00 00 28 3c"); // 10300
    expect(hex(value.subarray(68, 72))).toBe("47 50 4b 47"); // "GPKG"
    expect(hex(value.subarray(18, 20))).toBe("01 01"); // rollback journal, not write-ahead log
  });

  it("is the same bytes every time", () => {
    const once = write(zones, samples, settings).value;
    expect(Buffer.compare(Buffer.from(once), Buffer.from(write(zones, samples, settings).value))).toBe(0);
  });

  it("lists its tables with type, extent and a time stamp of milliseconds", () => {
    const {value} = write(zones, samples, settings);
    expect(query(value, "SELECT * FROM gpkg_contents")).toEqual([
      {
        table_name: "zones_of_kiln_forty",
        data_type: "features",
        identifier: "Zones of Kiln Forty",
        description: "Management zones",
        last_change: "1980-01-01T00:00:00.000Z",
        min_x: -93,
        min_y: 42,
        max_x: -92.97,
        max_y: 42.01,
        srs_id: 4326,
      },
      {
        table_name: "samples",
        data_type: "features",
        identifier: "samples",
        description: "",
        last_change: "1980-01-01T00:00:00.000Z",
        min_x: -92.995,
        min_y: 42.005,
        max_x: -92.994,
        max_y: 42.006,
        srs_id: 4326,
      },
      {
        table_name: "settings",
        data_type: "attributes",
        identifier: "Settings",
        description: "",
        last_change: "1980-01-01T00:00:00.000Z",
        min_x: null,
        min_y: null,
        max_x: null,
        max_y: null,
        srs_id: null,
      },
    ]);
    expect(query(value, "SELECT srs_id, organization FROM gpkg_spatial_ref_sys ORDER BY srs_id")).toEqual([
      {srs_id: -1, organization: "NONE"},
      {srs_id: 0, organization: "NONE"},
      {srs_id: 4326, organization: "EPSG"},
    ]);
    expect(query(value, "PRAGMA integrity_check")).toEqual([{integrity_check: "ok"}]);
    expect(query(value, "PRAGMA foreign_key_check")).toEqual([]);
  });

  it("takes the time stamp it is given, in the one form that is allowed", () => {
    const lastChange = "2026-04-15T13:30:00.000Z";
    const {value} = writeGeoPackage(host, [samples], {lastChange});
    expect(query(value, "SELECT last_change FROM gpkg_contents")).toEqual([{last_change: lastChange}]);
    expect(() => writeGeoPackage(host, [samples], {lastChange: "2026-04-15 13:30:00"})).toThrow("no time stamp");
  });

  it("makes one kind of shape of polygons and multipolygons, and types columns by their values", () => {
    const {value} = write(zones);
    expect(query(value, "SELECT * FROM gpkg_geometry_columns")).toEqual([
      {
        table_name: "zones_of_kiln_forty",
        column_name: "geom",
        geometry_type_name: "MULTIPOLYGON",
        srs_id: 4326,
        z: 0,
        m: 0,
      },
    ]);
    expect(query(value, "SELECT name, type FROM pragma_table_info('zones_of_kiln_forty')")).toEqual([
      {name: "fid", type: "INTEGER"},
      {name: "geom", type: "MULTIPOLYGON"},
      {name: "zone", type: "INTEGER"},
      {name: "name", type: "TEXT"},
      {name: "rate", type: "REAL"},
      {name: "limed", type: "BOOLEAN"},
    ]);
  });

  it("keeps the columns it is given, with NaN as NULL", () => {
    const {value} = write(samples);
    expect(query(value, "SELECT fid, id, pulled, ph, typeof(ph) AS t FROM samples")).toEqual([
      {fid: 1, id: "007", pulled: "2026-04-15", ph: 6, t: "real"},
      {fid: 2, id: "008", pulled: null, ph: null, t: "null"},
    ]);
  });

  it("renames columns that would clash with the key or each other, and says so", () => {
    const at: Feature["geometry"] = {type: "Point", coordinates: [-93, 42]};
    const {value, issues} = write({
      name: "t",
      features: [{geometry: at, properties: {fid: 9, Geom: "x", P: 1, p: 2, "": 3, 'a"b': 4, "x\0y": 5}}],
    });
    expect(query(value, "SELECT name FROM pragma_table_info('t')").map((row) => row.name)).toEqual([
      "fid",
      "geom",
      "fid_2",
      "Geom_2",
      "P",
      "p_2",
      "column",
      'a"b',
      "xy",
    ]);
    expect(issues.map((issue) => issue.code)).toEqual(Array(5).fill("geopackage/column-renamed"));
  });

  it("keeps table names apart, and away from those the format needs", () => {
    const empty = (name: string) => ({name, rows: [{a: 1}]});
    const {value} = write(
      empty("Yield 2024"),
      empty("yield-2024"),
      empty("2024"),
      empty("gpkg_contents"),
      empty("Äcker"),
      empty("畑"),
      empty("Yield 2024"),
    );
    expect(query(value, "SELECT table_name, identifier FROM gpkg_contents").map(Object.values)).toEqual([
      ["yield_2024", "Yield 2024"],
      ["yield_2024_2", "yield-2024"],
      ["table_2024", "2024"],
      ["table_gpkg_contents", "gpkg_contents"],
      ["acker", "Äcker"],
      ["table_1", "畑"],
      ["yield_2024_3", "Yield 2024 2"],
    ]);
  });

  it("may hold a layer without shapes in it", () => {
    const {value} = write({name: "none", features: []});
    expect(listGeoPackage(host, value, "x.gpkg").value).toEqual([
      {name: "none", title: "none", kind: "features", geometry: "GEOMETRY", count: 0, columns: []},
    ]);
  });

  it("refuses values that do not fit the columns a caller chose", () => {
    const column = (type: "INTEGER" | "DATE" | "BOOLEAN" | "REAL", value: string | number) => () =>
      write({name: "t", columns: [{name: "c", type}], rows: [{c: value}]});
    expect(column("INTEGER", 1.5)).toThrow("column c is INTEGER and cannot hold 1.5");
    expect(column("DATE", "15.4.2026")).toThrow("cannot hold");
    expect(column("BOOLEAN", 1)).toThrow("cannot hold");
    expect(column("REAL", Infinity)).toThrow("cannot hold");
  });

  it("leaves nothing behind when it fails", () => {
    const paths: string[] = [];
    const watching: SqliteHost = {
      engine: host.engine,
      scratch: (bytes, work) => host.scratch(bytes, (path) => work(paths[paths.push(path) - 1] as string)),
    };
    expect(() =>
      writeGeoPackage(watching, [{name: "t", columns: [{name: "c", type: "REAL"}], rows: [{c: "x"}]}]),
    ).toThrow();
    expect(() => host.engine.open(paths[0] as string, {readOnly: true})).toThrow();
  });
});

describe("a GeoPackage read back", () => {
  it("has the same shapes, attributes and types", async () => {
    const {value} = write(zones, samples, settings);
    const read = await readGeoPackage(host, value, "x.gpkg", {layer: "zones of kiln forty"});
    expect(read.issues).toEqual([]);
    expect(read.value).toEqual({
      name: "Zones of Kiln Forty",
      features: [
        {
          id: "1",
          geometry: {type: "MultiPolygon", coordinates: [[...box(-93, 42, -92.99, 42.01), hole]]},
          properties: zones.features[0]?.properties,
        },
        {id: "2", geometry: zones.features[1]?.geometry, properties: zones.features[1]?.properties},
      ],
    });
    expect((await readGeoPackage(host, value, "x.gpkg", {layer: "samples"})).value.features[0]).toEqual({
      ...samples.features[0],
      id: "1",
    });
    expect(readGeoPackageRows(host, value, "x.gpkg").value).toEqual(settings.rows);
  });

  it("has coordinates as every other file of a hand-over has them, wound one way", async () => {
    const ring = box(-93.0000000004, 42, -92.99, 42.01).map((line) => line.toReversed());
    const {value} = write({name: "t", features: [{geometry: {type: "Polygon", coordinates: ring}, properties: {}}]});
    expect((await readGeoPackage(host, value, "x.gpkg")).value.features[0]?.geometry.coordinates).toEqual([
      [
        [-93, 42],
        [-92.99, 42],
        [-92.99, 42.01],
        [-93, 42.01],
        [-93, 42],
      ],
    ]);
  });

  it("takes 26,000 cells in seconds", async () => {
    const features = Array.from({length: 26_000}, (_, i): Feature => {
      const west = -93 + (i % 160) * 1e-4;
      const south = 42 + Math.floor(i / 160) * 1e-4;
      return {
        geometry: {type: "Polygon", coordinates: box(west, south, west + 1e-4, south + 1e-4)},
        properties: {cell: i},
      };
    });
    const {value} = write({name: "cells", features});
    const read = await readGeoPackage(host, value, "x.gpkg");
    expect(read.value.features).toHaveLength(26_000);
    expect(read.value.features[25_999]?.properties.cell).toBe(25_999);
  }, 20_000);
});
