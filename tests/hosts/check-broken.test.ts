import {mkdirSync, writeFileSync} from "node:fs";
import {dirname, join} from "node:path";
import {beforeAll, describe, expect, test} from "vitest";
import {nodeSqlite} from "../../src/cli/sqlite-host.ts";
import type {SqliteHost} from "../../src/formats/geopackage/sqlite.ts";
import {writeGeoPackage} from "../../src/formats/geopackage/write-geopackage.ts";
import {zip} from "../../src/formats/zip.ts";
import {
  buildDbf,
  buildShp,
  buildShx,
  buildZip,
  bytes,
  nullRecord,
  type Position,
  polygonRecord,
} from "../formats/build-files.ts";
import {taskData} from "../formats/iso11783/plans.ts";
import {cli, scratch} from "./in-process.ts";

// Rate files as they should not be. Each must be named for what is wrong with it, in words a person can act on, and
// must not pass where a spreader would spread other than meant.

type Ring = Position[];
type Made = Readonly<Record<string, string | Uint8Array>>;

const [W, S] = [-86.4, 40.55];
/** A box `east` hundredths of a degree from the corner, of two by two thousandths. */
const box = (east: number, wide = 0.002, high = 0.002): Ring => {
  const x = W + east;
  return [
    [x, S],
    [x + wide, S],
    [x + wide, S + high],
    [x, S + high],
    [x, S],
  ];
};
const A = box(0);
const B = box(0.002);
const hole: Ring = [
  [W + 0.0005, S + 0.0005],
  [W + 0.0005, S + 0.0015],
  [W + 0.0015, S + 0.0015],
  [W + 0.0015, S + 0.0005],
  [W + 0.0005, S + 0.0005],
];
const bowTie: Ring = [A[0], A[2], A[1], A[3], A[0]] as Ring;

const feature = (rings: unknown, properties: object, type = "Polygon") => ({
  type: "Feature",
  properties,
  geometry: rings === null ? null : {type, coordinates: rings},
});
const json = (...features: object[]): string => JSON.stringify({type: "FeatureCollection", features});
/** Two boxes with a rate each. */
const rated = (rates: readonly unknown[], column = "RATE"): string =>
  json(...rates.map((rate, i) => feature([box(0.002 * i)], {[column]: rate})));

const PRJ =
  'GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]';
const clockwise = (ring: Ring): Ring => [...ring].reverse();

function shapefile(
  records: readonly Uint8Array[],
  rates: readonly string[],
  change: (members: Record<string, Uint8Array>) => void = () => {},
): Made {
  const members: Record<string, Uint8Array> = {
    "rates.shp": buildShp(5, records),
    "rates.shx": buildShx(5, records),
    "rates.dbf": buildDbf(
      [{name: "RATE", type: "N", width: 8, decimals: 1}],
      rates.map((rate) => [rate]),
    ),
    "rates.prj": bytes(PRJ),
  };
  change(members);
  return {"rates.zip": zip(new Map(Object.entries(members)))};
}

const record = (...rings: Ring[]): Uint8Array => polygonRecord(rings);
const two = [record(clockwise(A)), record(clockwise(B))];

let host: SqliteHost;
beforeAll(async () => {
  host = await nodeSqlite();
});

const geoPackage = (...rates: (number | null)[]): Uint8Array =>
  writeGeoPackage(host, [
    {
      name: "rates",
      columns: [{name: "RATE", type: "REAL"}],
      features: rates.map((RATE, i) => ({
        geometry: {type: "Polygon", coordinates: [box(0.002 * i)]},
        properties: {RATE},
      })),
    },
  ]).value;

/** Bytes of a database after one statement. */
function altered(database: Uint8Array, statement: string): Uint8Array {
  return host.scratch(database, (path) => {
    const db = host.engine.open(path);
    db.exec(statement);
    db.close();
  }).bytes;
}

const line = (ring: Ring, swap = false): string =>
  `<LSG A="1">${ring.map(([x, y]) => `<PNT A="2" C="${swap ? x : y}" D="${swap ? y : x}"/>`).join("")}</LSG>`;
const zoneXml = (code: number, ring: Ring | undefined, values: string, swap = false): string =>
  `<TZN A="${code}" B="Z${code}">${ring ? `<PLN A="2">${line(ring, swap)}</PLN>` : ""}${values}</TZN>`;
const value = (raw: number | string, more = ""): string => `<PDV A="0006" B="${raw}" C="PDT1"${more}/>`;
const OUTSIDE = zoneXml(253, undefined, value(0)) + zoneXml(0, undefined, value(0));
const HEAD = '<PFD A="PFD1" C="North 40" D="0"/><PDT A="PDT1" B="MAP"/>';
const task = (inside: string, special = 'H="0" I="0" J="253"'): string =>
  `<TSK A="TSK1" B="Spring" E="PFD1" G="1" ${special}>${inside}</TSK>`;
const taskFiles = (inside: string, more: Record<string, Uint8Array> = {}, head = HEAD): Made => ({
  "task.zip": zip(taskData(head + inside, more)),
});
const gridXml = (type: 1 | 2, cols: number): string =>
  `<GRD A="${S}" B="${W}" C="0.0001" D="0.0001" E="${cols}" F="2" G="GRD00001" I="${type}"${type === 2 ? ' J="1"' : ""}/>`;

/** What it is, the file, the words it must be named by, and whether it may pass. */
const BROKEN: readonly (readonly [string, () => Made, RegExp, ("passes" | "stops")?])[] = [
  // GeoJSON
  [
    "two polygons over the same ground",
    () => ({"a.geojson": json(feature([A], {RATE: 1e2}), feature([box(0.001)], {RATE: 90}))}),
    /error: 1 pair of records share ground; the most, 4\.6\d ac, are 1 and 2/,
  ],
  [
    "one polygon twice",
    () => ({"a.geojson": json(feature([A], {RATE: 100}), feature([A], {RATE: 100}))}),
    /error: 1 pair of records share ground; the most, 9\.\d\d ac/,
  ],
  [
    "an outline that crosses itself",
    () => ({"a.geojson": json(feature([bowTie], {RATE: 100}))}),
    /error: Records that are not valid polygons: 1 \(self-intersection/,
  ],
  [
    "a hole outside its polygon",
    () => ({"a.geojson": json(feature([A, clockwise(box(0.006))], {RATE: 100}))}),
    /error: Records that are not valid polygons: 1 \(hole lies outside shell/,
  ],
  ["a ring of two corners", () => ({"a.geojson": json(feature([[A[0], A[1], A[0]]], {RATE: 100}))}), /ring/],
  [
    "a corner that is no number",
    () => ({"a.geojson": rated([100]).replace("-86.4,40.55", "-86.4,null")}),
    /position|coordinate/i,
  ],
  [
    "NaN written into the JSON",
    () => ({"a.geojson": rated([100]).replace("-86.4,40.55", "NaN,40.55")}),
    /is not valid JSON/,
  ],
  [
    "a polygon without a rate",
    () => ({"a.geojson": rated([100, null])}),
    /error: Column RATE has no rate in 1 polygon/,
  ],
  ["no rate anywhere", () => ({"a.geojson": rated([null, null])}), /error: Column RATE is empty/],
  [
    "words for rates",
    () => ({"a.geojson": rated(["high", "low"])}),
    /error: Column RATE holds text where rates should be, as "high" in record 1/,
  ],
  [
    "a unit behind every number",
    () => ({"a.geojson": rated([100, "120 lb"])}),
    /holds text where rates should be, as "120 lb" in record 2/,
  ],
  [
    "a comma for the decimal point",
    () => ({"a.geojson": rated(["180,5", "90,0"])}),
    /holds text where rates should be, as "180,5"/,
  ],
  [
    "-9999 for no data",
    () => ({"a.geojson": rated([100, -9999])}),
    /error: Column RATE goes down to −9,999: a rate cannot be below zero/,
  ],
  [
    "mg/m² for lb/ac",
    () => ({"a.geojson": rated([22417, 16813])}),
    /error: Column RATE has a mean of 19,615: too much for lb\/ac; it looks like mg\/m² \(hundredths of kg\/ha\) \(175 lb\/ac\)/,
  ],
  [
    "lb per square mile",
    () => ({"a.geojson": rated([128000, 96000])}),
    /error: Column RATE .* it looks like lb per square mile \(175 lb\/ac\)/,
  ],
  [
    "hundredths of lb/ac",
    () => ({"a.geojson": rated([20000, 15025])}),
    /error: Column RATE .* it looks like hundredths of lb\/ac \(175\.1 lb\/ac\)/,
  ],
  [
    "kg/ha times a hundred under a heading in kg/ha",
    () => ({"a.geojson": rated([17934, 17934], "RATE_KGHA")}),
    /error: Column RATE_KGHA has a mean of 17,934: too much for kg\/ha; it looks like /,
  ],
  [
    "tons per acre under a heading in lb/ac",
    () => ({"a.geojson": rated([0.1, 0.125], "MAP_LBAC")}),
    /error: Column MAP_LBAC has a mean of 0\.11\d: too little for lb\/ac; it looks like .*ton\/ac \(2,000 lb\) \(225 lb\/ac\)/,
  ],
  [
    "gallons beyond any tank",
    () => ({"a.geojson": rated([9000], "GAL_AC")}),
    /warning: Column GAL_AC reaches 9,000, far above 300 gal\/ac/,
    "passes",
  ],
  [
    "a rate in several parts",
    () => ({"a.geojson": json(feature([[A], [box(0.004)]], {RATE: 100}, "MultiPolygon"))}),
    /warning: Records with several parts: 1\. Split them/,
    "passes",
  ],
  [
    "left-overs of an overlay",
    () => ({"a.geojson": json(feature([A], {RATE: 100}), feature([box(0.002, 0.0000002)], {RATE: 100}))}),
    /warning: 1 polygon of less than 10 m²/,
    "passes",
  ],
  [
    "more rates than a controller takes",
    () => ({"a.geojson": rated(Array.from({length: 260}, (_, i) => 100 + i))}),
    /warning: 260 different rates: many controllers take up to 250/,
    "passes",
  ],
  [
    "latitude before longitude",
    () => ({"a.geojson": json(feature([A.map(([x, y]) => [y, x - 10])], {RATE: 100}))}),
    /latitude|longitude/,
  ],
  [
    "metres for degrees",
    () => ({"a.geojson": json(feature([A.map(([x, y]) => [x * 1e4 + 1e6, y * 1e5])], {RATE: 100}))}),
    /degrees|longitude/,
  ],
  [
    "a rate without a shape",
    () => ({"a.geojson": json(feature([A], {RATE: 100}), feature(null, {RATE: 90}))}),
    /error: Left out for want of a geometry/,
  ],
  ["a file cut short", () => ({"a.geojson": rated([100, 90]).slice(0, -40)}), /is not valid JSON .*\n.*cut short/s],
  ["nothing in it", () => ({"a.geojson": json()}), /holds no shapes/],
  // shapefiles
  [
    "an index that points to other records",
    () =>
      shapefile(two, ["200.0", "150.0"], (m) => {
        const shx = m["rates.shx"] as Uint8Array;
        const first = shx.slice(100, 108);
        shx.set(shx.slice(108, 116), 100);
        shx.set(first, 108);
      }),
    /rates\.shx does not fit its \.shp.*shapes and attributes could be mixed up/,
  ],
  [
    "a hole wound like an outer ring",
    () => shapefile([record(A, hole)], ["200.0"]),
    /error: Sorted outer rings and holes by which lies inside which, because rings run the wrong way round/,
  ],
  [
    "a .shp cut short",
    () =>
      shapefile(two, ["200.0", "150.0"], (m) => {
        m["rates.shp"] = (m["rates.shp"] as Uint8Array).slice(0, -20);
      }),
    /rates\.shp .*damaged or cut short/,
  ],
  [
    "a corner that is not a number",
    () =>
      shapefile(
        [
          record(
            clockwise([
              [W, S],
              [Number.NaN, S],
              [W + 0.002, S + 0.002],
              [W, S],
            ]),
          ),
        ],
        ["200.0"],
      ),
    /not a number/i,
  ],
  ["fewer rows than shapes", () => shapefile(two, ["200.0"]), /2 shapes.*1 row|1 row.*2 shapes/],
  [
    "no coordinate system",
    () =>
      shapefile(two, ["200.0", "150.0"], (m) => {
        delete m["rates.prj"];
      }),
    /coordinate system/,
  ],
  [
    "no table",
    () =>
      shapefile(two, ["200.0", "150.0"], (m) => {
        delete m["rates.dbf"];
      }),
    /dbf|no columns/,
    "passes",
  ],
  [
    "a record without a shape",
    () => shapefile([two[0] as Uint8Array, nullRecord()], ["200.0", "150.0"]),
    /error: Left out for want of a shape: record 2/,
  ],
  [
    "a rate too wide for its column",
    () => shapefile(two, ["200.0", "********"]),
    /error: Column RATE has no rate in 1 polygon/,
  ],
  [
    "a ring without ground",
    () =>
      shapefile(
        [
          two[0] as Uint8Array,
          record([
            [W, S],
            [W + 0.002, S],
            [W, S],
            [W, S],
          ]),
        ],
        ["200.0", "150.0"],
      ),
    /error: Left out (a ring without area|for want of a shape)/,
  ],
  [
    "a zip cut short",
    () => ({"rates.zip": (shapefile(two, ["1", "2"])["rates.zip"] as Uint8Array).slice(0, 300)}),
    /ends before its table of contents/,
  ],
  [
    "a zip with a password",
    () => ({"rates.zip": buildZip([{name: "rates.shp", data: bytes("x"), claims: {flags: 1}}])}),
    /is locked with a password/,
  ],
  // GeoPackage
  [
    "a GeoPackage with an empty rate",
    () => ({"rates.gpkg": geoPackage(200, null)}),
    /error: Column RATE has no rate in 1 polygon/,
  ],
  ["a GeoPackage cut short", () => ({"rates.gpkg": geoPackage(200, 150).slice(0, 9000)}), /rates\.gpkg cannot be read/],
  [
    "another database",
    () => ({"rates.gpkg": altered(geoPackage(200), "PRAGMA application_id = 0")}),
    /rates\.gpkg is not a GeoPackage/,
  ],
  [
    "a GeoPackage without its coordinate system",
    () => ({"rates.gpkg": altered(geoPackage(200), "UPDATE gpkg_geometry_columns SET srs_id = -1")}),
    /does not say its coordinate system/,
  ],
  [
    "a GeoPackage with a shape that cannot be read",
    () => ({"rates.gpkg": altered(geoPackage(200, 150), "UPDATE rates SET geom = X'0102' WHERE fid = 2")}),
    /error: Left out because the shape cannot be read/,
  ],
  // task data
  [
    "kg/ha where mg/m² belong",
    () => taskFiles(task(OUTSIDE + zoneXml(1, A, value(168)) + zoneXml(2, B, value(224)))),
    /error: MAP \(lb\/ac\) reaches only 2 lb\/ac \(224 mg\/m²\): it looks like 224 kg\/ha or lb\/ac written as if it were mg\/m²/,
  ],
  [
    "zones that overlap",
    () => taskFiles(task(OUTSIDE + zoneXml(1, A, value(22417)) + zoneXml(2, box(0.001), value(16813)))),
    /error: 1 pair of records share ground/,
  ],
  [
    "a zone that crosses itself",
    () => taskFiles(task(OUTSIDE + zoneXml(1, bowTie, value(22417)))),
    /error: (Records that are not valid polygons: 1 \(self-intersection|A polygon of zone 1 .* a ring has no area)/,
  ],
  [
    "a zone without a rate",
    () => taskFiles(task(OUTSIDE + zoneXml(1, A, value(22417)) + zoneXml(2, B, ""))),
    /error: Column MAP \(lb\/ac\) has no rate in 1 polygon/,
  ],
  [
    "no rate outside the map",
    () => taskFiles(task(zoneXml(0, undefined, value(0)) + zoneXml(1, A, value(22417)), 'H="0"')),
    /warning: Spring sets no rate outside the map/,
    "passes",
  ],
  [
    "a grid cut short",
    () =>
      taskFiles(task(OUTSIDE + zoneXml(1, undefined, value(0)) + gridXml(2, 3)), {
        "TASKDATA/GRD00001.BIN": new Uint8Array(20),
      }),
    /error: GRD00001\.BIN has 20 bytes; 3 columns x 2 rows x 1 value need 24/,
  ],
  [
    "a grid that is not there",
    () => taskFiles(task(OUTSIDE + zoneXml(1, undefined, value(0)) + gridXml(2, 3))),
    /error: The grid of Task TSK1 is in GRD00001\.BIN, which is not there/,
  ],
  [
    "cells of a zone that is not there",
    () =>
      taskFiles(task(OUTSIDE + zoneXml(1, undefined, value(22417)) + gridXml(1, 3)), {
        "TASKDATA/GRD00001.BIN": Uint8Array.of(1, 1, 9, 1, 1, 9),
      }),
    /error: 2 cells of the grid of Task TSK1 name zones the task does not have: 9/,
  ],
  [
    "two zones with one code",
    () => taskFiles(task(OUTSIDE + zoneXml(1, A, value(22417)) + zoneXml(1, B, value(16813)))),
    /error: .*more than one zone with the code 1/,
  ],
  [
    "a product that is not there",
    () => taskFiles(task(OUTSIDE + zoneXml(1, A, value(22417).replace("PDT1", "PDT7")))),
    /error: .*PDT7/,
  ],
  [
    "latitude and longitude swapped in task data",
    () =>
      taskFiles(
        task(
          OUTSIDE +
            zoneXml(
              1,
              A.map(([x, y]): Position => [x - 10, y]),
              value(22417),
              true,
            ),
        ),
      ),
    /error: .*longitude and latitude seem swapped/,
  ],
  [
    "a rate that is no number",
    () => taskFiles(task(OUTSIDE + zoneXml(1, A, value("200.5")))),
    /error: A value of zone 1 .*"200\.5" cannot be read/,
  ],
  [
    "a scale that contradicts its unit",
    () =>
      taskFiles(
        task(OUTSIDE + zoneXml(1, A, value(22417, ' E="VPN1"'))),
        {},
        `${HEAD}<VPN A="VPN1" B="0" C="1" D="0" E="kg/ha"/>`,
      ),
    /warning: VPN1 shows DDI 0006 in kg\/ha by a scale of 1; the unit asks for 0\.01/,
    "passes",
  ],
  [
    "task data cut short",
    () => ({"TASKDATA.XML": '<?xml version="1.0"?><ISO11783_TaskData VersionMajor="4"><TSK A="TSK1"'}),
    /TASKDATA\.XML/,
  ],
];

function save(made: Made): string {
  const folder = scratch();
  for (const [name, content] of Object.entries(made)) {
    mkdirSync(dirname(join(folder, name)), {recursive: true});
    writeFileSync(join(folder, name), content);
  }
  return join(folder, Object.keys(made)[0] as string);
}

describe("a broken rate file is named for what it is", () => {
  const cases = BROKEN.map(([name, make, words, outcome = "stops"]) => ({name, make, words, outcome}));
  test.each(cases)("$name", async ({make, words, outcome}) => {
    const {code, stdout, stderr} = await cli("check", save(make()));
    expect(stdout + stderr).toMatch(words);
    expect(stdout + stderr).not.toMatch(/undefined|our fault/);
    expect(code).toBe(outcome === "passes" ? 0 : 3);
  });
});

describe("compared with the field it is for", () => {
  const field = (): string => save({"boundary.geojson": json(feature([box(0, 0.004)], {}))});

  test.each<[string, object[], RegExp, number]>([
    [
      "it fits",
      [feature([A], {RATE: 1e2}), feature([B], {RATE: 90})],
      /0\.00 ac outside it, 0\.00 ac of it in no polygon/,
      0,
    ],
    [
      "it hangs over",
      [feature([A], {RATE: 1e2}), feature([box(0.002, 0.003)], {RATE: 90})],
      /warning: 4\.6\d ac of the polygons lie outside the field/,
      0,
    ],
    ["it leaves ground bare", [feature([A], {RATE: 1e2})], /warning: 9\.\d\d ac of the field lie in no polygon/, 0],
    ["it is for another field", [feature([box(0.05)], {RATE: 1e2})], /error: No polygon lies in the field/, 3],
  ])("%s", async (_, features, words, expected) => {
    const {code, stdout} = await cli("check", save({"a.geojson": json(...features)}), "--field", field());
    expect(stdout).toMatch(words);
    expect(code).toBe(expected);
  });

  test("axes swapped where both are degrees are seen without a field", async () => {
    const swapped = json(feature([A.map(([x, y]) => [y, x])], {RATE: 100}));
    const {code, stderr} = await cli("check", save({"a.geojson": swapped}));
    expect(stderr).toMatch(/longitude and latitude seem to be swapped/);
    expect(code).toBe(3);
  });
});

describe("a column with an odd heading", () => {
  test("is taken for a rate when named", async () => {
    const path = save({"a.geojson": rated([100, -1], "P2")});
    expect((await cli("check", path)).code).toBe(0);
    const {code, stdout} = await cli("check", path, "--rate", "P2");
    expect(stdout).toMatch(/rate P2: −1\.0 to 100\.0/);
    expect(code).toBe(3);
  });

  test("that is not there is asked about", async () => {
    const {code, stderr} = await cli("check", save({"a.geojson": rated([100])}), "--rate", "P2");
    expect(stderr).toMatch(/has no column P2\.[\s\S]*It has RATE/);
    expect(code).toBe(3);
  });
});
