import {describe, expect, it} from "vitest";
import {readShapefile} from "../../src/formats/read-shapefile.ts";
import {type DbfColumn, dbfNames} from "../../src/formats/write-dbf.ts";
import {fileStem, writeShapefile} from "../../src/formats/write-shapefile.ts";
import {crsFromEpsg, WGS84} from "../../src/geo/crs.ts";
import type {Feature, FeatureSet} from "../../src/geo/features.ts";
import {
  buildDbf,
  buildShp,
  buildShx,
  buildZip,
  bytes,
  coordinatesOf,
  nullRecord,
  type Position,
  pointRecord,
  polygonRecord,
  WGS84_PRJ,
} from "./build-files.ts";

// Field T of the check values: an outer ring with a hole, and a second square Q; clockwise as a shapefile wants them.
const outer: Position[] = [
  [-93, 42],
  [-93, 42.01],
  [-92.99, 42.01],
  [-92.99, 42],
  [-93, 42],
];
const hole: Position[] = [
  [-92.997, 42.003],
  [-92.993, 42.003],
  [-92.993, 42.007],
  [-92.997, 42.007],
  [-92.997, 42.003],
];
const second: Position[] = [
  [-92.98, 42],
  [-92.98, 42.01],
  [-92.97, 42.01],
  [-92.97, 42],
  [-92.98, 42],
];
const reversed = (ring: readonly Position[]): Position[] => [...ring].reverse();

const set: FeatureSet = {
  name: "rx",
  features: [
    {
      geometry: {type: "Polygon", coordinates: [reversed(outer), reversed(hole)]},
      properties: {Rate: 200, Zone: 1, Product: "MAP 11-52-0"},
    },
    {geometry: {type: "Polygon", coordinates: [reversed(second)]}, properties: {Rate: 150, Zone: 2, Product: "MAP"}},
  ],
};
const columns: DbfColumn[] = [
  {name: "Rate", type: "N", width: 10, decimals: 2},
  {name: "Zone", type: "N", width: 4},
  {name: "Product", type: "C", width: 20},
];

const hex = (data: Uint8Array | undefined, from = 0, to?: number): string =>
  Buffer.from(data ?? [])
    .subarray(from, to)
    .toString("hex")
    .replace(/../g, "$& ")
    .trim();
const latin = (data: Uint8Array | undefined, from: number, to: number): string =>
  Buffer.from(data ?? [])
    .subarray(from, to)
    .toString("latin1");

describe("the bytes of a written shapefile", () => {
  // ESRI Shapefile Technical Description (July 1998) and dBase III; the values were confirmed with GDAL 3.6.2.
  const {value} = writeShapefile(set, columns, {dated: [2024, 11, 25]});
  const member = (ending: string): Uint8Array => value.members.get(`rx.${ending}`) as Uint8Array;

  it("have the header of the .shp", () => {
    const shp = member("shp");
    expect(hex(shp, 0, 4)).toBe("00 00 27 0a");
    expect(shp).toHaveLength(456);
    expect(hex(shp, 24, 28)).toBe("00 00 00 e4");
    expect(hex(shp, 28, 36)).toBe("e8 03 00 00 05 00 00 00");
    expect(hex(shp, 36, 68)).toBe(
      "00 00 00 00 00 40 57 c0 00 00 00 00 00 00 45 40 ae 47 e1 7a 14 3e 57 c0 e1 7a 14 ae 47 01 45 40",
    );
    expect(hex(shp, 68, 100)).toBe(Array(32).fill("00").join(" "));
  });

  it("have numbered records with their parts", () => {
    const shp = member("shp");
    expect(hex(shp, 100, 108)).toBe("00 00 00 01 00 00 00 6a");
    expect(hex(shp, 144, 160)).toBe("02 00 00 00 0a 00 00 00 00 00 00 00 05 00 00 00");
    // words = 22 + 2 parts + 8 points: 106 for (2, 10), 64 for (1, 5)
    expect(hex(shp, 320, 328)).toBe("00 00 00 02 00 00 00 40");
  });

  it("wind outer rings clockwise and holes the other way", () => {
    const view = new DataView(member("shp").buffer);
    const area = (at: number): number => {
      let sum = 0;
      for (let i = 0; i < 4; i++) {
        const x = (k: number) => view.getFloat64(at + 16 * k, true);
        const y = (k: number) => view.getFloat64(at + 16 * k + 8, true);
        sum += x(i) * y(i + 1) - x(i + 1) * y(i);
      }
      return sum / 2;
    };
    expect(area(160)).toBeCloseTo(-1e-4, 12);
    expect(area(240)).toBeCloseTo(1.6e-5, 12);
  });

  it("have an index that fits", () => {
    const shx = member("shx");
    expect(shx).toHaveLength(116);
    expect(hex(shx, 24, 28)).toBe("00 00 00 3a");
    expect(hex(shx, 100)).toBe("00 00 00 32 00 00 00 6a 00 00 00 a0 00 00 00 40");
    expect(hex(shx, 28, 68)).toBe(hex(member("shp"), 28, 68));
  });

  it("have a table of typed columns", () => {
    const dbf = member("dbf");
    expect(hex(dbf, 0, 12)).toBe("03 7c 0b 19 02 00 00 00 81 00 23 00");
    expect(hex(dbf, 32, 50)).toBe("52 41 54 45 00 00 00 00 00 00 00 4e 00 00 00 00 0a 02"); // RATE
    expect(dbf[128]).toBe(0x0d);
    expect(latin(dbf, 129, 164)).toBe("     200.00   1MAP 11-52-0         ");
    expect(dbf.at(-1)).toBe(0x1a);
    expect(dbf).toHaveLength(200);
  });

  it("say WGS 84 and UTF-8", () => {
    expect(member("prj")).toHaveLength(145);
    expect(latin(member("prj"), 0, 145)).toBe(WGS84_PRJ);
    expect(hex(member("cpg"))).toBe("55 54 46 2d 38");
  });

  it("stand at the root of a zip, the same bytes each time", () => {
    expect(hex(value.zip, 0, 4)).toBe("50 4b 03 04");
    expect(hex(value.zip, value.zip.length - 22, value.zip.length - 18)).toBe("50 4b 05 06");
    expect([...value.members.keys()]).toEqual(["rx.shp", "rx.shx", "rx.dbf", "rx.prj", "rx.cpg"]);
    expect(writeShapefile(set, columns, {dated: [2024, 11, 25]}).value.zip).toEqual(value.zip);
  });

  it("write a point as 28 bytes", () => {
    const points: FeatureSet = {
      name: "cores",
      features: [{geometry: {type: "Point", coordinates: [-93, 42]}, properties: {Zone: 1}}],
    };
    const shp = writeShapefile(points, [{name: "Zone", type: "N", width: 4}]).value.members.get("cores.shp");
    expect(hex(shp, 32, 36)).toBe("01 00 00 00");
    expect(hex(shp, 100)).toBe("00 00 00 01 00 00 00 0a 01 00 00 00 00 00 00 00 00 40 57 c0 00 00 00 00 00 00 45 40");
  });

  it("join runs of records without a seam", () => {
    const features = Array.from({length: 700}, (_, i): Feature => {
      const x = -93 + i * 1e-4;
      return {
        geometry: {
          type: "Polygon",
          coordinates: [
            [
              [x, 42],
              [x + 1e-4, 42],
              [x + 1e-4, 42.01],
              [x, 42.01],
              [x, 42],
            ],
          ],
        },
        properties: {Rate: i},
      };
    });
    const written = writeShapefile({name: "many", features}, [{name: "Rate", type: "N", width: 6}]).value;
    const read = readShapefile(new Map([["many.zip", written.zip]]), "many.zip");
    expect(read.issues).toEqual([]);
    expect(read.value.features.map(({properties}) => properties.RATE)).toEqual(features.map((_, i) => i));
    const shp = new DataView((written.members.get("many.shp") as Uint8Array).buffer);
    expect([36, 44, 52, 60].map((at) => shp.getFloat64(at, true))).toEqual([-93, 42, -92.93, 42.01]);
  });
});

describe("the table of a written shapefile", () => {
  const write = (properties: Feature["properties"], column: DbfColumn) => {
    const feature: Feature = {geometry: {type: "Point", coordinates: [0, 1]}, properties};
    const {value, issues} = writeShapefile({name: "x", features: [feature]}, [column]);
    return {dbf: value.members.get("x.dbf") as Uint8Array, issues};
  };
  const cell = (dbf: Uint8Array): string => Buffer.from(dbf).subarray(66, -1).toString("utf8");

  it("refuses a number that does not fit instead of cutting it", () => {
    const column: DbfColumn = {name: "r", type: "N", width: 6, decimals: 2};
    expect(cell(write({r: 999.99}, column).dbf)).toBe("999.99");
    expect(cell(write({r: -99.99}, column).dbf)).toBe("-99.99");
    for (const r of [1000, 999.995, -100, 1e21]) {
      expect(() => write({r}, column)).toThrow(expect.objectContaining({code: "export/number-too-wide"}));
    }
  });

  it("rounds half away from zero and writes no minus zero", () => {
    const column: DbfColumn = {name: "r", type: "N", width: 6, decimals: 2};
    expect(cell(write({r: 1.005}, column).dbf)).toBe("  1.01");
    expect(cell(write({r: -1.005}, column).dbf)).toBe(" -1.01");
    expect(cell(write({r: -0.001}, column).dbf)).toBe("  0.00");
  });

  it("marks a missing number with asterisks, which no reader takes for zero", () => {
    const column: DbfColumn = {name: "r", type: "N", width: 10, decimals: 2};
    for (const r of [null, Number.NaN]) expect(cell(write({r}, column).dbf)).toBe("**********");
    expect(cell(write({}, column).dbf)).toBe("**********");
  });

  it("cuts long text between characters and says so", () => {
    const {dbf, issues} = write({t: "Größe 土壤"}, {name: "t", type: "C", width: 11});
    // "Größe " is 8 bytes, each of the two characters 3: the second does not fit.
    expect(cell(dbf)).toBe("Größe 土");
    expect(issues.map(({code}) => code)).toEqual(["export/text-cut"]);
    expect(cell(write({t: "a\nb"}, {name: "t", type: "C", width: 4}).dbf)).toBe("a b ");
  });

  it("makes distinct names of at most ten letters", () => {
    expect(dbfNames(["verylongname1", "verylongname2", "Rate (lb/ac)", "2026", "rate", "Rate"])).toEqual([
      "VERYLONGNA",
      "VERYLONG_2",
      "RATE__LB_A",
      "F2026",
      "RATE",
      "RATE_2",
    ]);
  });

  it("belongs to shapes of one kind, and to some", () => {
    const at = (geometry: Feature["geometry"]): Feature => ({geometry, properties: {}});
    const one: DbfColumn[] = [{name: "r", type: "N", width: 3}];
    const point = at({type: "Point", coordinates: [0, 0]});
    const line = at({
      type: "LineString",
      coordinates: [
        [0, 0],
        [1, 1],
      ],
    });
    for (const features of [[point, line], [line], [set.features[0] as Feature, point]]) {
      expect(() => writeShapefile({name: "x", features}, one)).toThrow(
        expect.objectContaining({code: "export/mixed-shapes"}),
      );
    }
    expect(() => writeShapefile({name: "x", features: []}, one)).toThrow(
      expect.objectContaining({code: "export/empty"}),
    );
  });

  it("is named safely", () => {
    expect(fileStem("Kiln Forty, N½")).toBe("kiln-forty-n1-2");
    expect(fileStem("Große Wiese")).toBe("gro-e-wiese");
    expect(fileStem("con")).toBe("file-con");
    expect(fileStem("土壤")).toBe("file");
    expect(fileStem("x".repeat(99))).toHaveLength(40);
    expect(() => writeShapefile({...set, name: "../x"}, columns)).toThrow(/cannot name/);
  });
});

describe("a shapefile is read", () => {
  const dbfOf = (...rates: number[]): Uint8Array =>
    buildDbf(
      [{name: "RATE", type: "N", width: 10, decimals: 2}],
      rates.map((rate) => [rate.toFixed(2)]),
    );
  const files = (records: readonly Uint8Array[], more: Record<string, Uint8Array> = {}, type = 5) =>
    new Map(
      Object.entries({
        "rx.shp": buildShp(type, records),
        "rx.shx": buildShx(type, records),
        "rx.dbf": dbfOf(...records.map((_, i) => 100 + i)),
        "rx.prj": bytes(WGS84_PRJ),
        ...more,
      }),
    );

  it("with its attributes, in GeoJSON's winding", () => {
    const {value, issues} = readShapefile(files([polygonRecord([outer, hole]), polygonRecord([second])]), "rx.shp");
    expect(issues).toEqual([]);
    expect(value.name).toBe("rx");
    expect(value.features).toEqual([
      {geometry: {type: "Polygon", coordinates: [reversed(outer), reversed(hole)]}, properties: {RATE: 100}},
      {geometry: {type: "Polygon", coordinates: [reversed(second)]}, properties: {RATE: 101}},
    ]);
  });

  it("from a zip, in any case, past what file managers add", () => {
    const members = [...files([polygonRecord([outer])])].map(([name, data]) => ({
      name: `north/${name.toUpperCase()}`,
      data,
      deflate: true,
    }));
    const zip = buildZip([
      {name: "north/", data: new Uint8Array()},
      ...members,
      {name: "__MACOSX/north/._RX.SHP", data: bytes("x")},
      {name: "north/.DS_Store", data: bytes("x")},
    ]);
    expect(readShapefile(new Map([["a.zip", zip]]), "a.zip").value.features).toHaveLength(1);
  });

  it("from a zip of several when the layer is named", () => {
    const both = ["fields/rx", "fields/boundary"].flatMap((stem) =>
      [...files([polygonRecord([outer])])].map(([name, data]) => ({name: `${stem}${name.slice(2)}`, data})),
    );
    const zip = new Map([["a.zip", buildZip(both)]]);
    expect(() => readShapefile(zip, "a.zip")).toThrow(expect.objectContaining({code: "shp/several"}));
    for (const layer of ["boundary", "Boundary.shp", "fields/boundary"]) {
      expect(readShapefile(zip, "a.zip", {layer}).value.name).toBe("boundary");
    }
    expect(() => readShapefile(zip, "a.zip", {layer: "boundry"})).toThrow(
      expect.objectContaining({code: "shp/no-such-layer", hint: 'Did you mean "boundary"?'}),
    );
  });

  it("with all rings the wrong way round, holes still holes", () => {
    const {value, issues} = readShapefile(files([polygonRecord([reversed(outer), reversed(hole)])]), "rx.shp");
    expect(value.features[0]?.geometry).toEqual({type: "Polygon", coordinates: [reversed(outer), reversed(hole)]});
    expect(issues.map(({code}) => code)).toEqual(["shp/winding"]);
  });

  it("with each hole in the part that really holds it", () => {
    // Two interlocking L shapes: both boxes hold the hole, only the second shape does.
    const l1: Position[] = [
      [0, 0],
      [0, 10],
      [2, 10],
      [2, 2],
      [10, 2],
      [10, 0],
      [0, 0],
    ];
    const l2: Position[] = [
      [3, 3],
      [3, 10],
      [10, 10],
      [10, 3],
      [3, 3],
    ];
    const inL2: Position[] = [
      [5, 5],
      [6, 5],
      [6, 6],
      [5, 6],
      [5, 5],
    ];
    const {value} = readShapefile(files([polygonRecord([l1, l2, inL2])]), "rx.shp", {crs: WGS84});
    const parts = coordinatesOf(value) as Position[][][];
    expect(parts.map((part) => part.length)).toEqual([1, 2]);
    // An island in a lake in an island, rings in no order.
    const ringAt = (d: number): Position[] => [
      [d, d],
      [d, 20 - d],
      [20 - d, 20 - d],
      [20 - d, d],
      [d, d],
    ];
    const nested = readShapefile(
      files([polygonRecord([reversed(ringAt(6)), ringAt(4), ringAt(0), reversed(ringAt(2))])]),
      "rx.shp",
      {crs: WGS84},
    );
    expect((coordinatesOf(nested.value) as Position[][][]).map((p) => p.map((r) => r[0]?.[0]))).toEqual([
      [4, 6],
      [0, 2],
    ]);
  });

  it("with a hole that touches its outer ring", () => {
    const box: Position[] = [
      [0, 0],
      [0, 10],
      [10, 10],
      [10, 0],
      [0, 0],
    ];
    const touching: Position[] = [
      [0, 5],
      [5, 0],
      [10, 5],
      [5, 10],
      [0, 5],
    ];
    const {value} = readShapefile(files([polygonRecord([box, touching])]), "rx.shp");
    expect((coordinatesOf(value) as Position[][]).length).toBe(2);
  });

  it("with null shapes and deleted rows left out, attributes staying with their shapes", () => {
    const records = [polygonRecord([outer]), nullRecord(), polygonRecord([second]), polygonRecord([hole])];
    const dbf = buildDbf([{name: "RATE", type: "N", width: 10}], [["1"], ["2"], ["3"], ["4"]], {deleted: [3]});
    const {value, issues} = readShapefile(files(records, {"rx.dbf": dbf}), "rx.shp");
    expect(value.features.map(({properties}) => properties.RATE)).toEqual([1, 3]);
    expect(issues.map(({code}) => code)).toEqual(["shp/null-shape", "shp/deleted-row"]);
  });

  it("with flat rings left out and open rings closed", () => {
    const flat: Position[] = [
      [0, 0],
      [1, 1],
      [0, 0],
      [0, 0],
    ];
    const {value, issues} = readShapefile(files([polygonRecord([outer.slice(0, 4), flat])]), "rx.shp");
    expect((coordinatesOf(value) as Position[][]).map((ring) => ring.length)).toEqual([5]);
    expect(issues.map(({code}) => code)).toEqual(["shp/flat-ring", "shp/ring-closed"]);
  });

  it("with points, in the coordinate system of the .prj or the user's", async () => {
    const utm = await crsFromEpsg(26916);
    // PROJ 9.1.1: EPSG:26916 of -86.4, 40.55.
    const record = [pointRecord([550802.6946, 4488977.6823])];
    const prj = bytes(
      'PROJCS["NAD_1983_UTM_Zone_16N",GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-87.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]',
    );
    for (const [found, options] of [
      [files(record, {"rx.prj": prj}, 1), {}],
      [files(record, {}, 1), {crs: utm}],
    ] as const) {
      const {value, issues} = readShapefile(found, "rx.shp", options);
      const [lon, lat] = coordinatesOf(value) as Position;
      expect(lon).toBeCloseTo(-86.4, 8);
      expect(lat).toBeCloseTo(40.55, 8);
      expect(issues.map(({code}) => code)).toEqual(["crs/datum-near-wgs84"]);
    }
  });

  it("without its table or index, with a remark", () => {
    const found = files([polygonRecord([outer])]);
    found.delete("rx.dbf");
    found.delete("rx.shx");
    const {value, issues} = readShapefile(found, "rx.shp");
    expect(value.features[0]?.properties).toEqual({});
    expect(issues.map(({code, severity}) => `${severity} ${code}`)).toEqual(["note shp/no-shx", "warning shp/no-dbf"]);
  });
});
