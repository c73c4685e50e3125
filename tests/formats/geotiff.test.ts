import {describe, expect, it} from "vitest";
import {readGeoTiff} from "../../src/formats/read-geotiff.ts";
import {writeGeoTiff} from "../../src/formats/write-geotiff.ts";
import {crsFromEpsg, crsLocal, transformBetween, WGS84} from "../../src/geo/crs.ts";
import type {Raster} from "../../src/grid/raster.ts";
import {buildTiff, floats, gridTags, type TiffTag} from "./build-files.ts";

// Three columns and two rows of 0.001 degree, lower left corner at -93, 42 (formats: check values 43 to 47).
const cells = floats(1, 2, 3, 4, -9999, 6);
const read = (tags: readonly TiffTag[], pixels = cells, options = {}) =>
  readGeoTiff(buildTiff(tags, pixels), "dem.tif", options);
const codes = (issues: readonly {code: string}[]): string[] => issues.map(({code}) => code);

async function codeOf(work: Promise<unknown>): Promise<string> {
  const error = await work.then(
    () => undefined,
    (e: unknown) => e,
  );
  expect((error as Error)?.name).toBe("FieldError");
  return (error as {code: string}).code;
}

const projected = (...more: (readonly [number, number, number, number])[]) => ({
  scale: [10, 10, 0],
  tie: [0, 0, 0, 500_000, 4_000_000, 0],
  keys: [[1024, 0, 1, 1], [1025, 0, 1, 1], [3072, 0, 1, 26916], ...more] as [number, number, number, number][],
});

describe("a GeoTIFF is read", () => {
  it("north up, no-data as NaN", async () => {
    const {value, issues} = await read(gridTags(3, 2, {noData: "-9999"}));
    expect(value).toMatchObject({
      crs: WGS84,
      west: -93,
      north: 42.002,
      cellWidth: 0.001,
      cellHeight: 0.001,
      cols: 3,
      rows: 2,
    });
    expect([...value.values]).toEqual([1, 2, 3, 4, Number.NaN, 6]);
    expect(issues).toEqual([]);
  });

  it("half a cell further out where its coordinates name cell centres", async () => {
    const point = gridTags(3, 2, {
      tie: [0, 0, 0, -92.9995, 42.0015, 0],
      keys: [
        [1024, 0, 1, 2],
        [1025, 0, 1, 2],
        [2048, 0, 1, 4326],
      ],
    });
    const {value} = await read(point);
    expect(value.west).toBeCloseTo(-93, 12);
    expect(value.north).toBeCloseTo(42.002, 12);
  });

  it("turned over where its first row is the southernmost", async () => {
    const {value} = await read(
      gridTags(3, 2, {scale: [0.001, -0.001, 0], tie: [0, 0, 0, -93, 42, 0]}),
      floats(4, 5, 6, 1, 2, 3),
    );
    expect(value.north).toBeCloseTo(42.002, 12);
    expect([...value.values]).toEqual([1, 2, 3, 4, 5, 6]);
  });

  it("placed by a tie point inside, or by a transformation", async () => {
    const inside = await read(gridTags(3, 2, {tie: [1, 1, 0, -92.999, 42.001, 0]}));
    expect(inside.value.west).toBeCloseTo(-93, 12);
    expect(inside.value.north).toBeCloseTo(42.002, 12);
    const matrix = [0.001, 0, 0, -93, 0, -0.001, 0, 42.002, 0, 0, 0, 0, 0, 0, 0, 1];
    const tags = gridTags(3, 2).filter(([tag]) => tag !== 33550 && tag !== 33922);
    const {value} = await read([...tags, [34264, 12, matrix]]);
    expect([value.west, value.north, value.cellWidth, value.cellHeight]).toEqual([-93, 42.002, 0.001, 0.001]);
  });

  it.each([
    ["-9999", [-9999, -9999.0009765625]],
    ["-3.4e+38", [-3.4e38]],
    ["-3.40282346638529e+38", [-3.4028234663852886e38]],
    ["nan", [Number.NaN]],
    ["-999999", [-999999]],
    ["0", [0]],
  ])("with no-data %s whatever its last digits", async (noData, empty) => {
    const {value} = await read(gridTags(3, 2, {noData}), floats(1, 2, 3, 4, 5, empty[0] as number));
    expect([...value.values]).toEqual([1, 2, 3, 4, 5, Number.NaN]);
  });

  it("with the usual marks of no data where it does not name one, and a warning", async () => {
    const {value, issues} = await read(gridTags(3, 2));
    expect(value.values[4]).toBeNaN();
    expect(codes(issues)).toEqual(["tif/no-data-assumed"]);
    expect((await read(gridTags(3, 2), floats(1, -3.4e38, Infinity, 4, 5, 6))).value.values.slice(0, 4)).toEqual(
      Float64Array.of(1, Number.NaN, Number.NaN, 4),
    );
  });

  it("with scale and offset applied, and the unit it states", async () => {
    const metadata =
      '<GDALMetadata><Item name="OFFSET" sample="0" role="offset">100</Item><Item name="SCALE" sample="0" role="scale">0.5</Item><Item name="UNITTYPE" sample="0" role="unittype">US survey foot</Item></GDALMetadata>';
    const {value, issues} = await read([...gridTags(3, 2, {noData: "-9999"}), [42112, 2, metadata]]);
    expect([...value.values]).toEqual([100.5, 101, 101.5, 102, Number.NaN, 103]);
    expect(value.unit).toBe("us-ft");
    expect(codes(issues)).toEqual(["tif/scaled"]);
  });

  it.each<[readonly [number, number, number, number], string | undefined]>([
    [[4096, 0, 1, 5703], "m"],
    [[4096, 0, 1, 6360], "us-ft"],
    [[4096, 0, 1, 8228], "ft"],
    [[4099, 0, 1, 9002], "ft"],
    [[4099, 0, 1, 9003], "us-ft"],
    [[4096, 0, 1, 32767], undefined],
  ])("with its vertical key %j", async (key, unit) => {
    expect((await read(gridTags(3, 2, projected(key)))).value.unit).toBe(unit);
  });

  it("in a projection by code, by WKT, or spelled out", async () => {
    const byCode = await read(gridTags(3, 2, projected()));
    expect(byCode.value.crs.name).toBe("EPSG:26916");
    const wkt =
      'ESRI PE String = PROJCS["Mine",GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-87.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]|';
    const own = projected().keys.map(([k, l, n, v]) => [k, l, n, k === 3072 ? 32767 : v] as const);
    const byWkt = await read([
      ...gridTags(3, 2, {...projected(), keys: [...own, [3073, 34737, wkt.length, 0]]}),
      [34737, 2, wkt],
    ]);
    expect(byWkt.value.crs.name).toBe("Mine");
    const spelled = await read([
      ...gridTags(3, 2, {
        ...projected(),
        keys: [
          ...own.slice(0, 2),
          [2048, 0, 1, 4269],
          [3072, 0, 1, 32767],
          [3075, 0, 1, 1],
          [3076, 0, 1, 9001],
          [3080, 34736, 1, 0],
          [3081, 34736, 1, 1],
          [3082, 34736, 1, 2],
          [3083, 34736, 1, 1],
          [3092, 34736, 1, 3],
        ],
      }),
      [34736, 12, [-87, 0, 500_000, 0.9996]],
    ]);
    // All three are UTM zone 16. PROJ 9.1.1: EPSG:26916 of -86.4, 40.55.
    for (const {value} of [byCode, byWkt, spelled]) {
      const [lon, lat] = transformBetween(value.crs.definition, WGS84.definition).forward(550802.6946, 4488977.6823);
      expect(lon).toBeCloseTo(-86.4, 8);
      expect(lat).toBeCloseTo(40.55, 8);
    }
  });

  it("only where it covers a box, and a little around", async () => {
    const cols = 100;
    const values = Float32Array.from({length: cols * cols}, (_, i) => i);
    const tags = gridTags(cols, cols, {tie: [0, 0, 0, -93, 42.1, 0]});
    const within = {west: -92.9501, south: 42.0501, east: -92.9499, north: 42.0503};
    const {value} = await read(tags, new Uint8Array(values.buffer), {within});
    // The box lies on cells 49 and 50 from the west, row 49 from the north; two more on each side.
    expect([value.cols, value.rows]).toEqual([6, 5]);
    expect(value.west).toBeCloseTo(-93 + 47 * 0.001, 12);
    expect(value.north).toBeCloseTo(42.1 - 47 * 0.001, 12);
    expect(value.values[0]).toBe(47 * cols + 47);
    expect(await codeOf(read(tags, new Uint8Array(values.buffer), {within: {...within, west: 10, east: 10.1}}))).toBe(
      "tif/elsewhere",
    );
  });

  it("from the south-up form with the same window", async () => {
    const values = Float32Array.from({length: 100}, (_, i) => 90 - 10 * Math.floor(i / 10) + (i % 10));
    const tags = gridTags(10, 10, {scale: [0.001, -0.001, 0], tie: [0, 0, 0, -93, 42, 0]});
    const within = {west: -92.9999, south: 42.0091, east: -92.9991, north: 42.0099};
    const {value} = await read(tags, new Uint8Array(values.buffer), {within});
    expect([...value.values]).toEqual([0, 1, 2, 10, 11, 12, 20, 21, 22]);
    expect(value.north).toBeCloseTo(42.01, 12);
  });
});

describe("a GeoTIFF is refused", () => {
  const without = (...tags: number[]) => gridTags(3, 2).filter(([tag]) => !tags.includes(tag));

  it.each<[string, readonly TiffTag[]]>([
    ["tif/not-placed", without(33550, 33922)],
    ["tif/not-placed", without(33922)],
    ["tif/no-crs", without(34735)],
    ["tif/no-crs", gridTags(3, 2, {keys: [[1024, 0, 1, 32767]]})],
    [
      "tif/rotated",
      [...without(33550, 33922), [34264, 12, [0.001, 0.0002, 0, -93, 0.0002, -0.001, 0, 42, 0, 0, 0, 0, 0, 0, 0, 1]]],
    ],
    ["tif/picture", [...without(262), [262, 3, [2]]]],
    ["tif/picture", [...without(262), [262, 3, [3]]]],
    ["tif/too-large", [...without(256, 257, 278), [256, 4, [20_000]], [257, 4, [20_000]], [278, 4, [1]]]],
    ["tif/damaged", [...without(256), [256, 4, [0]]]],
    [
      "crs/unknown-datum",
      gridTags(3, 2, {
        ...projected(),
        keys: [
          [1024, 0, 1, 1],
          [3072, 0, 1, 26716],
        ],
      }),
    ],
  ])("%s", async (code, tags) => expect(await codeOf(read(tags))).toBe(code));

  it("unless the user names the coordinate system", async () => {
    expect((await read(without(34735), cells, {crs: WGS84})).value.crs).toBe(WGS84);
  });
});

describe("a GeoTIFF is written", () => {
  const raster = (crs: Raster["crs"]): Raster => ({
    name: "x",
    crs,
    west: -93,
    north: 42.5,
    cellWidth: 0.25,
    cellHeight: 0.5,
    cols: 3,
    rows: 2,
    values: Float64Array.of(1.5, -2, 3, 4, Number.NaN, 1e6),
  });

  it("so that it reads back, by code or in metres about a point", async () => {
    for (const crs of [WGS84, await crsFromEpsg(26916), crsLocal(-86.4, 40.55)]) {
      const {value} = await readGeoTiff(writeGeoTiff(raster(crs)), "x");
      expect({...value, crs}).toEqual(raster(crs));
      const there = transformBetween(crs.definition, WGS84.definition).forward(10, 20);
      const back = transformBetween(value.crs.definition, WGS84.definition).forward(10, 20);
      expect(back[0]).toBeCloseTo(there[0], 12);
      expect(back[1]).toBeCloseTo(there[1], 12);
    }
  });

  it("with the same bytes each time, and only where its place can be said", () => {
    expect(writeGeoTiff(raster(WGS84))).toEqual(writeGeoTiff(raster(WGS84)));
    const odd = {name: "my grid", definition: "+proj=aea +lat_1=20 +lat_2=60", units: "metres"} as const;
    expect(() => writeGeoTiff(raster(odd))).toThrow(expect.objectContaining({code: "export/crs"}));
  });
});
