import {FieldError} from "../errors.ts";
import {endingOf} from "./file-set.ts";
import {isShp, isTiff, isZip} from "./signatures.ts";
import {readDirectory} from "./zip-directory.ts";

export type FileKind =
  | "geojson"
  | "job"
  | "json"
  | "shapefile"
  | "zip"
  | "geopackage"
  | "task data"
  | "zipped task data"
  | "geotiff"
  | "gpx"
  | "csv";

/** A kind of file people try that holds what is needed in a form that is not read, and what to do about it. */
interface Refused {
  readonly test: (start: string, ending: string) => boolean;
  readonly what: string;
  readonly hint: string;
}

const SHEET = {what: "a spreadsheet", hint: "Save the sheet as CSV."};
const KML = {what: "a KML file", hint: "Export the shapes as GeoJSON or shapefile."};
const PACKED = {what: "packed in a way that is not read", hint: "Unpack it, or make a zip of its files."};
const PICTURE = {what: "a picture", hint: "Export the data behind it as GeoJSON, shapefile, CSV or GeoTIFF."};

/** By the first bytes, read as Latin-1. */
const REFUSED: readonly Refused[] = [
  {
    test: (start) => start.startsWith("LASF"),
    what: "a point cloud",
    hint: "Export a bare-earth elevation GeoTIFF from it.",
  },
  {
    test: (start) => start.startsWith("%PDF-"),
    what: "a PDF",
    hint: "Ask for the data behind it as CSV, GeoJSON or shapefile.",
  },
  {test: (start) => start.startsWith("\u00d0\u00cf\u0011\u00e0"), ...SHEET},
  {test: (start) => begins(start, "\u001f\u008b", "7z\u00bc\u00af", "Rar!"), ...PACKED},
  {test: (start) => begins(start, "\u0089PNG", "\u00ff\u00d8\u00ff", "GIF8"), ...PICTURE},
  {
    test: (start) => /^\s*<(!doctype html|html)/i.test(withoutMark(start)),
    what: "a web page",
    hint: "The download went wrong: sign in and download the file again.",
  },
  {test: (start) => /^\s*<[\s\S]*<kml\b/i.test(withoutMark(start)), ...KML},
  {
    test: (start) => /^\s*<[?!a-z]/i.test(withoutMark(start)),
    what: "an XML file",
    hint: "Export the data as CSV, GeoJSON or shapefile.",
  },
  {
    test: (_, ending) => ["dbf", "shx", "prj", "cpg"].includes(ending),
    what: "one member of a shapefile",
    hint: "Name the .shp, or a zip of them all.",
  },
];

const LOOKED_AT = 4000;
const GEOMETRY = "FeatureCollection|Feature|(Multi)?(Point|LineString|Polygon)|GeometryCollection";

/**
 * What a file is, by what is in it more than by its name. `"zip"` is a zip that holds a shapefile, `"geopackage"` any
 * SQLite database, `"task data"` the main document of ISO 11783-10.
 *
 * @throws {FieldError} `file/empty`; `file/unknown` saying what it is and what to do; for zips what `readDirectory`
 *   refuses.
 */
export function detect(bytes: Uint8Array, name: string): FileKind {
  if (bytes.length === 0) {
    throw new FieldError("file/empty", `${name} is empty.`, {place: {file: name}, hint: "Export or copy it again."});
  }
  if (isTiff(bytes)) return "geotiff";
  if (isShp(bytes)) return "shapefile";
  if (isZip(bytes)) return detectZip(bytes, name);
  const start = String.fromCharCode(...bytes.subarray(0, LOOKED_AT));
  if (start.startsWith("SQLite format 3\0")) return "geopackage";
  if (/^\s*<[\s\S]*<ISO11783_TaskData\b/.test(withoutZeros(withoutMark(start)))) return "task data";
  if (/^\s*(<[\s\S]*)?<([a-z]\w*:)?gpx\b/i.test(withoutZeros(withoutMark(start)))) return "gpx";
  const refused = REFUSED.find(({test}) => test(start, endingOf(name)));
  if (refused) throw unknown(name, refused.what, refused.hint);
  const isWide = begins(start, "\u00ff\u00fe", "\u00fe\u00ff");
  const text = withoutMark(isWide ? withoutZeros(start) : start).trimStart();
  if (begins(text, "{", "[", "\u001e")) return jsonKind(text, endingOf(name));
  // Text has no zero bytes, except where every letter has one.
  const zeros = start.length - start.replaceAll("\0", "").length;
  if (!isWide && zeros > 0 && zeros < 0.3 * start.length) {
    throw unknown(
      name,
      "not a kind of file that is read here",
      "GeoJSON, shapefiles (also zipped), GeoPackage, ISO 11783-10 task data, CSV and GeoTIFF are.",
    );
  }
  return "csv";
}

function jsonKind(text: string, ending: string): FileKind {
  if (new RegExp(`"type"\\s*:\\s*"(${GEOMETRY})"`).test(text)) return "geojson";
  if (/"field"\s*:\s*\{/.test(text)) return "job";
  return ending === "geojson" ? "geojson" : "json";
}

function detectZip(bytes: Uint8Array, name: string): FileKind {
  const inside = readDirectory(bytes, name).map((entry) => entry.name);
  const holds = (pattern: RegExp): boolean => inside.some((member) => pattern.test(member));
  if (holds(/\.shp$/i)) return "zip";
  if (holds(/(^|\/)taskdata\.xml$/i)) return "zipped task data";
  if (holds(/^(xl\/|\[Content_Types\]\.xml$|content\.xml$)/i)) throw unknown(name, SHEET.what, SHEET.hint);
  if (holds(/\.kml$/i)) throw unknown(name, KML.what, KML.hint);
  const shown = inside.length > 0 ? `with ${inside.slice(0, 5).join(", ")}` : "with nothing in it";
  throw unknown(name, `a zip ${shown}, without a shapefile`, "Unpack it and give the one file that is needed.");
}

function begins(start: string, ...signs: string[]): boolean {
  return signs.some((sign) => start.startsWith(sign));
}

const withoutZeros = (text: string): string => text.replaceAll("\0", "");

function withoutMark(start: string): string {
  return start.replace(/^(\u00ef\u00bb\u00bf|\u00ff\u00fe|\u00fe\u00ff)/, "");
}

function unknown(name: string, what: string, hint: string): FieldError {
  return new FieldError("file/unknown", `${name} is ${what}.`, {place: {file: name}, hint});
}
