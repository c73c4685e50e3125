import {beforeAll, describe, expect, it} from "vitest";
import {coverageIsValid, invalidReason, loadGeos} from "../../src/geo/geos.ts";
import {areaM2} from "../../src/geo/measure.ts";
import type {MultiPolygon, XY} from "../../src/geo/shapes.ts";
import {seededRandom} from "../../src/stats/random.ts";
import type {Feature} from "../../src/zones/feature-matrix.ts";
import {type ForeignZone, importZones} from "../../src/zones/import-zones.ts";
import type {ZoneMap} from "../../src/zones/zone-map.ts";
import {box, fieldFrom, layerFrom} from "./fields.ts";

beforeAll(loadGeos);

const {field, grid} = fieldFrom(box(0, 0, 400, 300));
const features: Feature[] = [{layer: layerFrom(grid, "yield", (x) => (x < 200 ? 3 : 9)), theme: "yield"}];
const load = (...drawn: [name: string, shape: MultiPolygon][]): ZoneMap =>
  importZones(
    {field, grid, features},
    drawn.map(([name, shape]): ForeignZone => ({name, shape})),
  );
const areas = ({zones}: ZoneMap): [string, number][] => zones.map(({label, area}) => [label, Math.round(area)]);
const told = ({issues}: ZoneMap) => issues.map(({code, message}) => `${code}: ${message}`);

function expectCoverage({zones, cells}: ZoneMap, outline: MultiPolygon): void {
  for (const {shape} of zones) expect(invalidReason(shape)).toBeUndefined();
  expect(
    coverageIsValid(
      zones.flatMap(({shape}) => shape),
      // Corners on the outline can be 60 nm apart, which a wider test takes for the end of a gap; areas add up below.
      0.01,
    ),
  ).toBe(true);
  expect(Math.abs(zones.reduce((sum, {area}) => sum + area, 0) / areaM2(outline) - 1)).toBeLessThan(1e-9);
  expect(Math.max(...cells)).toBe(zones.length);
}

describe("a zone map drawn elsewhere", () => {
  it("that fits is taken as it is", () => {
    const map = load(["2", box(200, 0, 400, 300)], ["1", box(0, 0, 200, 300)]);
    expect(areas(map)).toEqual([
      ["Zone 1", 60_000],
      ["Zone 2", 60_000],
    ]);
    expect(map.zones.map(({means}) => means.yield)).toEqual([3, 9]);
    expect(map.varianceExplained.tidied).toBeCloseTo(1, 12);
    expect(told(map)).toEqual([]);
    expectCoverage(map, field.outline);
  });

  it("keeps its names, polygons of one name being one zone", () => {
    const map = load(["Hill", box(0, 0, 100, 300)], ["Bottom", box(100, 0, 300, 300)], ["Hill", box(300, 0, 400, 300)]);
    expect(areas(map)).toEqual([
      ["Hill", 60_000],
      ["Bottom", 60_000],
    ]);
    expect(map.zones[0]?.shape).toHaveLength(2);
  });

  it("that stops short of the boundary or runs over it ends on it", () => {
    const map = load(["1", box(2, -2, 200, 298)], ["2", box(200, 1, 440, 310)]);
    expect(areas(map)).toEqual([
      ["Zone 1", 60_000],
      ["Zone 2", 60_000],
    ]);
    expect(told(map)).toEqual(['zones/import-outside: 3.55 ac of zone "2" lie outside the field and were cut off.']);
    expectCoverage(map, field.outline);
  });

  it("has its overlaps given to the zone drawn later, and says so with the place", () => {
    const map = load(["1", box(0, 0, 220, 300)], ["2", box(200, 0, 400, 300)]);
    expect(areas(map)).toEqual([
      ["Zone 1", 60_000],
      ["Zone 2", 60_000],
    ]);
    expect(told(map)).toEqual([
      'zones/import-overlap: Zones "1" and "2" overlap on 1.48 ac; it went to "2", which is drawn over the other.',
    ]);
    expect(map.issues[0]?.place?.lon).toBeCloseTo(-86.4 + 210 / 84_700, 4);
  });

  it("has strips without a zone divided between the zones beside them", () => {
    const map = load(["1", box(0, 0, 190, 300)], ["2", box(210, 0, 400, 300)]);
    // Half-way between cells, so to within half a cell of 5 m along 300 m.
    expect(map.zones.map(({area}) => Math.abs(area - 60_000) <= 750)).toEqual([true, true]);
    expect(told(map)).toEqual([
      "zones/import-gap: 1.48 ac of the field lie in no zone, in strips under 30 m; they went to the nearest zones.",
    ]);
    expectCoverage(map, field.outline);
  });

  it("has wide ground without a zone as a zone of its own", () => {
    const map = load(["1", box(0, 0, 150, 300)], ["2", box(250, 0, 400, 300)]);
    expect(areas(map)).toEqual([
      ["Zone 1", 45_000],
      ["Zone 2", 45_000],
      ["Not drawn", 30_000],
    ]);
    expect(told(map)).toEqual([
      'zones/import-not-drawn: 7.4 ac of the field lie in no zone and became a zone of their own, "Not drawn".',
    ]);
    expectCoverage(map, field.outline);
  });

  it("is put right where a polygon crosses itself", () => {
    const bow: MultiPolygon = [
      [
        [
          {x: 0, y: 0},
          {x: 200, y: 300},
          {x: 200, y: 0},
          {x: 0, y: 300},
          {x: 0, y: 0},
        ],
      ],
    ];
    const map = load(["all", box(0, 0, 400, 300)], ["bow", bow]);
    expect(areas(map)).toEqual([
      ["all", 90_000],
      ["bow", 30_000],
    ]);
    expect(map.issues.map(({code}) => code)).toEqual(["zones/import-repaired", "zones/import-overlap"]);
  });

  it("of another field is refused", () => {
    expect(() => load(["1", box(1000, 0, 1100, 100)])).toThrow(
      "The zone map has no polygon in Test field: all 1 lie elsewhere.",
    );
    expect(() =>
      load(...Array.from({length: 61}, (_, i): [string, MultiPolygon] => [String(i), box(i, 0, i + 1, 9)])),
    ).toThrow("The map has 61 zones.");
  });
});

describe("forty random zone maps over rough fields", () => {
  it.each(Array.from({length: 40}, (_, i) => i))("become valid coverages (map %i)", (seed) => {
    const random = seededRandom(seed, "foreign map");
    const star = (x: number, y: number, radius: number, corners: number): MultiPolygon => {
      const points = Array.from({length: corners}, (_, i): XY => {
        const angle = (2 * Math.PI * (i + 0.6 * random.next())) / corners;
        const reach = radius * (0.35 + 0.65 * random.next());
        return {x: x + reach * Math.cos(angle), y: y + reach * Math.sin(angle)};
      });
      return [[[...points, points[0] as XY]]];
    };
    const outline = star(0, 0, 250, 5 + random.integer(9));
    const made = fieldFrom(outline, 6);
    const drawn = Array.from({length: 1 + random.integer(9)}, (_, i): ForeignZone => {
      const [x, y] = [300 * random.next() - 150, 300 * random.next() - 150];
      return {name: `part ${i % 5}`, shape: star(x, y, 30 + 150 * random.next(), 3 + random.integer(9))};
    });
    const all = [{name: "ground", shape: star(0, 0, 200, 9)}, ...drawn];
    const build = (): ZoneMap => importZones({...made, features: []}, all);
    const map = build();
    expectCoverage(map, outline);
    expect(build()).toEqual(map);
  });
});
