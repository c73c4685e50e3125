import {execFileSync} from "node:child_process";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {basename, join} from "node:path";
import {afterAll, beforeAll, describe, expect, it} from "vitest";
import {readTaskData} from "../../src/formats/iso11783/read-task-data.ts";
import type {TaskPlan} from "../../src/formats/iso11783/task-data.ts";
import {writeTaskData} from "../../src/formats/iso11783/write-task-data.ts";
import type {LonLatPolygon} from "../../src/geo/shapes.ts";
import {box, field, grid, lb, map, options, planOf, water, zone} from "../formats/iso11783/plans.ts";
import {gdalVersion, systemPython} from "./gdal.ts";

// There is no reader of task data among Debian's packages. What can be checked apart from us is: that another XML
// parser (expat, through Python) finds the same names, numbers and polygons, that GEOS calls the polygons valid, and that
// GDAL, told the layout of a grid file in its own terms, finds the same picture the same way up.

const folder = mkdtempSync(join(tmpdir(), "loamwright-iso-"));
afterAll(() => rmSync(folder, {recursive: true, force: true}));
beforeAll(() => console.log(`compared with ${gdalVersion()}`));

const hole = box(-92.997, 42.003, -92.993, 42.007)[0]?.toReversed() ?? [];
const names = ["Knoll", 'Low & "wet" <west>', "Tälchen\u00a0\u{1f33d}"];
const zones: TaskPlan = planOf([map, water], {
  zones: [
    zone(names[0] as string, [lb(200), 93.54], [...box(-93, 42, -92.99, 42.01), hole]),
    zone(names[1] as string, [lb(150), 140.31], box(-92.98, 42, -92.97, 42.01)),
    zone(names[2] as string, [0, 0], box(-92.97, 42, -92.96, 42.01)),
  ],
});

function save(plan: TaskPlan): string {
  const files = writeTaskData(field, [plan], options).value;
  for (const [name, bytes] of files) writeFileSync(join(folder, basename(name)), bytes);
  return JSON.stringify(readTaskData(files).value.tasks[0]);
}

function python<T>(script: string): T {
  const path = join(folder, "script.py");
  writeFileSync(path, script);
  return JSON.parse(execFileSync(systemPython(), [path], {encoding: "utf8", cwd: folder})) as T;
}

describe("task data in the hands of expat and GEOS", () => {
  it("hold the names, raw rates and polygons we read back ourselves", () => {
    save(zones);
    const theirs = python<
      {name: string; code: number; raw: [string, number][]; rings: LonLatPolygon; valid: boolean}[]
    >(`
import json, xml.etree.ElementTree as tree
from osgeo import ogr
root = tree.parse("TASKDATA.XML").getroot()
out = []
for zone in root.find("TSK").findall("TZN"):
    shape = zone.find("PLN")
    polygon = ogr.Geometry(ogr.wkbPolygon)
    for line in sorted(shape.findall("LSG") if shape is not None else [], key=lambda l: l.get("A")):
        ring = ogr.Geometry(ogr.wkbLinearRing)
        for point in line.findall("PNT"):
            ring.AddPoint_2D(float(point.get("D")), float(point.get("C")))
        polygon.AddGeometry(ring)
    out.append({"name": zone.get("B"), "code": int(zone.get("A")), "valid": polygon.IsValid(), "rings": json.loads(polygon.ExportToJson()).get("coordinates"),
                "raw": [[v.get("A"), int(v.get("B"))] for v in zone.findall("PDV")]})
print(json.dumps(out))
`);
    expect(theirs.map(({name}) => name)).toEqual([
      "Default",
      "Out of field",
      "Position lost",
      names[0],
      names[1],
      "Tälchen \u{1f33d}",
    ]);
    expect(theirs.map(({code}) => code)).toEqual([0, 253, 254, 1, 2, 3]);
    expect(theirs.slice(3).map(({raw}) => raw)).toEqual([
      [
        ["0006", 22417],
        ["0001", 935400],
      ],
      [
        ["0006", 16813],
        ["0001", 1403100],
      ],
      [
        ["0006", 0],
        ["0001", 0],
      ],
    ]);
    expect(theirs.every(({valid}) => valid)).toBe(true);
    const shapes = "zones" in zones.map ? zones.map.zones.map(({shape}) => shape[0]) : [];
    expect(theirs.slice(3).map(({rings}) => rings)).toEqual(shapes);
  });
});

describe("grid files in GDAL's hands", () => {
  // 7 columns, 5 rows, every cell different, so that no turn or flip goes unnoticed.
  const rates = Array.from({length: 5}, (_, row) => Array.from({length: 7}, (_, col) => 100 + row * 10 + col));

  /** A raw raster read with the row step turned round: the file's first row is the southern one. */
  const vrt = (type: string, size: number): string => `
import json
from osgeo import gdal
open("grid.vrt", "w").write("""<VRTDataset rasterXSize="7" rasterYSize="5">
<VRTRasterBand dataType="${type}" band="1" subClass="VRTRawRasterBand">
<SourceFilename relativetoVRT="1">GRD00001.BIN</SourceFilename>
<ImageOffset>${4 * 7 * size}</ImageOffset><PixelOffset>${size}</PixelOffset><LineOffset>${-7 * size}</LineOffset>
<ByteOrder>LSB</ByteOrder></VRTRasterBand></VRTDataset>""")
print(json.dumps(gdal.Open("grid.vrt").ReadAsArray().tolist()))
`;

  it("of type 2 show the rates in mg/m2, north up", () => {
    save(planOf([map], {grid: grid(2, ...rates)}));
    expect(python<number[][]>(vrt("Int32", 4))).toEqual(
      rates.map((row) => row.map((rate) => Math.round(lb(rate) * 100))),
    );
  });

  it("of type 1 show zone codes whose zones hold the rates", () => {
    const task = JSON.parse(save(planOf([map], {grid: grid(1, ...rates)}))) as {
      zones: {code: number; values: {raw: number}[]}[];
    };
    const raw = new Map(task.zones.map(({code, values}) => [code, values[0]?.raw]));
    const codes = python<number[][]>(vrt("Byte", 1));
    expect(codes.map((row) => row.map((code) => raw.get(code)))).toEqual(
      rates.map((row) => row.map((rate) => Math.round(lb(rate) * 100))),
    );
  });
});
