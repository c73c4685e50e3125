import fc from "fast-check";
import {describe, expect, it} from "vitest";
import {detect} from "../../src/formats/detect.ts";
import {readGeoJson} from "../../src/formats/read-geojson.ts";
import {readGeoTiff} from "../../src/formats/read-geotiff.ts";
import {readPoints} from "../../src/formats/read-points.ts";
import {readShapefile} from "../../src/formats/read-shapefile.ts";
import {readTable} from "../../src/formats/read-table.ts";
import {writeGeoTiff} from "../../src/formats/write-geotiff.ts";
import {writeShapefile} from "../../src/formats/write-shapefile.ts";
import {WGS84} from "../../src/geo/crs.ts";
import {
  buildDbf,
  buildShp,
  buildShx,
  buildTiff,
  buildZip,
  bytes,
  type DbfField,
  doubles,
  floats,
  gridTags,
  int32be,
  int32le,
  join,
  type Position,
  pointRecord,
  polygonRecord,
  WGS84_PRJ,
} from "./build-files.ts";

// Every one of these is refused with one plain sentence and what to do, at once: no hang, no stack trace, no half result.

const square: Position[] = [
  [-93, 42],
  [-93, 42.01],
  [-92.99, 42.01],
  [-92.99, 42],
  [-93, 42],
];
const RATE: DbfField = {name: "RATE", type: "N", width: 10, decimals: 2};
const records = [polygonRecord([square]), polygonRecord([square])];
const SHP = buildShp(5, records);
const SHX = buildShx(5, records);
const DBF = buildDbf([RATE], [["100.00"], ["200.00"]]);
const PRJ = bytes(WGS84_PRJ);

/** The set with members exchanged; undefined takes one away. */
const shapefile = (change: Record<string, Uint8Array | undefined>) => () => {
  const members = {"rx.shp": SHP, "rx.shx": SHX, "rx.dbf": DBF, "rx.prj": PRJ, ...change};
  const files = new Map(
    Object.entries(members).filter((entry): entry is [string, Uint8Array] => entry[1] !== undefined),
  );
  return readShapefile(files, "rx.shp");
};
const zipped = (data: Uint8Array) => () => readShapefile(new Map([["a.zip", data]]), "a.zip");
const json = (text: string) => () => readGeoJson(bytes(text), "a.geojson");
const geometry = (text: string) => json(`{"type":"Feature","properties":{},"geometry":${text}}`);
const table = (data: string | Uint8Array) => () => readTable(typeof data === "string" ? bytes(data) : data, "a.csv");
const tiff = (data: Uint8Array) => () => readGeoTiff(data, "a.tif");

const patched = (data: Uint8Array, at: number, ...pieces: (number[] | Uint8Array)[]): Uint8Array => {
  const out = data.slice();
  out.set(join(...pieces), at);
  return out;
};
const TIF = buildTiff(gridTags(3, 2), floats(1, 2, 3, 4, 5, 6));
const deep = (depth: number): string => `${"[".repeat(depth)}1${"]".repeat(depth)}`;

const CASES: readonly [what: string, code: string, work: () => unknown][] = [
  // Shapefile geometry
  [".shp that is empty", "file/empty", shapefile({"rx.shp": new Uint8Array()})],
  [".shp of 50 bytes", "shp/not-a-shapefile", shapefile({"rx.shp": SHP.subarray(0, 50)})],
  [".shp with another file code", "shp/not-a-shapefile", shapefile({"rx.shp": patched(SHP, 0, int32be(9993))})],
  [".shp cut in its first record", "shp/damaged", shapefile({"rx.shp": SHP.subarray(0, 150)})],
  [".shp cut in its last record", "shp/damaged", shapefile({"rx.shp": SHP.subarray(0, SHP.length - 8)})],
  [".shp whose header claims too much", "shp/damaged", shapefile({"rx.shp": patched(SHP, 24, int32be(1e6))})],
  [".shp whose header claims nothing", "shp/damaged", shapefile({"rx.shp": patched(SHP, 24, int32be(-5))})],
  [".shp with a record that claims too much", "shp/damaged", shapefile({"rx.shp": patched(SHP, 104, int32be(1e6))})],
  [".shp with a record of no length", "shp/damaged", shapefile({"rx.shp": patched(SHP, 104, int32be(0))})],
  [".shp with a record of negative length", "shp/damaged", shapefile({"rx.shp": patched(SHP, 104, int32be(-64))})],
  [".shp with 500,000,000 points", "shp/damaged", shapefile({"rx.shp": patched(SHP, 148, int32le(500_000_000))})],
  [".shp with fewer than no points", "shp/damaged", shapefile({"rx.shp": patched(SHP, 148, int32le(-1))})],
  [".shp with 500,000,000 parts", "shp/damaged", shapefile({"rx.shp": patched(SHP, 144, int32le(500_000_000))})],
  [".shp with points and no part", "shp/damaged", shapefile({"rx.shp": patched(SHP, 144, int32le(0))})],
  [".shp whose part begins past its points", "shp/damaged", shapefile({"rx.shp": patched(SHP, 152, int32le(99))})],
  [".shp of surfaces", "shp/type", shapefile({"rx.shp": patched(SHP, 32, int32le(31))})],
  [".shp of a type that is none", "shp/type", shapefile({"rx.shp": patched(SHP, 32, int32le(77))})],
  [".shp with a line among polygons", "shp/damaged", shapefile({"rx.shp": patched(SHP, 108, int32le(3))})],
  [
    ".shp with a coordinate that is no number",
    "shp/not-a-number",
    shapefile({"rx.shp": patched(SHP, 156, doubles(Number.NaN))}),
  ],
  [".shp with an infinite coordinate", "shp/not-a-number", shapefile({"rx.shp": patched(SHP, 156, doubles(Infinity))})],
  // Shapefile company
  [
    ".shx of another file",
    "shp/index",
    shapefile({"rx.shx": buildShx(5, [polygonRecord([square, square]), ...records])}),
  ],
  [
    ".shx with two entries exchanged",
    "shp/index",
    shapefile({"rx.shx": join(SHX.subarray(0, 100), SHX.subarray(108, 116), SHX.subarray(100, 108))}),
  ],
  [".shx cut short", "shp/index", shapefile({"rx.shx": SHX.subarray(0, 60)})],
  [".dbf of 3 bytes", "dbf/not-a-dbf", shapefile({"rx.dbf": DBF.subarray(0, 3)})],
  [".dbf cut in its header", "dbf/damaged", shapefile({"rx.dbf": DBF.subarray(0, 50)})],
  [".dbf cut in its rows", "dbf/count", shapefile({"rx.dbf": DBF.subarray(0, 70)})],
  [".dbf with 4,000,000,000 rows", "dbf/count", shapefile({"rx.dbf": patched(DBF, 4, int32le(4_000_000_000))})],
  [".dbf with rows shorter than its columns", "dbf/damaged", shapefile({"rx.dbf": patched(DBF, 10, [3, 0])})],
  [".dbf with a header of no length", "dbf/damaged", shapefile({"rx.dbf": patched(DBF, 8, [0, 0])})],
  [".dbf of one row for two shapes", "shp/count", shapefile({"rx.dbf": buildDbf([RATE], [["1"]])})],
  [".dbf with a row that is neither live nor deleted", "dbf/damaged", shapefile({"rx.dbf": patched(DBF, 65, [0])})],
  ["no .prj", "shp/no-crs", shapefile({"rx.prj": undefined})],
  [".prj that is garbage", "crs/not-wkt", shapefile({"rx.prj": bytes("WGS84, I think")})],
  [".prj cut short", "crs/not-wkt", shapefile({"rx.prj": PRJ.subarray(0, 90)})],
  [".prj of binary", "text/binary", shapefile({"rx.prj": Uint8Array.from([71, 69, 0, 1, 2])})],
  [
    ".prj on an old datum",
    "crs/unknown-datum",
    shapefile({
      "rx.prj": bytes(
        WGS84_PRJ.replace("D_WGS_1984", "D_North_American_1927").replace(
          "6378137.0,298.257223563",
          "6378206.4,294.9786982",
        ),
      ),
    }),
  ],
  [
    ".prj in degrees over metres",
    "crs/not-degrees",
    shapefile({
      "rx.shp": buildShp(1, [pointRecord([465120, 4651200]), pointRecord([465120, 4651200])]),
      "rx.shx": undefined,
    }),
  ],
  // Zips
  ["zip cut short", "zip/damaged", zipped(buildZip([{name: "rx.shp", data: SHP}]).subarray(0, 400))],
  ["zip of two letters", "file/empty", zipped(new Uint8Array())],
  ["zip bomb", "zip/too-large", zipped(buildZip([{name: "rx.shp", data: new Uint8Array(2 ** 25), deflate: true}]))],
  ["zip with a way out", "zip/unsafe-path", zipped(buildZip([{name: "../../rx.shp", data: SHP}]))],
  ["zip with a password", "zip/encrypted", zipped(buildZip([{name: "rx.shp", data: SHP, claims: {flags: 1}}]))],
  ["zip with a wrong checksum", "zip/damaged", zipped(buildZip([{name: "rx.shp", data: SHP, claims: {crc: 1}}]))],
  ["zip without a shapefile", "shp/none", zipped(buildZip([{name: "readme.txt", data: SHP}]))],
  ["zip of a bare .shp", "shp/no-crs", zipped(buildZip([{name: "rx.shp", data: SHP}]))],
  // GeoJSON
  ["JSON cut short", "geojson/not-json", json('{"type": "FeatureCollection", "features": [{"type"')],
  ["no JSON", "geojson/not-json", json("boundary of Millrace")],
  ["nothing", "geojson/not-json", json("")],
  ["JSON of another kind", "geojson/not-valid", json('{"name": "x"}')],
  ["JSON that is a number", "geojson/not-valid", json("3")],
  ["JSON nested 100,000 deep", "geojson/not-valid", geometry(`{"type":"Polygon","coordinates":${deep(100_000)}}`)],
  [
    "a property nested 100,000 deep",
    "geojson/not-valid",
    json(`{"type":"Feature","geometry":null,"properties":{"a":${deep(100_000)}}}`),
  ],
  [
    "collections nested without end",
    "geojson/not-valid",
    geometry(`${'{"type":"GeometryCollection","geometries":['.repeat(50)}${"]}".repeat(50)}`),
  ],
  ["a position that is a text", "geojson/not-valid", geometry('{"type":"Point","coordinates":["-93","42"]}')],
  ["a position beyond numbers", "geojson/not-valid", geometry('{"type":"Point","coordinates":[1e999,42]}')],
  ["a position of null", "geojson/not-valid", geometry('{"type":"Point","coordinates":[null,null]}')],
  ["a ring of two corners", "geojson/not-valid", geometry('{"type":"Polygon","coordinates":[[[0,0],[1,1],[0,0]]]}')],
  ["a geometry that is none", "geojson/not-valid", geometry('{"type":"Circle","coordinates":[0,0]}')],
  ["a feature in features that is text", "geojson/not-valid", json('{"type":"FeatureCollection","features":["x"]}')],
  [
    "a collection in a collection",
    "geojson/not-valid",
    json('{"type":"FeatureCollection","features":[{"type":"FeatureCollection","features":[]}]}'),
  ],
  [
    "a crs member that names nothing",
    "geojson/crs-member",
    json('{"type":"Point","coordinates":[0,0],"crs":{"type":"link"}}'),
  ],
  [
    "a crs member of an old datum",
    "crs/unknown-datum",
    json('{"type":"Point","coordinates":[0,0],"crs":{"type":"name","properties":{"name":"EPSG:4267"}}}'),
  ],
  ["a broken line among lines", "geojson/not-json", json('{"type":"Point","coordinates":[0,0]}\n{"type":\n')],
  [
    "a sequence with a broken record",
    "geojson/not-json",
    json('\u001e{"type":"Point","coordinates":[0,0]}\n\u001e{"ty\n'),
  ],
  ["GeoJSON that is binary", "text/binary", () => readGeoJson(Uint8Array.from([123, 0, 255, 1, 2, 3]), "a.geojson")],
  // Tables
  ["CSV of nothing", "csv/empty", table("")],
  ["CSV of a header only", "csv/no-rows", table("lon,lat,P\r\n")],
  ["CSV with an open quote", "csv/quote", table('lon,lat\n"-93,42\n-93,42\n')],
  ["CSV with a row too long", "csv/too-many-cells", table("id,P\nA1,12,5\n")],
  ["CSV that is binary", "text/binary", table(Uint8Array.from([1, 2, 0, 3, 10, 0, 7, 7, 7]))],
  // GeoTIFF
  ["TIFF that is text", "tif/not-a-tiff", tiff(bytes("elevation"))],
  ["TIFF of its first four bytes", "tif/damaged", tiff(TIF.subarray(0, 4))],
  ["TIFF cut in its directory", "tif/damaged", tiff(TIF.subarray(0, 100))],
  ["TIFF cut in its cells", "tif/damaged", tiff(TIF.subarray(0, TIF.length - 4))],
  ["TIFF whose directory is past its end", "tif/damaged", tiff(patched(TIF, 4, int32le(1e9)))],
  [
    "TIFF whose strip is past its end",
    "tif/damaged",
    tiff(buildTiff([...gridTags(3, 2), [273, 4, [1e9]]], floats(1, 2, 3, 4, 5, 6))),
  ],
  ["TIFF of 4,000,000,000 cells", "tif/too-large", tiff(buildTiff(gridTags(65_000, 65_000), floats(1)))],
  [
    "TIFF without a place",
    "tif/not-placed",
    tiff(
      buildTiff(
        gridTags(3, 2).filter(([tag]) => tag !== 33922),
        floats(1, 2, 3, 4, 5, 6),
      ),
    ),
  ],
  [
    "TIFF of cells without size",
    "tif/not-placed",
    tiff(buildTiff(gridTags(3, 2, {scale: [0, 0, 0]}), floats(1, 2, 3, 4, 5, 6))),
  ],
  [
    "TIFF packed in an unknown way",
    "tif/damaged",
    tiff(buildTiff([...gridTags(3, 2).filter(([tag]) => tag !== 259), [259, 3, [31_337]]], floats(1, 2, 3, 4, 5, 6))),
  ],
];

describe("a damaged file is refused in one sentence", () => {
  it.each(CASES)("%s: %s", async (_, code, work) => {
    const started = performance.now();
    let error: unknown;
    try {
      await work();
    } catch (thrown) {
      error = thrown;
    }
    expect(error).toMatchObject({name: "FieldError", code});
    const {message, hint} = error as {message: string; hint?: string};
    expect(message).toMatch(/^[^\n]{10,250}\.$/);
    expect(hint).toMatch(/[.?)]$/);
    expect(performance.now() - started).toBeLessThan(5000);
  });

  it("names the record in the words of the file", () => {
    expect(shapefile({"rx.shp": patched(SHP, 148, int32le(500_000_000))})).toThrow(
      "rx.shp says record 1 has 500,000,000 points in 1 parts but only 128 bytes of it are there",
    );
  });
});

describe("whatever bytes are changed", () => {
  const written = writeShapefile(
    {
      name: "rx",
      features: [{geometry: {type: "Polygon", coordinates: [square]}, properties: {RATE: 1, NOTE: "ä"}}],
    },
    [
      {name: "RATE", type: "N", width: 8},
      {name: "NOTE", type: "C", width: 8},
    ],
  ).value;
  const raster = writeGeoTiff({
    name: "x",
    crs: WGS84,
    west: -93,
    north: 42,
    cellWidth: 0.001,
    cellHeight: 0.001,
    cols: 8,
    rows: 8,
    values: Float64Array.from({length: 64}, (_, i) => i),
  });
  const geojson = bytes(
    JSON.stringify({type: "Feature", properties: {a: [1]}, geometry: {type: "Polygon", coordinates: [square]}}),
  );
  const csv = bytes('lon,lat,"P"\n-93,42,"1,5"\n-93,42,2\n');

  /** Some bytes changed, and perhaps the end cut off. */
  const damage = (data: Uint8Array) =>
    fc
      .tuple(
        fc.array(fc.tuple(fc.nat(data.length - 1), fc.integer({min: 0, max: 255})), {maxLength: 6}),
        fc.option(fc.nat(data.length - 1), {freq: 3}),
      )
      .map(([changes, end]) => {
        const out = data.slice(0, end ?? data.length);
        for (const [at, byte] of changes) if (at < out.length) out[at] = byte;
        return out;
      });

  async function survives(work: () => unknown): Promise<void> {
    try {
      await work();
    } catch (error) {
      if ((error as Error).name !== "FieldError") throw error;
    }
  }

  it.each(["rx.shp", "rx.shx", "rx.dbf", "rx.prj", "rx.cpg"])("%s gives shapes or a refusal", async (name) => {
    await fc.assert(
      fc.asyncProperty(damage(written.members.get(name) as Uint8Array), async (data) => {
        const files = new Map(written.members).set(name, data);
        await survives(() => readShapefile(files, "rx.shp"));
      }),
      {numRuns: 500},
    );
  });

  it.each<[string, Uint8Array, (data: Uint8Array) => unknown]>([
    ["a zip", written.zip, (data) => readShapefile(new Map([["a.zip", data]]), "a.zip")],
    ["a GeoTIFF", raster, (data) => readGeoTiff(data, "a.tif")],
    ["GeoJSON", geojson, (data) => readGeoJson(data, "a.geojson")],
    ["CSV", csv, (data) => readPoints(readTable(data, "a.csv").value, {x: "lon", y: "lat", columns: {}})],
  ])("%s gives its contents or a refusal", async (_, data, read) => {
    await fc.assert(
      fc.asyncProperty(damage(data), async (damaged) => {
        await survives(() => detect(damaged, "a"));
        await survives(() => read(damaged));
      }),
      {numRuns: 500},
    );
  });
});
