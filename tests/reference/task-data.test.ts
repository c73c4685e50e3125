import {execFileSync} from "node:child_process";
import {mkdirSync, mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {dirname, join} from "node:path";
import {ExtendedPolygon, type ExtendedTask, ISOXMLManager, type TreatmentZone} from "isoxml";
import {afterAll, beforeAll, describe, expect, test} from "vitest";
import {unzip} from "../../src/formats/zip.ts";
import {multiPolygonToLonLat} from "../../src/geo/frame.ts";
import type {RunResult} from "../../src/pipeline/run.ts";
import {metres} from "../../src/units/quantity.ts";
import {runJobFile} from "../jobs/run-job.ts";
import {gdalVersion, systemPython} from "./gdal.ts";

// Task data of both sample fields in other hands: isoxml 1.11.2 (another open reader of the format), and Python's expat
// with GDAL and GEOS, which know nothing of the format and take polygons, values and cells as they stand in the files.

console.log(gdalVersion());

/** 1 lb/ac in mg/m²: 0.45359237 kg over 4046.8564224 m². */
const MG_PER_M2 = 453592.37 / 4046.8564224;
const STRATEGIES = ["whole-field", "grid", "zone"] as const;

async function runWith(name: string, map: "zones" | "grid 2"): Promise<RunResult> {
  return runJobFile(`sample-data/${name}/job.json`, (job) => ({
    ...job,
    handOver: {
      formats: ["geojson", "iso 11783-10"],
      task: {map, cell: metres(10), units: "us", edition: 4},
      folder: false,
      paper: "letter",
    },
  }));
}

const folders: string[] = [];
afterAll(() => {
  for (const folder of folders) rmSync(folder, {recursive: true, force: true});
});

/** Outputs in a folder, task data unpacked into one per strategy. */
function save(run: RunResult): string {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-task-"));
  folders.push(folder);
  for (const [name, bytes] of run.outputs) {
    const strategy = /^taskdata-(.*)\.zip$/.exec(name)?.[1];
    const files = strategy === undefined ? [[name, bytes] as const] : unzip(bytes, name);
    for (const [member, content] of files) {
      const path = join(folder, strategy ?? "", member);
      mkdirSync(dirname(path), {recursive: true});
      writeFileSync(path, content);
    }
  }
  return folder;
}

const python = <T>(folder: string, script: string): T =>
  JSON.parse(execFileSync(systemPython(), ["-c", script], {cwd: folder, encoding: "utf8", maxBuffer: 2 ** 28})) as T;

/** Nine decimals, as coordinates are written. */
const settled = (ring: readonly (readonly number[])[]): number[][] =>
  ring.map((position) => position.map((degrees) => Number(degrees.toFixed(9))));

describe.each(["millrace", "kiln-forty"])("zones of %s", (name) => {
  let run: RunResult;
  let folder: string;
  beforeAll(async () => {
    run = await runWith(name, "zones");
    folder = save(run);
  });

  const decided = (strategy: (typeof STRATEGIES)[number]) => {
    const prescriptions = run.strategies.find(({plan}) => plan.strategy === strategy)?.prescriptions ?? [];
    return (prescriptions[0]?.polygons ?? []).map(({unit, polygon}, i) => ({
      unit,
      rings: (multiPolygonToLonLat(run.field.frame, [polygon])[0] ?? []).map(settled),
      raw: prescriptions.map(({polygons}) => Math.round((polygons[i]?.rateLbPerAcre ?? Number.NaN) * MG_PER_M2)),
    }));
  };

  test.each(STRATEGIES)("isoxml reads the polygons and rates of %s as decided", async (strategy) => {
    const manager = new ISOXMLManager();
    await manager.parseISOXMLFile(run.outputs.get(`taskdata-${strategy}.zip`) as Uint8Array, "application/zip");
    expect(manager.getWarnings().filter((warning) => !warning.startsWith("Letter case"))).toEqual([]);
    const [task] = manager.rootElement.attributes.Task as [ExtendedTask];
    const zones = (task.attributes.TreatmentZone as TreatmentZone[]).filter(
      ({attributes}) => (attributes.PolygonTreatmentZoneonly?.length ?? 0) > 0,
    );
    const wanted = decided(strategy);
    expect(zones).toHaveLength(wanted.length);
    zones.forEach(({attributes}, i) => {
      const theirs = ExtendedPolygon.toGeoJSON(attributes.PolygonTreatmentZoneonly as ExtendedPolygon[]);
      expect(theirs.coordinates).toEqual([wanted[i]?.rings]);
      expect(attributes.ProcessDataVariable?.map(({attributes: a}) => a.ProcessDataValue)).toEqual(wanted[i]?.raw);
    });
  });

  test.each(STRATEGIES)("expat and GEOS find the same polygons in %s, all valid", (strategy) => {
    const found = python<{name: string; valid: boolean; rings: number[][][]; raw: number[]}[]>(
      folder,
      `
import json, xml.etree.ElementTree as tree
from osgeo import ogr
ogr.UseExceptions()
out = []
for zone in tree.parse("${strategy}/TASKDATA/TASKDATA.XML").getroot().iter("TZN"):
    part = zone.find("PLN")
    if part is None: continue
    rings = [[[float(p.get("D")), float(p.get("C"))] for p in line.findall("PNT")] for line in part.findall("LSG")]
    polygon = ogr.CreateGeometryFromJson(json.dumps({"type": "Polygon", "coordinates": rings}))
    out.append({"name": zone.get("B"), "valid": polygon.IsValid(), "rings": rings, "raw": [int(v.get("B")) for v in zone.findall("PDV")]})
print(json.dumps(out))
`,
    );
    const wanted = decided(strategy);
    expect(found.map(({name: unit, rings, raw}) => ({unit, rings, raw}))).toEqual(wanted);
    expect(found.every(({valid}) => valid)).toBe(true);
  });
});

describe.each(["millrace", "kiln-forty"])("grids of %s", (name) => {
  let folder: string;
  beforeAll(async () => {
    folder = save(await runWith(name, "grid 2"));
  });

  // GDAL reads the raw cells south row first and asks GEOS which polygon of the GeoJSON holds the corners of each.
  test.each(STRATEGIES)("every cell that GEOS finds wholly in one polygon of %s holds its rate", (strategy) => {
    const found = python<{cells: number; wrong: number; outside: number; wrongOutside: number}>(
      folder,
      `
import json, xml.etree.ElementTree as tree
from osgeo import gdal, ogr
gdal.UseExceptions(); ogr.UseExceptions()
grid = next(tree.parse("${strategy}/TASKDATA/TASKDATA.XML").getroot().iter("GRD"))
south, west, high, wide = (float(grid.get(a)) for a in "ABCD")
cols, rows = int(grid.get("E")), int(grid.get("F"))
source = ogr.Open("rates-${strategy}.geojson")
features = list(source.GetLayer(0))
names = [n for n in (features[0].GetFieldDefnRef(i).GetName() for i in range(features[0].GetFieldCount())) if n.endswith("_LBAC")]
step = 4 * len(names)
bands = "".join("""<VRTRasterBand dataType="Int32" band="%d" subClass="VRTRawRasterBand">
<SourceFilename relativetoVRT="1">${strategy}/TASKDATA/GRD00001.BIN</SourceFilename>
<ImageOffset>%d</ImageOffset><PixelOffset>%d</PixelOffset><LineOffset>%d</LineOffset><ByteOrder>LSB</ByteOrder></VRTRasterBand>""" % (
    b + 1, 4 * b + step * cols * (rows - 1), step, -step * cols) for b in range(len(names)))
open("grid.vrt", "w").write('<VRTDataset rasterXSize="%d" rasterYSize="%d">%s</VRTDataset>' % (cols, rows, bands))
cells = gdal.Open("grid.vrt").ReadAsArray()
if cells.ndim == 2: cells = cells[None]
whole = ogr.Geometry(ogr.wkbMultiPolygon)
for f in features: whole.AddGeometry(f.GetGeometryRef())
count = wrong = outside = wrong_outside = 0
for row in range(rows):
    for col in range(cols):
        w, n = west + col * wide, south + (rows - row) * high
        ring = [[w, n - high], [w + wide, n - high], [w + wide, n], [w, n], [w, n - high]]
        cell = ogr.CreateGeometryFromJson(json.dumps({"type": "Polygon", "coordinates": [ring]}))
        if not any(cell.Intersects(f.GetGeometryRef()) for f in features):
            outside += 1
            wrong_outside += any(cells[b][row][col] != 0 for b in range(len(names)))
        for f in features:
            if f.GetGeometryRef().Contains(cell):
                count += 1
                raw = [round(f.GetField(n) * ${MG_PER_M2}) for n in names]
                wrong += any(cells[b][row][col] != raw[b] for b in range(len(names)))
print(json.dumps({"cells": count, "wrong": int(wrong), "outside": outside, "wrongOutside": int(wrong_outside)}))
`,
    );
    expect(found).toMatchObject({wrong: 0, wrongOutside: 0});
    // 38 and 154 acres in cells of 10 m, less those on borders.
    expect(found.cells).toBeGreaterThan(1000);
    expect(found.outside).toBeGreaterThan(0);
  });
});
