import {FieldError} from "../errors.ts";
import {endingOf} from "./file-set.ts";
import {isShp, isTiff, isZip} from "./signatures.ts";

export type FileKind = "geojson" | "job" | "json" | "shapefile" | "zip" | "geotiff" | "csv";

/** Files people try that hold what we need in a form we do not read, and what to do about each. */
const REFUSED: readonly {
  readonly test: (bytes: Uint8Array, ending: string) => boolean;
  readonly what: string;
  readonly hint: string;
}[] = [
  {test: (b) => text(b, 4) === "LASF", what: "a point cloud", hint: "Export a bare-earth elevation GeoTIFF from it."},
  {
    test: (b) => text(b, 16) === "SQLite format 3\0",
    what: "a GeoPackage or database",
    hint: "Export the layer as GeoJSON or shapefile.",
  },
  {
    test: (b) => text(b, 5) === "%PDF-",
    what: "a PDF",
    hint: "Ask for the data behind it as CSV, GeoJSON or shapefile.",
  },
  {test: (_, e) => e === "xlsx" || e === "xls", what: "a spreadsheet", hint: "Save the sheet as CSV."},
  {test: (_, e) => e === "kml" || e === "kmz", what: "a KML file", hint: "Export the shapes as GeoJSON or shapefile."},
  {
    test: (b) => /^\s*(\uFEFF)?<\?xml|^\s*<[a-z]/i.test(text(b, 200)),
    what: "an XML file",
    hint: "Export the data as CSV, GeoJSON or shapefile.",
  },
];

/**
 * What a file is, by what is in it more than by its name.
 *
 * @throws {FieldError} `file/empty`, `file/unknown` saying what it is and what to do.
 */
export function detect(bytes: Uint8Array, name: string): FileKind {
  const ending = endingOf(name);
  const place = {file: name};
  if (bytes.length === 0) throw new FieldError("file/empty", `${name} is empty.`, {place, hint: "Export it again."});
  if (isTiff(bytes)) return "geotiff";
  if (isShp(bytes)) return "shapefile";
  for (const {test, what, hint} of REFUSED) {
    if (test(bytes, ending)) throw new FieldError("file/unknown", `${name} is ${what}.`, {place, hint});
  }
  if (isZip(bytes)) return "zip";
  const start = text(bytes, 4000)
    .replace(/^\uFEFF|^\u00ef\u00bb\u00bf/, "")
    .trimStart();
  if (start.startsWith("{") || start.startsWith("[") || start.startsWith("\u001e")) {
    if (
      /"type"\s*:\s*"(FeatureCollection|Feature|Polygon|MultiPolygon|Point|MultiPoint|LineString|MultiLineString|GeometryCollection)"/.test(
        start,
      )
    ) {
      return "geojson";
    }
    if (/"field"\s*:\s*\{/.test(start)) return "job";
    return ending === "geojson" ? "geojson" : "json";
  }
  if (["dbf", "shx", "prj", "cpg"].includes(ending)) {
    throw new FieldError("file/unknown", `${name} is one member of a shapefile.`, {
      place,
      hint: "Name the .shp, or a zip of them all.",
    });
  }
  if (bytes.subarray(0, 4000).includes(0) && text(bytes, 2) !== "\u00ff\u00fe" && text(bytes, 2) !== "\u00fe\u00ff") {
    throw new FieldError("file/unknown", `${name} is not a kind of file that is read here.`, {
      place,
      hint: "GeoJSON, shapefiles (also zipped), CSV and GeoTIFF are.",
    });
  }
  return "csv";
}

/** The first bytes as Latin-1. */
function text(bytes: Uint8Array, length: number): string {
  return String.fromCharCode(...bytes.subarray(0, length));
}
