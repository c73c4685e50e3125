import {describe, expect, it} from "vitest";
import {detect} from "../../src/formats/detect.ts";
import {buildShp, buildTiff, buildZip, bytes, gridTags, join, pointRecord} from "./build-files.ts";

const shp = buildShp(1, [pointRecord([-93, 42])]);
const latin = (text: string): Uint8Array => Uint8Array.from([...text].map((c) => c.charCodeAt(0)));
const zipOf = (...names: string[]): Uint8Array => buildZip(names.map((name) => ({name, data: bytes("x")})));

describe("a file is known by what is in it", () => {
  it.each<[string, string, Uint8Array]>([
    ["geojson", "a.txt", bytes('{"type": "FeatureCollection", "features": []}')],
    ["geojson", "a", bytes('\ufeff\n {"features": [{"type":"Feature"}], "type": "FeatureCollection"}')],
    ["geojson", "a.json", bytes('\u001e{"type":"Feature","geometry":null,"properties":{}}\n')],
    [
      "geojson",
      "a.json",
      join(
        [0xff, 0xfe],
        [...'{"type":"Point"}'].flatMap((c) => [c.charCodeAt(0), 0]),
      ),
    ],
    ["geojson", "broken.geojson", bytes("{")],
    ["job", "job.json", bytes('{"field": {"name": "Millrace", "boundary": "b.geojson"}}')],
    ["json", "run.json", bytes('{"kind": "run"}')],
    ["shapefile", "a.dat", shp],
    ["zip", "a.geojson", zipOf("fields/RX.SHP", "fields/RX.DBF")],
    ["geopackage", "a.dat", latin("SQLite format 3\0")],
    ["zipped task data", "a.dat", zipOf("field/Taskdata/taskdata.xml", "field/Taskdata/GRD00001.BIN")],
    ["task data", "a.dat", bytes('\ufeff<?xml version="1.0"?>\n<ISO11783_TaskData VersionMajor="4">')],
    ["geotiff", "a.csv", buildTiff(gridTags(1, 1), new Uint8Array(4))],
    ["geotiff", "big.tif", Uint8Array.from([0x4d, 0x4d, 0, 0x2b])],
    ["csv", "a.dat", bytes("lon,lat\n-86.4,40.55\n")],
    ["csv", "a.csv", latin("Größe;P\n")],
    [
      "csv",
      "a.csv",
      join(
        [0xff, 0xfe],
        [..."a,b\n1,2\n"].flatMap((c) => [c.charCodeAt(0), 0]),
      ),
    ],
    ["gpx", "walk.xml", bytes('<?xml version="1.0"?>\n<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">')],
    ["csv", "a.csv", Uint8Array.from([..."a,b\n1,2\n"].flatMap((c) => [c.charCodeAt(0), 0]))],
  ])("as %s, not by the name %s", (kind, name, data) => expect(detect(data, name)).toBe(kind));
});

describe("a file that is not read is named, with what to do", () => {
  it.each<[string, string, Uint8Array, RegExp]>([
    ["a point cloud", "dem.las", latin("LASF\0\0"), /GeoTIFF/],
    ["a PDF", "lab.pdf", latin("%PDF-1.7"), /CSV/],
    ["a spreadsheet", "lab.xls", latin("\u00d0\u00cf\u0011\u00e0"), /CSV/],
    ["a spreadsheet", "lab.xlsx", zipOf("[Content_Types].xml", "xl/workbook.xml"), /CSV/],
    ["a spreadsheet", "lab.ods", zipOf("mimetype", "content.xml"), /CSV/],
    ["a KML file", "field.kmz", zipOf("doc.kml"), /GeoJSON/],
    [
      "a KML file",
      "field.kml",
      bytes('<?xml version="1.0"?>\n<kml xmlns="http://www.opengis.net/kml/2.2">'),
      /GeoJSON/,
    ],
    ["an XML file", "lab.xml", bytes("\ufeff<Lab/>"), /CSV/],
    ["a web page", "field.geojson", bytes("<!DOCTYPE html><html>"), /sign in/],
    ["a picture", "scan.png", latin("\u0089PNG\r\n"), /behind it/],
    ["a picture", "scan.jpg", latin("\u00ff\u00d8\u00ff"), /behind it/],
    ["packed in a way that is not read", "a.gz", latin("\u001f\u008b"), /zip/],
    ["packed in a way that is not read", "a.7z", latin("7z\u00bc\u00af"), /zip/],
    ["one member of a shapefile", "a.dbf", latin("\u0003abc"), /\.shp/],
    ["not a kind of file that is read here", "a.bin", Uint8Array.from([1, 2, 0, 3, 4, 5, 6, 7, 8, 9]), /CSV/],
    ["a zip with a.geojson, without a shapefile", "a.zip", zipOf("a.geojson"), /Unpack/],
    ["a zip with nothing in it, without a shapefile", "a.zip", buildZip([]), /Unpack/],
  ])("%s", (what, name, data, hint) => {
    let error: {code?: string; message?: string; hint?: string} = {};
    try {
      detect(data, name);
    } catch (thrown) {
      error = thrown as typeof error;
    }
    expect(error).toMatchObject({name: "FieldError", code: "file/unknown", message: `${name} is ${what}.`});
    expect(error.hint).toMatch(hint);
  });

  it("also when it is empty", () => {
    expect(() => detect(new Uint8Array(), "a.csv")).toThrow(expect.objectContaining({code: "file/empty"}));
  });
});
