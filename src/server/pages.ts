import {readdirSync, readFileSync} from "node:fs";
import {join, relative, sep} from "node:path";

/** A file of the page. */
export interface PageFile {
  readonly bytes: Uint8Array;
  readonly type: string;
  /** Its name holds a digest of it, so that it never changes. */
  readonly lasting: boolean;
}

/**
 * The files of the bench. What is asked for is looked up in a list of what is there, never joined to a path.
 *
 * @param folder - Where the page was built to; may not be there.
 */
export function pageFiles(folder: string): (name: string) => PageFile | undefined {
  let listed = list(folder);
  return (name) => {
    // Built again since the server started.
    if (!listed.has(name)) listed = list(folder);
    const path = listed.get(name);
    if (path === undefined) return undefined;
    try {
      return {bytes: new Uint8Array(readFileSync(path)), type: typeOf(name), lasting: name.startsWith("assets/")};
    } catch {
      return undefined;
    }
  };
}

function list(folder: string): Map<string, string> {
  try {
    const entries = readdirSync(folder, {recursive: true, withFileTypes: true});
    const files = entries.filter((entry) => entry.isFile()).map((entry) => join(entry.parentPath, entry.name));
    return new Map(files.map((path) => [relative(folder, path).split(sep).join("/"), path]));
  } catch {
    return new Map();
  }
}

const TYPES: Readonly<Record<string, string>> = {
  html: "text/html; charset=utf-8",
  css: "text/css; charset=utf-8",
  js: "text/javascript; charset=utf-8",
  mjs: "text/javascript; charset=utf-8",
  json: "application/json; charset=utf-8",
  geojson: "application/geo+json",
  csv: "text/csv; charset=utf-8",
  svg: "image/svg+xml",
  png: "image/png",
  ico: "image/x-icon",
  woff: "font/woff",
  woff2: "font/woff2",
  wasm: "application/wasm",
  webmanifest: "application/manifest+json",
  tif: "image/tiff",
  zip: "application/zip",
  gpx: "application/gpx+xml",
  kml: "application/vnd.google-earth.kml+xml",
  gpkg: "application/geopackage+sqlite3",
  xml: "application/xml",
  txt: "text/plain; charset=utf-8",
  md: "text/markdown; charset=utf-8",
};

/** By the ending of a name. */
export function typeOf(name: string): string {
  return TYPES[name.split(".").at(-1)?.toLowerCase() ?? ""] ?? "application/octet-stream";
}
