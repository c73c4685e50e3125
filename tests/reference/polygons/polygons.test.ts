import {execFileSync} from "node:child_process";
import {mkdtempSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import initGeos from "geos-wasm";
import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, loadGeos} from "../../../src/geo/geos.ts";
import {areaM2} from "../../../src/geo/measure.ts";
import type {MultiPolygon} from "../../../src/geo/shapes.ts";
import {SQUARE_METRES_PER_ACRE} from "../../../src/units/factors.ts";
import {metres} from "../../../src/units/quantity.ts";
import {hasSharedData, runJobFile} from "../../jobs/run-job.ts";
import {edgeFaults} from "../../properties/edge-use.ts";
import {systemPython} from "../gdal.ts";

// The zone maps of whole runs, judged by GEOS: once the newer one, which knows coverages, once Debian's through
// Shapely, in a process of its own.

const MAPS = [
  {path: "sample-data/millrace/job.json", here: true},
  {path: "sample-data/kiln-forty/job.json", here: true},
  {path: "tests/jobs/cook-farm/job.json", here: hasSharedData},
];

beforeAll(async () => {
  await loadGeos();
  const geos = (await initGeos()) as unknown as {GEOSversion(): string};
  console.log(`GEOS ${geos.GEOSversion()} for coverages`);
});

describe.each(MAPS)("the zones of $path", ({path, here}) => {
  it.skipIf(!here).each([
    ["as by default", 0],
    ["at least 66 ft wide", 20],
    ["at least 100 ft wide", 30.48],
  ])("%s, are a valid coverage of the field", async (_, minWidth) => {
    const {field, zoneMap} = await runJobFile(path, (job) => ({
      ...job,
      zones: {...job.zones, ...(minWidth > 0 && {minWidth: metres(minWidth)})},
    }));
    const shapes = zoneMap?.zones.map(({shape}) => shape) ?? [];
    const faces = shapes.flat();
    expect(faces.length).toBeGreaterThan(1);
    expect(coverageIsValid(faces, 0.1)).toBe(true);
    expect(edgeFaults(faces, field.outline)).toEqual([]);

    const {version, valid, union, overlap, outside} = judge(shapes, field.outline);
    console.log(`Shapely ${version}: ${path}, width ${minWidth} m, ${(union / SQUARE_METRES_PER_ACRE).toFixed(2)} ac`);
    expect(valid).toBe(true);
    expect(Math.abs(union / areaM2(field.outline) - 1)).toBeLessThan(1e-9);
    // Corners lie on a grid of 60 nm: along a few kilometres of border that is well under a square centimetre each.
    expect(overlap).toBeLessThan(1e-3);
    expect(outside).toBeLessThan(1e-3);
  });
});

interface Verdict {
  readonly version: string;
  readonly valid: boolean;
  readonly union: number;
  readonly overlap: number;
  readonly outside: number;
}

/** Validity, area of the union, area counted twice, and what the union and the outline do not share, in metres. */
function judge(shapes: readonly MultiPolygon[], outline: MultiPolygon): Verdict {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-polygons-"));
  const json = (shape: MultiPolygon) => ({
    type: "MultiPolygon",
    coordinates: shape.map((polygon) => polygon.map((ring) => ring.map(({x, y}) => [x, y]))),
  });
  try {
    const file = join(folder, "zones.json");
    writeFileSync(file, JSON.stringify({zones: shapes.map(json), outline: json(outline)}));
    const script = `
import json, sys
import shapely
from shapely.geometry import shape
from shapely.ops import unary_union
given = json.load(open(sys.argv[1]))
zones = [shape(z) for z in given["zones"]]
outline = shape(given["outline"])
whole = unary_union(zones)
print(json.dumps({
    "version": shapely.__version__,
    "valid": all(z.is_valid for z in zones),
    "union": whole.area,
    "overlap": sum(z.area for z in zones) - whole.area,
    "outside": whole.symmetric_difference(outline).area,
}))
`;
    return JSON.parse(execFileSync(systemPython(), ["-c", script, file], {encoding: "utf8"})) as Verdict;
  } finally {
    rmSync(folder, {recursive: true, force: true});
  }
}
