import {describe, expect, it} from "vitest";
import {
  type Crs,
  crsFromEpsg,
  crsFromText,
  crsFromWkt,
  crsLocal,
  isWgs84,
  transformBetween,
  WGS84,
} from "../../src/geo/crs.ts";
import {frameAt, frameProjString} from "../../src/geo/frame.ts";

/** Easting and northing of a longitude and latitude. */
function project(crs: Crs, lon: number, lat: number): readonly [number, number] {
  return transformBetween(WGS84.definition, crs.definition).forward(lon, lat);
}

function codeOf(work: () => unknown): unknown {
  try {
    work();
  } catch (error) {
    expect((error as Error).name).toBe("FieldError");
    return (error as {code: string}).code;
  }
  return undefined;
}

async function codeOfAsync(work: () => Promise<unknown>): Promise<unknown> {
  try {
    await work();
  } catch (error) {
    expect((error as Error).name).toBe("FieldError");
    return (error as {code: string}).code;
  }
  return undefined;
}

const geogcs = (datum: string, a: number, rf: number): string =>
  `GEOGCS["GCS_X",DATUM["${datum}",SPHEROID["S",${a},${rf}]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]`;
const NAD83 = geogcs("D_North_American_1983", 6378137, 298.257222101);

describe("a coordinate system by its EPSG code", () => {
  // PROJ 9.1.1: echo "LAT LON" | cs2cs -f %.4f EPSG:4326 EPSG:CODE
  it.each([
    [32616, -86.4, 40.55, 550802.6946, 4488977.6824],
    [26916, -86.4, 40.55, 550802.6946, 4488977.6823],
    [32733, 18.5, -33.9, 823672.3013, 6243413.7422],
    [6344, -93.6, 42.0, 450309.3304, 4649950.3223],
    [25832, 8.4, 51.4, 458261.4437, 5694478.7272],
    [7855, 147.1, -36.2, 508989.9516, 5993863.619],
    [3857, -93.2, 42.1, -10374976.5419, 5175970.7492],
    [2965, -85.9, 40.3, 263001.0805, 1840068.1938],
    [3435, -88.1, 40.1, 1049524.3093, 1250422.9886],
    [2227, -121.3, 37.9, 6330841.4275, 2151159.2263],
    [6487, -76.7, 39.2, 425913.6682, 170251.3332],
    [5070, -96.5, 41.2, -41603.9695, 2021493.2558],
    [6350, -96.5, 41.2, -41603.9695, 2021493.2558],
    [3078, -84.5, 43.1, 621922.8998, 284343.1242],
    [26931, -135.2, 58.3, 728773.2077, 720879.1587],
  ])("EPSG:%i agrees with PROJ 9.1.1 within a centimetre", async (code, lon, lat, easting, northing) => {
    const crs = await crsFromEpsg(code);
    const [x, y] = project(crs, lon, lat);
    const tolerance = crs.units === "metres" ? 0.01 : 0.03;
    expect(Math.abs(x - easting)).toBeLessThan(tolerance);
    expect(Math.abs(y - northing)).toBeLessThan(tolerance);
    const [backLon, backLat] = transformBetween(crs.definition, WGS84.definition).forward(x, y);
    expect(Math.abs(backLon - lon)).toBeLessThan(1e-9);
    expect(Math.abs(backLat - lat)).toBeLessThan(1e-9);
  });

  it("knows feet from metres", async () => {
    expect((await crsFromEpsg(2965)).units).toBe("us-feet");
    expect((await crsFromEpsg(2222)).units).toBe("feet"); // Arizona East, international feet
    expect((await crsFromEpsg(26916)).units).toBe("metres");
  });

  it("takes the North American and other modern datums as WGS 84, and says so", async () => {
    const nad83 = await crsFromEpsg(4269);
    expect(isWgs84(nad83)).toBe(true);
    expect(nad83.name).toBe("EPSG:4269");
    expect(nad83.remark).toMatchObject({code: "crs/datum-near-wgs84", severity: "note"});
    expect(await crsFromEpsg(4326)).toBe(WGS84);
    expect((await crsFromEpsg(32616)).remark).toBeUndefined();
  });

  it("warns where an old datum is brought over by one shift for a country", async () => {
    // PROJ 9.1.1 with the same seven parameters: within 5 m of its own best way at this place.
    const crs = await crsFromEpsg(27700);
    expect(crs.remark).toMatchObject({code: "crs/datum-shifted", severity: "warning"});
    const [x, y] = project(crs, -1.5, 52.4);
    expect(Math.hypot(x - 434116.377, y - 278115.9235)).toBeLessThan(5);
  });

  it("refuses what cannot be brought to WGS 84 well enough", async () => {
    expect(await codeOfAsync(() => crsFromEpsg(26716))).toBe("crs/unknown-datum"); // NAD27
    expect(await codeOfAsync(() => crsFromEpsg(4267))).toBe("crs/unknown-datum");
    expect(await codeOfAsync(() => crsFromEpsg(2046))).toMatch(/crs\/(axis|unsupported-projection)/); // counts south
    expect(await codeOfAsync(() => crsFromEpsg(3031))).toBe("crs/unsupported-projection");
  });

  it("refuses codes that are none", async () => {
    for (const code of [0, 99999, 1.5, -4326, Number.NaN, 4979]) {
      expect(await codeOfAsync(() => crsFromEpsg(code))).toBe("crs/unknown-code");
    }
  });
});

describe("a coordinate system from well-known text", () => {
  const utm = `PROJCS["NAD_1983_UTM_Zone_16N",${NAD83},PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-87.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`;

  it("reads the text of a .prj", () => {
    const crs = crsFromWkt(utm);
    expect(crs.name).toBe("NAD_1983_UTM_Zone_16N");
    expect(crs.units).toBe("metres");
    const [x, y] = project(crs, -86.4, 40.55);
    expect(Math.abs(x - 550802.6946)).toBeLessThan(0.01);
    expect(Math.abs(y - 4488977.6823)).toBeLessThan(0.01);
  });

  it("keeps survey feet", () => {
    const crs = crsFromWkt(
      `PROJCS["NAD_1983_StatePlane_California_III_FIPS_0403_Feet",${NAD83},PROJECTION["Lambert_Conformal_Conic"],PARAMETER["False_Easting",6561666.666666666],PARAMETER["False_Northing",1640416.666666667],PARAMETER["Central_Meridian",-120.5],PARAMETER["Standard_Parallel_1",37.06666666666667],PARAMETER["Standard_Parallel_2",38.43333333333333],PARAMETER["Latitude_Of_Origin",36.5],UNIT["Foot_US",0.3048006096012192]]`,
    );
    expect(crs.units).toBe("us-feet");
    const [x, y] = project(crs, -121.3, 37.9);
    expect(Math.abs(x - 6330841.4275)).toBeLessThan(0.03);
    expect(Math.abs(y - 2151159.2263)).toBeLessThan(0.03);
  });

  it("leaves degrees on a modern datum as they are, to the last digit", () => {
    const crs = crsFromWkt(NAD83);
    expect(isWgs84(crs)).toBe(true);
    expect(crs.units).toBe("degrees");
  });

  it("takes the horizontal part of a compound system, in either version of the notation", () => {
    expect(
      crsFromWkt(`COMPD_CS["x + height",${utm},VERT_CS["NAVD88",VERT_DATUM["d",2005],UNIT["metre",1]]]`).units,
    ).toBe("metres");
    const wkt2 = `PROJCRS["NAD83 / UTM zone 16N",BASEGEOGCRS["NAD83",DATUM["North American Datum 1983",ELLIPSOID["GRS 1980",6378137,298.257222101,LENGTHUNIT["metre",1]]],PRIMEM["Greenwich",0,ANGLEUNIT["degree",0.0174532925199433]]],CONVERSION["UTM zone 16N",METHOD["Transverse Mercator",ID["EPSG",9807]],PARAMETER["Latitude of natural origin",0,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8801]],PARAMETER["Longitude of natural origin",-87,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8802]],PARAMETER["Scale factor at natural origin",0.9996,SCALEUNIT["unity",1],ID["EPSG",8805]],PARAMETER["False easting",500000,LENGTHUNIT["metre",1],ID["EPSG",8806]],PARAMETER["False northing",0,LENGTHUNIT["metre",1],ID["EPSG",8807]]],CS[Cartesian,2],AXIS["(E)",east,ORDER[1],LENGTHUNIT["metre",1]],AXIS["(N)",north,ORDER[2],LENGTHUNIT["metre",1]]]`;
    const [x, y] = project(crsFromWkt(wkt2), -86.4, 40.55);
    expect(Math.hypot(x - 550802.6946, y - 4488977.6823)).toBeLessThan(0.01);
  });

  it("refuses datums whose shift is not known", () => {
    // The library underneath would pass these through unshifted: 27 to 127 m off.
    expect(codeOf(() => crsFromWkt(geogcs("D_North_American_1927", 6378206.4, 294.9786982)))).toBe("crs/unknown-datum");
    const gauss = `PROJCS["DHDN_3_Degree_Gauss_Zone_3",${geogcs("D_Deutsches_Hauptdreiecksnetz", 6377397.155, 299.1528128)},PROJECTION["Gauss_Kruger"],PARAMETER["False_Easting",3500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",9.0],PARAMETER["Scale_Factor",1.0],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`;
    expect(codeOf(() => crsFromWkt(gauss))).toBe("crs/unknown-datum");
    // Shares the modern ellipsoid but lies 340 m off.
    expect(codeOf(() => crsFromWkt(geogcs("D_GGRS_1987", 6378137, 298.257222101)))).toBe("crs/unknown-datum");
  });

  it("refuses projections and units it would get wrong", () => {
    const other = (projection: string, unit = 'UNIT["Meter",1.0]'): string =>
      `PROJCS["X",${NAD83},PROJECTION["${projection}"],PARAMETER["Central_Meridian",-87.0],PARAMETER["Latitude_Of_Origin",40.0],${unit}]`;
    expect(codeOf(() => crsFromWkt(other("Stereographic_North_Pole")))).toBe("crs/unsupported-projection");
    expect(codeOf(() => crsFromWkt(other("Hotine_Oblique_Mercator_Azimuth_Natural_Origin")))).toBe(
      "crs/unsupported-projection",
    );
    expect(codeOf(() => crsFromWkt(other("Transverse_Mercator", 'UNIT["Chain",20.1168]')))).toBe("crs/unknown-unit");
    expect(codeOf(() => crsFromWkt(NAD83.replace('["Greenwich",0.0]', '["Paris",2.33722917]')))).toBe(
      "crs/prime-meridian",
    );
  });

  it("refuses text that is no coordinate system, however it is broken", () => {
    const broken = [
      "",
      "garbage",
      "GEOGCS[",
      'GEOGCS["x"',
      "PROJCS[]",
      "[[[[",
      "]".repeat(50),
      'LOCAL_CS["plan",UNIT["m",1]]',
    ];
    for (const text of [...broken, "[".repeat(100_000), `GEOGCS["${"x".repeat(20_000)}"]`]) {
      expect(codeOf(() => crsFromWkt(text))).toMatch(/^crs\//);
    }
    for (let length = 0; length < utm.length; length += 7)
      expect(codeOf(() => crsFromWkt(utm.slice(0, length)))).toMatch(/^crs\//);
  });
});

describe("a coordinate system in words", () => {
  it("understands codes, the common names of WGS 84, and WKT", async () => {
    expect((await crsFromText("EPSG:26916")).name).toBe("EPSG:26916");
    expect((await crsFromText(" epsg:26916 ")).name).toBe("EPSG:26916");
    expect((await crsFromText("urn:ogc:def:crs:EPSG::26916")).name).toBe("EPSG:26916");
    expect((await crsFromText("http://www.opengis.net/def/crs/EPSG/0/26916")).name).toBe("EPSG:26916");
    for (const text of ["WGS 84", "wgs84", "WGS_1984", "CRS84", "OGC:CRS84", "urn:ogc:def:crs:OGC:1.3:CRS84"]) {
      expect(await crsFromText(text)).toBe(WGS84);
    }
    expect(isWgs84(await crsFromText(NAD83))).toBe(true);
  });

  it("understands metres about a point", async () => {
    const crs = await crsFromText("local metres at -86.4, 40.55");
    expect(crs).toEqual(crsLocal(-86.4, 40.55));
    // Exactly the frame that a field centred there would have.
    expect(crs.definition).toBe(frameProjString(frameAt(-86.4, 40.55)));
    const {forward} = transformBetween(crs.definition, WGS84.definition);
    expect(forward(0, 0)[0]).toBeCloseTo(-86.4, 12);
    expect(forward(0, 0)[1]).toBeCloseTo(40.55, 12);
    // By hand: 100 m along the meridian, with its radius a (1 - e²) / (1 - e² sin² lat)^1.5 at the middle.
    const e2 = 0.0066943799901413165;
    const middle = ((40.55 + 0.00045) * Math.PI) / 180;
    const radius = (6378137 * (1 - e2)) / (1 - e2 * Math.sin(middle) ** 2) ** 1.5;
    expect(((forward(0, 100)[1] - 40.55) * Math.PI * radius) / 180).toBeCloseTo(100, 5);
  });

  it("refuses other words with the reason", async () => {
    expect(await codeOfAsync(() => crsFromText("UTM 16"))).toBe("crs/not-understood");
    expect(await codeOfAsync(() => crsFromText(""))).toBe("crs/not-understood");
    expect(await codeOfAsync(() => crsFromText("local metres at 40.55, -186.4"))).toBe("crs/not-a-place");
    expect(await codeOfAsync(() => crsFromText("local metres at 40.55, -86.4"))).toBe("crs/not-a-place");
  });
});
