import {execFileSync} from "node:child_process";
import {existsSync, mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import type {LonLatMultiPolygon} from "../../src/geo/shapes.ts";

// GDAL from Debian's packages, as an independent reader. It is run on files, the way another program would open them.

export interface GdalFeature {
  readonly properties: Record<string, unknown>;
  readonly geometry: {type: "Polygon" | "MultiPolygon" | "Point"; coordinates: unknown};
  /** Area GDAL itself worked out, in square degrees, and whether GEOS under it calls the shape valid. */
  readonly degreeArea: number;
  readonly valid: boolean;
}

export function gdalVersion(): string {
  return execFileSync("ogrinfo", ["--version"], {encoding: "utf8"}).trim();
}

/** Every feature of a vector file as GDAL reads it. */
export function gdalFeatures(path: string): GdalFeature[] {
  return withFolder((folder) => {
    const source = path.endsWith(".zip") ? `/vsizip/${path}` : path;
    const script = join(folder, "read.py");
    writeFileSync(
      script,
      `
import json, sys
from osgeo import ogr
ogr.UseExceptions()
layer_source = ogr.Open(sys.argv[1])
layer = layer_source.GetLayer(0)
rows = []
for feature in layer:
    geometry = feature.GetGeometryRef()
    rows.append({
        "properties": {feature.GetFieldDefnRef(i).GetName(): feature.GetField(i) for i in range(feature.GetFieldCount())},
        "geometry": json.loads(geometry.ExportToJson(["COORDINATE_PRECISION=12"])),
        "degreeArea": geometry.GetArea(),
        "valid": geometry.IsValid(),
    })
print(json.dumps(rows))
`,
    );
    return JSON.parse(
      execFileSync(systemPython(), [script, source], {encoding: "utf8", maxBuffer: 2 ** 28}),
    ) as GdalFeature[];
  });
}

/** `ogrinfo -al -so`: what a person would look at first. */
export function ogrinfo(path: string): string {
  return execFileSync("ogrinfo", ["-al", "-so", path.endsWith(".zip") ? `/vsizip/${path}` : path], {encoding: "utf8"});
}

/** Debian's own Python, which has Debian's GDAL; another Python first on the PATH does not. */
export function systemPython(): string {
  return existsSync("/usr/bin/python3") ? "/usr/bin/python3" : "python3";
}

export function polygonsOf(feature: GdalFeature): LonLatMultiPolygon {
  const {type, coordinates} = feature.geometry;
  if (type === "Polygon") return [coordinates as LonLatMultiPolygon[number]];
  if (type === "MultiPolygon") return coordinates as LonLatMultiPolygon;
  return [];
}

function withFolder<T>(work: (folder: string) => T): T {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-gdal-"));
  try {
    return work(folder);
  } finally {
    rmSync(folder, {recursive: true, force: true});
  }
}
