import {execFileSync} from "node:child_process";
import {existsSync, readFileSync} from "node:fs";
import {beforeAll, describe, expect, it} from "vitest";
import {readGeoJson} from "../../src/formats/read-geojson.ts";
import {type Field, makeField} from "../../src/geo/field.ts";
import {multiPolygonToPlane} from "../../src/geo/frame.ts";
import {intersection, loadGeos} from "../../src/geo/geos.ts";
import {areaM2, boxOf} from "../../src/geo/measure.ts";
import type {LonLatMultiPolygon, MultiPolygon, XY} from "../../src/geo/shapes.ts";
import type {AppliedPolygon, RatePlan} from "../../src/prescription/as-applied/applied-log.ts";
import {compareApplied} from "../../src/prescription/as-applied/compare-applied.ts";
import {comparePolygons} from "../../src/prescription/as-applied/compare-polygons.ts";
import {SQUARE_METRES_PER_ACRE} from "../../src/units/factors.ts";
import {squareMetres} from "../../src/units/quantity.ts";
import {oblong, threeZones, WIDTH} from "../prescription/as-applied-logs.ts";
import {ringOf} from "../prescription/fields.ts";
import {systemPython} from "./gdal.ts";

// Amounts, gaps and overlaps as Shapely works them out, in a process of its own: from the corners of a real field's
// as-applied polygons, and from the middle lines of passes grown to the swath.

const FOLDER = new URL("../../../shared/data/montana_wheat/", import.meta.url);

beforeAll(async () => {
  await loadGeos();
  console.log(
    python(
      "import shapely; from shapely import geos; print(json.dumps([shapely.__version__, geos.geos_version]))",
      null,
    ),
  );
});

function python<T>(script: string, input: unknown): T {
  const text = execFileSync(systemPython(), ["-c", `import json, sys\ndata = json.load(sys.stdin)\n${script}`], {
    input: JSON.stringify(input),
    encoding: "utf8",
    maxBuffer: 2 ** 28,
  });
  return JSON.parse(text) as T;
}

const acres = (areaM2: number): number => areaM2 / SQUARE_METRES_PER_ACRE;
const pairs = (shape: MultiPolygon) => shape.map((polygon) => polygon.map((ring) => ring.map(({x, y}) => [x, y])));

interface Told {
  readonly lb: number;
  readonly covered: number;
  readonly gap: number;
  readonly overlap: number;
  readonly off: number;
}

const BY_UNIT = `
from shapely.geometry import shape
from shapely.ops import unary_union
from shapely.strtree import STRtree
def poly(c): return shape({"type": "MultiPolygon", "coordinates": c})
applied = [(poly(p["shape"]), p["rate"]) for p in data["applied"]]
out = []
for unit in data["units"]:
    u = poly(unit["shape"])
    pieces = [(p.intersection(u), r) for p, r in applied if p.intersects(u)]
    pieces = [(p, r) for p, r in pieces if p.area > 0]
    whole = unary_union([p for p, _ in pieces])
    lines = unary_union([u.boundary] + [p.boundary for p, _ in pieces])
    from shapely.ops import polygonize
    tree = STRtree([p for p, _ in pieces])
    twice = off = 0
    at = {id(p): r for p, r in pieces}
    for face in polygonize(lines):
        spot = face.representative_point()
        if not u.contains(spot): continue
        here = [at[id(p)] for p in tree.query(spot) if p.contains(spot)]
        if len(here) > 1: twice += face.area
        if abs(sum(here) - unit["rate"]) > 0.1 * unit["rate"]: off += face.area
    out.append({"lb": sum(p.area * r for p, r in pieces), "covered": whole.area, "gap": u.area - whole.area, "overlap": twice, "off": off})
print(json.dumps(out))
`;

describe("as-applied polygons of a real field", () => {
  it.skipIf(!existsSync(FOLDER))(
    "give Shapely's pounds, gaps, overlaps and acres off in three strips (skipped: no shared data)",
    async () => {
      const field = await fieldOf("boundary.geojson");
      const applied = await polygonsOf(field);
      const plan = strips(field, [200, 150, 100]);
      const {comparison} = comparePolygons(field, plan, applied, {id: "2016"});
      const told = python<Told[]>(BY_UNIT, {
        applied: applied
          .filter(({rateLbPerAcre}) => rateLbPerAcre > 0)
          .map(({shape, rateLbPerAcre}) => ({shape: pairs(shape), rate: rateLbPerAcre})),
        units: plan.units.map(({shape, rateLbPerAcre}) => ({shape: pairs(shape), rate: rateLbPerAcre})),
      });
      comparison.units.forEach((unit, i) => {
        const {lb, covered, gap, overlap, off} = told[i] as Told;
        expect(unit.appliedLb).toBeCloseTo(acres(lb), 4);
        expect(unit.coveredAcres).toBeCloseTo(acres(covered), 6);
        expect(unit.gapAcres).toBeCloseTo(acres(gap), 6);
        expect(Math.abs(unit.overlapAcres - acres(overlap))).toBeLessThan(1e-6);
        expect(Math.abs(unit.offAcres - acres(off))).toBeLessThan(1e-6);
      });
    },
  );
});

const GROWN = `
from shapely.geometry import LineString, box
from shapely.ops import unary_union
strips = [LineString(l).buffer(data["half"], cap_style=2, join_style=1) for l in data["lines"]]
field = box(*data["box"])
whole = unary_union(strips).intersection(field)
print(json.dumps([whole.area, sum(s.intersection(field).area for s in strips) - whole.area, sum(s.difference(field).area for s in strips)]))
`;

describe("passes on curved lines", () => {
  it.each([
    [20, 0],
    [22, 8],
    [18.5, 15],
  ])("swath %s m, bends of %s m: covered, doubled and outside ground as Shapely grows the lines", (swath, bend) => {
    const lines: XY[][] = Array.from({length: 12}, (_, pass) => {
      const line = Array.from({length: 201}, (_, i) => ({
        x: (WIDTH * i) / 200,
        y: 20 * (pass + 0.5) + bend * Math.sin(i / 18 + pass / 9),
      }));
      return pass % 2 === 0 ? line : line.reverse();
    });
    const points = lines.flatMap((line, pass) => line.map((p, i) => ({...p, t: pass * 1000 + i})));
    const {comparison} = compareApplied(oblong, threeZones(), {
      id: "curves",
      x: Float64Array.from(points, ({x}) => x),
      y: Float64Array.from(points, ({y}) => y),
      timeS: Float64Array.from(points, ({t}) => t),
      swathM: new Float64Array(points.length).fill(swath),
      // The first record of a pass would stand for ground before it.
      rateLbPerAcre: Float64Array.from(points, ({t}) => (t % 1000 === 0 ? 0 : 200)),
    });
    const {west, south, east, north} = boxOf(oblong.outline);
    const [covered, doubled, outside] = python<[number, number, number]>(GROWN, {
      lines: lines.map((line) => line.map(({x, y}) => [x, y])),
      half: swath / 2,
      box: [west, south, east, north],
    });
    const {field} = comparison;
    // Cells of half a metre: what their edges do averages out over kilometres of border.
    expect(Math.abs(field.coveredAcres - acres(covered))).toBeLessThan(0.02);
    expect(Math.abs(field.overlapAcres - acres(doubled))).toBeLessThan(0.03);
    expect(Math.abs(comparison.outside.acres - acres(outside))).toBeLessThan(0.02);
  });
});

async function fieldOf(name: string): Promise<Field> {
  const {features} = (await readGeoJson(readFileSync(new URL(name, FOLDER)), name)).value;
  return makeField(
    "w",
    "Wheat",
    features.flatMap(({geometry}) => (geometry.type === "Polygon" ? [geometry.coordinates] : [])),
  ).field;
}

async function polygonsOf(field: Field): Promise<AppliedPolygon[]> {
  const name = "n_asapplied_2016.geojson";
  const {features} = (await readGeoJson(readFileSync(new URL(name, FOLDER)), name)).value;
  return features.map(({geometry, properties}) => ({
    shape: multiPolygonToPlane(field.frame, [geometry.coordinates] as LonLatMultiPolygon),
    rateLbPerAcre: properties.applied_lb_ac as number,
  }));
}

function strips(field: Field, rates: readonly number[]): RatePlan {
  const {west, east, south, north} = boxOf(field.outline);
  const size = (north - south) / rates.length;
  const units = rates.map((rateLbPerAcre, i) => {
    const shape = intersection(field.outline, [[ringOf(west, south + i * size, east, south + (i + 1) * size)]]);
    return {id: `strip ${i + 1}`, shape, area: squareMetres(areaM2(shape)), rateLbPerAcre};
  });
  return {units, elsewhereLbPerAcre: 0};
}
