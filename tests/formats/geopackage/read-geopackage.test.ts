import {beforeAll, describe, expect, it} from "vitest";
import {listGeoPackage, readGeoPackage, readGeoPackageRows} from "../../../src/formats/geopackage/read-geopackage.ts";
import type {SqliteDatabase, SqliteHost, SqlValue} from "../../../src/formats/geopackage/sqlite.ts";
import {writeGeoPackage} from "../../../src/formats/geopackage/write-geopackage.ts";
import {crsFromEpsg} from "../../../src/geo/crs.ts";
import type {FeatureSet} from "../../../src/geo/features.ts";
import type {LonLat} from "../../../src/geo/shapes.ts";
import {box, bytes} from "../iso11783/plans.ts";
import {nodeHost} from "./host.ts";

let host: SqliteHost;
let sound: Uint8Array;
beforeAll(async () => {
  host = await nodeHost();
  sound = writeGeoPackage(host, [
    {
      name: "field",
      features: [{geometry: {type: "Polygon", coordinates: box(-93, 42, -92.99, 42.01)}, properties: {a: 1}}],
    },
  ]).value;
});

/** The sound file after somebody worked on it. */
const changed = (work: (db: SqliteDatabase) => void): Uint8Array =>
  host.scratch(sound, (path) => {
    const db = host.engine.open(path);
    work(db);
    db.close();
  }).bytes;
const read = (data: Uint8Array, options?: Parameters<typeof readGeoPackage>[3]) =>
  readGeoPackage(host, data, "x.gpkg", options);
const POINT = "01 01 00 00 00 00 00 00 00 00 40 57 c0 00 00 00 00 00 00 45 40";

describe("files of other programs", () => {
  it("with shapes that are missing, empty, solid or broken lose only those, and say so", async () => {
    const blobs: SqlValue[] = [
      null,
      bytes("47 50 00 11 e6 10 00 00 01 06 00 00 00 00 00 00 00"),
      bytes("47 50 00 01 e6 10 00 00 01 07 00 00 00 00 00 00 00"),
      bytes(
        "47 50 00 01 e6 10 00 00 01 e9 03 00 00 00 00 00 00 00 40 57 c0 00 00 00 00 00 00 45 40 00 00 00 00 00 00 f0 3f",
      ),
      bytes(`47 50 00 01 e6 10 00 00 ${POINT}`),
      "POINT(-93 42)",
    ];
    const file = changed((db) =>
      db.runAll(
        "INSERT INTO field (geom, a) VALUES (?, 2)",
        blobs.map((blob) => [blob]),
      ),
    );
    const {value, issues} = await read(file);
    expect(value.features.map(({id, geometry}) => [id, geometry.type])).toEqual([
      ["1", "Polygon"],
      ["5", "Point"],
      ["6", "Point"],
    ]);
    expect(issues.map(({code, severity, message}) => [code, severity, message])).toEqual([
      ["geopackage/no-geometry", "warning", "Left out for want of a shape: 2 features (2 and 3)."],
      ["geopackage/bad-geometry", "error", "Left out because the shape cannot be read: 2 features (4 and 7)."],
      ["geopackage/third-dimension", "note", "Dropped heights and other third numbers: feature 5."],
    ]);
  });

  it("with open, reversed and flat rings are put right", async () => {
    const ring = (...xy: number[]): string => {
      const data = new DataView(new ArrayBuffer(4 + xy.length * 8));
      data.setUint32(0, xy.length / 2, true);
      for (const [i, value] of xy.entries()) data.setFloat64(4 + i * 8, value, true);
      return Buffer.from(data.buffer).toString("hex").replace(/../g, "$& ");
    };
    const polygon = (...rings: string[]) =>
      bytes(`47 50 00 01 e6 10 00 00 01 03 00 00 00 0${rings.length} 00 00 00 ${rings.join(" ")}`.replace(/\s+/g, " "));
    const open = polygon(ring(-93, 42, -93, 43, -92, 43), ring(-92.9, 42.9, -92.8, 42.9, -92.9, 42.9));
    const flat = polygon(ring(-93, 42, -92, 43, -93, 42, -93, 42));
    const {value, issues} = await read(changed((db) => db.runAll("UPDATE field SET geom = ?", [[open]])));
    expect(value.features[0]?.geometry.coordinates).toEqual([
      [
        [-93, 42],
        [-92, 43],
        [-93, 43],
        [-93, 42],
      ],
    ]);
    expect(issues.map((issue) => issue.code)).toEqual(["geopackage/flat-ring", "geopackage/ring-closed"]);
    expect((await read(changed((db) => db.runAll("UPDATE field SET geom = ?", [[flat]])))).value.features).toEqual([]);
  });

  it("in other coordinates are brought to longitude and latitude", async () => {
    // EPSG:26915, NAD83 / UTM 15N: its central meridian is 93 W; 42 N is 4,649,776.2247 m (gdaltransform of GDAL 3.6.2).
    const utm = changed((db) => {
      db.run("INSERT INTO gpkg_spatial_ref_sys VALUES ('UTM 15N', 26915, 'epsg', 26915, 'undefined', NULL)");
      db.exec("UPDATE gpkg_geometry_columns SET srs_id = 26915");
      db.run("UPDATE field SET geom = ?", [pointBlob(500_000, 4_649_776.2247)]);
    });
    const {value, issues} = await read(utm);
    const [lon, lat] = firstPoint(value);
    // 1e-9 degrees is a tenth of a millimetre, as many digits as the northing has.
    expect(Math.abs(lon + 93)).toBeLessThan(1e-9);
    expect(Math.abs(lat - 42)).toBeLessThan(1e-9);
    expect(issues.map(({code, severity, place}) => [code, severity, place])).toEqual([
      ["crs/datum-near-wgs84", "note", {file: "x.gpkg"}],
    ]);
    const {value: forced} = await read(utm, {crs: await crsFromEpsg(26916)});
    expect(firstPoint(forced)[0]).toBeCloseTo(-87, 6);
  });

  it("with a coordinate system given only as text are read by it", async () => {
    const wkt =
      'PROJCS["x",GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",-93],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",0],UNIT["metre",1]]';
    for (const [organization, code] of [
      ["NONE", 1],
      ["EPSG", 32768],
    ] as const) {
      const file = changed((db) => {
        db.run("INSERT INTO gpkg_spatial_ref_sys VALUES ('own', 99999, ?, ?, ?, NULL)", [organization, code, wkt]);
        db.exec("UPDATE gpkg_geometry_columns SET srs_id = 99999");
        db.run("UPDATE field SET geom = ?", [pointBlob(500_000, 4_649_776.2247)]);
      });
      expect(firstPoint((await read(file)).value).map((degrees) => degrees.toFixed(7))).toEqual([
        "-93.0000000",
        "42.0000000",
      ]);
    }
  });

  it("with large whole numbers, blobs and odd column names keep what can be kept", async () => {
    const file = changed((db) => {
      db.exec(`ALTER TABLE field ADD COLUMN "__proto__" TEXT; ALTER TABLE field ADD COLUMN "key" TEXT;
        ALTER TABLE field ADD COLUMN photo BLOB; ALTER TABLE field ADD COLUMN big INTEGER; ALTER TABLE field ADD COLUMN yes BOOLEAN;
        UPDATE field SET "__proto__" = 'p', "key" = 'k', photo = x'00', big = 9007199254740993, yes = 1`);
    });
    const {value, issues} = await read(file);
    expect(Object.entries(value.features[0]?.properties ?? {})).toEqual([
      ["a", 1],
      ["__proto__", "p"],
      ["key", "k"],
      ["big", "9007199254740993"],
      ["yes", true],
    ]);
    expect(issues.map((issue) => issue.code)).toEqual(["geopackage/blob", "geopackage/large-number"]);
  });

  it("left in write-ahead mode are read as they stand, with a note", async () => {
    const wal = sound.slice();
    wal[18] = 2;
    wal[19] = 2;
    const {value, issues} = await read(wal);
    expect(value.features).toHaveLength(1);
    expect(issues.map(({code, severity}) => [code, severity])).toEqual([["geopackage/write-ahead", "note"]]);
    expect(wal[18]).toBe(2);
  });

  it("with several layers ask which one, and help with the name", async () => {
    const two = writeGeoPackage(host, [
      {name: "Zones", features: []},
      {name: "samples", features: []},
    ]).value;
    await expect(read(two)).rejects.toMatchObject({
      code: "geopackage/several",
      message: "x.gpkg holds 2 layers: zones, samples.",
      hint: 'Say which one in the job, as in "layer": "zones".',
    });
    await expect(read(two, {layer: "sample"})).rejects.toMatchObject({
      code: "geopackage/no-such-layer",
      hint: 'Did you mean "samples"?',
    });
    expect((await read(two, {layer: "ZONES"})).value.name).toBe("Zones");
    expect(() => readGeoPackageRows(host, two, "x.gpkg")).toThrow(expect.objectContaining({code: "geopackage/none"}));
  });

  it("are never changed", async () => {
    const before = sound.slice();
    await read(sound);
    expect(Buffer.compare(Buffer.from(sound), Buffer.from(before))).toBe(0);
  });
});

describe("files that are refused", () => {
  it.each([
    ["text", new TextEncoder().encode("hello"), "x.gpkg is not a GeoPackage (no database)."],
    ["nothing", new Uint8Array(0), "x.gpkg is not a GeoPackage (no database)."],
  ])("because they are %s", async (_, data, message) => {
    await expect(read(data)).rejects.toMatchObject({code: "geopackage/not-one", message});
  });

  it("because they are another kind of database", async () => {
    const other = sound.slice();
    other.fill(0, 68, 72);
    await expect(read(other)).rejects.toMatchObject({
      message: "x.gpkg is not a GeoPackage (application id 0x00000000).",
    });
  });

  it("because they have no list of contents", async () => {
    await expect(
      read(changed((db) => db.exec("PRAGMA foreign_keys = OFF; DROP TABLE gpkg_contents"))),
    ).rejects.toMatchObject({
      code: "geopackage/not-one",
    });
  });

  it("because they are cut short or scribbled over", async () => {
    await expect(read(sound.slice(0, 5000))).rejects.toMatchObject({code: "geopackage/damaged"});
    const scribbled = sound.slice();
    scribbled.fill(0xff, 4096, 8192);
    await expect(read(scribbled)).rejects.toMatchObject({code: "geopackage/damaged"});
  });

  it("because the coordinate system is not said, or is none", async () => {
    for (const id of [0, -1]) {
      const file = changed((db) => db.exec(`UPDATE gpkg_geometry_columns SET srs_id = ${id}`));
      await expect(read(file)).rejects.toMatchObject({code: "geopackage/no-crs"});
      expect((await read(file, {crs: await crsFromEpsg(4326)})).value.features).toHaveLength(1);
    }
  });

  it("because coordinates do not fit degrees", async () => {
    const file = changed((db) => db.run("UPDATE field SET geom = ?", [pointBlob(465_120, 4_651_200)]));
    await expect(read(file)).rejects.toMatchObject({code: "crs/not-degrees"});
  });

  it("view by view: a view is a program, and this one would run for ever", () => {
    const file = changed((db) => {
      db.exec(`CREATE VIEW trap AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i FROM n) SELECT i AS fid, NULL AS geom FROM n;
        INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id) VALUES ('trap', 'features', 'trap', 4326)`);
    });
    const {value, issues} = listGeoPackage(host, file, "x.gpkg");
    expect(value.map((table) => table.name)).toEqual(["field"]);
    expect(issues.map(({code, message}) => [code, message])).toEqual([
      ["geopackage/passed-over", "trap of x.gpkg was passed over: it is a view."],
    ]);
  });

  it("whole when the list of contents itself is such a view", () => {
    const file = changed((db) =>
      db.exec(`PRAGMA foreign_keys = OFF; DROP TABLE gpkg_contents;
        CREATE VIEW gpkg_contents AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i FROM n)
        SELECT 'field' AS table_name, 'features' AS data_type, 'f' AS identifier FROM n`),
    );
    expect(() => listGeoPackage(host, file, "x.gpkg")).toThrow(expect.objectContaining({code: "geopackage/not-one"}));
  });

  it("table by table when what is listed is not there or is no vector layer", () => {
    const file = changed((db) =>
      db.exec(
        `INSERT INTO gpkg_contents (table_name, data_type, identifier) VALUES ('gone', 'features', 'g'), ('tiles', 'tiles', 't')`,
      ),
    );
    expect(listGeoPackage(host, file, "x.gpkg").issues.map(({severity, message}) => [severity, message])).toEqual([
      ["warning", "gone of x.gpkg was passed over: it is not there."],
      ["note", "tiles of x.gpkg was passed over: it is not there."],
    ]);
  });

  it("names that try to be SQL are only names", async () => {
    const evil = 'x"; DROP TABLE field; --';
    const file = changed((db) => {
      db.exec(`CREATE TABLE "x""; DROP TABLE field; --" (fid INTEGER PRIMARY KEY, a TEXT)`);
      db.run("INSERT INTO gpkg_contents (table_name, data_type, identifier) VALUES (?, 'attributes', ?)", [evil, evil]);
      db.run(`INSERT INTO "x""; DROP TABLE field; --" VALUES (1, ?)`, ["kept"]);
    });
    expect(readGeoPackageRows(host, file, "x.gpkg", evil).value).toEqual([{a: "kept"}]);
    expect((await read(file)).value.features).toHaveLength(1);
  });
});

function firstPoint(set: FeatureSet): LonLat {
  const geometry = set.features[0]?.geometry;
  return geometry?.type === "Point" ? geometry.coordinates : [Number.NaN, Number.NaN];
}

function pointBlob(x: number, y: number): Uint8Array {
  const blob = bytes(`47 50 00 01 e6 10 00 00 ${POINT}`);
  const view = new DataView(blob.buffer);
  view.setFloat64(13, x, true);
  view.setFloat64(21, y, true);
  return blob;
}
