import {execFileSync} from "node:child_process";
import {mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {afterAll, beforeAll, describe, expect, test} from "vitest";
import {samplingPapers} from "../../src/pipeline/make-sampling-papers.ts";
import {readJob} from "../../src/pipeline/read-job.ts";
import type {RunResult} from "../../src/pipeline/run.ts";
import {bagsOf} from "../../src/report/sampling-bags.ts";
import {runJobFile} from "../jobs/run-job.ts";
import {gdalFeatures, gdalVersion, systemPython} from "./gdal.ts";

// What GDAL reads from the places a crew carries: GPX, KML and shapefile of every plan of both sample jobs.

console.log(gdalVersion());

/** Nine decimals of a degree. */
const SAME = 1e-9;

/** The layers of a file with what GDAL finds in them. */
function layers(
  path: string,
): Record<string, {name: string; points: [number, number][]; properties: Record<string, unknown>}[]> {
  const script = `
import json, sys
from osgeo import ogr
ogr.UseExceptions()
source = ogr.Open(sys.argv[1])
out = {}
for i in range(source.GetLayerCount()):
    layer = source.GetLayer(i)
    rows = []
    for feature in layer:
        g = feature.GetGeometryRef()
        name = next((feature.GetField(k) for k in ("name", "Name") if feature.GetFieldIndex(k) >= 0), None)
        flat = g
        while flat.GetGeometryCount() > 0:
            flat = flat.GetGeometryRef(0)
        properties = {feature.GetFieldDefnRef(k).GetName(): feature.GetField(k) for k in range(feature.GetFieldCount())}
        rows.append({"name": name, "properties": properties, "points": [flat.GetPoint_2D(k) for k in range(flat.GetPointCount())]})
    out[layer.GetName()] = rows
print(json.dumps(out))
`;
  return JSON.parse(execFileSync(systemPython(), ["-c", script, path], {encoding: "utf8", maxBuffer: 2 ** 28}));
}

describe.each(["millrace", "kiln-forty"])("the crew's files of %s", (name) => {
  const folder = mkdtempSync(join(tmpdir(), "loamwright-crew-"));
  const path = `sample-data/${name}/job.json`;
  let run: RunResult;

  beforeAll(async () => {
    run = await runJobFile(path);
    const job = readJob(readFileSync(path, "utf8"), path);
    for (const {plan} of run.strategies) {
      for (const [file, bytes] of samplingPapers(job, run.field, plan, "letter"))
        writeFileSync(join(folder, file), bytes);
    }
  });
  afterAll(() => rmSync(folder, {recursive: true, force: true}));

  test.each(["whole-field", "grid", "zone"] as const)(
    "%s: every core where it was planned, in each format",
    (strategy) => {
      const plan = run.strategies.find((found) => found.plan.strategy === strategy)?.plan;
      if (!plan) throw new Error(`no ${strategy} plan`);
      const cores = bagsOf(plan).flatMap(({id, cores: own}) => own.map(({number}) => `${id}-${number}`));
      const geoJson = gdalFeatures(join(folder, `plan-${strategy}-cores.geojson`));
      const places = geoJson.map(({geometry}) => geometry.coordinates as [number, number]);
      expect(places).toHaveLength(cores.length);

      const gpx = layers(join(folder, `plan-${strategy}.gpx`));
      expect(gpx.waypoints?.map((point) => point.name)).toEqual(cores);
      expectSame(
        gpx.waypoints?.map(({points}) => points[0] as [number, number]),
        places,
      );
      expectSame(gpx.tracks?.find((track) => track.name === `${strategy} walk`)?.points, places);
      if (plan.units.length > 1) expect(gpx.routes?.[0]?.points).toHaveLength(plan.units.length);
      expect(gpx.tracks?.filter((track) => track.name.startsWith("boundary"))).toHaveLength(
        run.field.boundary.flat().length,
      );

      const kml = layers(join(folder, `plan-${strategy}.kml`));
      expectSame(
        kml.Cores?.map(({points}) => points[0] as [number, number]),
        places,
      );
      expect(kml.Units?.map((unit) => unit.name)).toEqual(plan.units.map(({id}) => id));
      expect(kml.Boundary).toHaveLength(1);

      const [shapefile = []] = Object.values(layers(`/vsizip/${join(folder, `plan-${strategy}-cores.zip`)}`));
      expectSame(
        shapefile.map(({points}) => points[0] as [number, number]),
        places,
      );
      expect(shapefile.map(({properties}) => `${properties.SAMPLE}-${properties.CORE}`)).toEqual(cores);
      const units = gdalFeatures(join(folder, `plan-${strategy}-units.zip`));
      expect(units.every(({valid}) => valid)).toBe(true);
      expect(units).toHaveLength(plan.units.length);
    },
  );

  function expectSame(found: readonly [number, number][] | undefined, places: readonly [number, number][]): void {
    expect(found).toHaveLength(places.length);
    found?.forEach(([lon, lat], i) => {
      expect(Math.abs(lon - (places[i]?.[0] ?? 0))).toBeLessThan(SAME);
      expect(Math.abs(lat - (places[i]?.[1] ?? 0))).toBeLessThan(SAME);
    });
  }
});
